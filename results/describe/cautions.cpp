#include "results/describe/cautions.h"

#include <algorithm>
#include <cmath>

#include "objectives/limits/plate.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/sizing.h"

namespace antiphase {
namespace {

/// Whether the stage's plates are held to what they bear cold: not where the supply waits for the heaters.
/// What the limit turns away it says itself.
bool stands_cold_within_limits(const Record& r) {
  return std::any_of(r.limits.begin(), r.limits.end(),
                     [](const LimitResult& l) { return l.name == kColdPlateVoltage.name && l.kept; });
}

/// Where followers hold the grids of the output valves at another voltage than their bias.
std::string followers_off_bias(const Record& r) {
  constexpr double kShare =
      0.02;  // common practice, no published source: a builder sets a bias closer than that
  const Design& d = r.design;
  const OperatingPoint& o = r.evaluation.operating_point;
  if (d.driver.form != DriverForm::cathode_followers || !d.output_valve || o.solved != Solved::yes) return "";
  const double held_v = 0.5 * (o.driver[0].cathode_v + o.driver[1].cathode_v);
  if (std::abs(held_v - d.output_valve_bias_v) <= kShare * std::abs(d.output_valve_bias_v)) return "";
  Design set = d;
  set_driver_bias(set);
  return "The followers hold the output valve's grid at " + engineering_text(held_v, "V") +
         ", and its bias is " + engineering_text(d.output_valve_bias_v, "V") + ": take " +
         engineering_text(set.driver.bias_v, "V") + " for the bias of the driver's grids, not " +
         engineering_text(d.driver.bias_v, "V") + ".";
}

}  // namespace

std::vector<std::string> cautions(const Record& r) {
  std::vector<std::string> sentences;
  const Design& d = r.design;
  const int count = sections(d.circuit);
  const double foot_v = has_role(d, Role::rail) ? d.bias.rail_v : 0;
  const double cold_v = cold_supply_v(d) - foot_v;
  for (int i = 0; i < count && stands_cold_within_limits(r); ++i) {
    if (i == 1 && d.tube[1] == d.tube[0]) continue;
    const TubeRatings& ratings = d.tube[i]->ratings;
    if (!ratings.plate_cold_v_max && ratings.plate_v_max && cold_v > ratings.plate_v_max->value)
      sentences.push_back("Until the cathodes are warm the plates stand at " + engineering_text(cold_v, "V") +
                          "; for the " + d.tube[i]->name +
                          " no limit for that is published, and its working rating is " +
                          engineering_text(ratings.plate_v_max->value, "V") +
                          ". A supply that comes up with or after the heaters avoids it.");
  }
  if (const std::string off = followers_off_bias(r); !off.empty()) sentences.push_back(off);
  if (r.evaluation.at_target.solved != Solved::yes) return sentences;
  const SteadyState& at = r.evaluation.at_target;
  bool conducts = false, cut_off = false;
  for (int i = 0; i < count; ++i) {
    conducts = conducts || (at.grid_to_cathode_peak_v[i] > d.tube[i]->grid_conduction_v.value &&
                            !d.section(static_cast<int>(i)).has_grid_current());
    cut_off =
        cut_off || at.plate_current_low_a[i] < kCutOffShare * r.evaluation.operating_point.plate_current_a[i];
  }
  for (int section = kSplitterSections; section < Circuit::kMostSections; ++section) {
    if (!has_section(d, section)) continue;
    const SectionState& state = own_state(at, section);
    conducts =
        conducts || (state.grid_to_cathode_peak_v > tube_numbered(d, section)->grid_conduction_v.value &&
                     !section_numbered(d, section).has_grid_current());
    cut_off = cut_off || state.plate_current_low_a <
                             kCutOffShare * own_rest(r.evaluation.operating_point, section).plate_current_a;
  }
  if (conducts)
    sentences.push_back(
        "At the target a grid goes above the voltage from which it draws current, which the law of this tube "
        "leaves out: real distortion is higher than shown.");
  if (cut_off)
    sentences.push_back(
        "At the target a section is cut off for a part of the cycle; single harmonics are good to some "
        "tenths of "
        "a per cent only.");
  return sentences;
}

}  // namespace antiphase
