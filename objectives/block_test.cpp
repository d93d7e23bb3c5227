#include "objectives/block_test.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>

#include "objectives/figures/sections.h"
#include "objectives/limits/cathode.h"
#include "objectives/limits/grid.h"
#include "objectives/limits/parts.h"
#include "objectives/limits/plate.h"
#include "objectives/limits/result.h"
#include "objectives/rest_ways.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase {
namespace {

constexpr double kGuard =
    1e-6;  // share by which a bound has to be past a limit: rest points are solved to less

struct Interval {
  double low, high;
};

/// Whether no number of the interval meets the demand.
bool all_miss(const FigureLimit& limit, Interval v) {
  if (limit.figure->direction == Direction::nearer_zero) {
    const bool straddles = v.low <= 0 && v.high >= 0;
    v = {straddles ? 0 : std::fmin(std::fabs(v.low), std::fabs(v.high)),
         std::fmax(std::fabs(v.low), std::fabs(v.high))};
  }
  const auto above = [](double a, double b) { return a > b + kGuard * std::fabs(b); };
  const auto below = [](double a, double b) { return a < b - kGuard * std::fabs(b); };
  if (limit.at_most && above(v.low, *limit.at_most)) return true;
  if (limit.at_least && below(v.high, *limit.at_least)) return true;
  return !limit.one_of.empty() && std::none_of(limit.one_of.begin(), limit.one_of.end(), [&](double wanted) {
    const double room = limit.near_share * std::fabs(wanted);
    return !above(v.low, wanted + room) && !below(v.high, wanted - room);
  });
}

bool solve_corner(const Design& d, Evaluation& scratch) {
  evaluate(d, Depth::rest, scratch);
  return scratch.operating_point.solved == Solved::yes;
}

/// A block whose rest points hang on its own parts alone: all of a circuit of one stage, or one of the stages
/// of a larger one (stagemodels/README.md, "Bounds over a block of parts").
struct Block {
  Design low, high;
  bool shared_supply = false;  ///< others draw through the same dropping resistor, so the supply is lower
  double taken_a = 0;  ///< what grids that hang on the plate draw at most, in designs that keep their limits

  const StageWays& ways() const { return stage_ways(low); }
};

/// The design of the block where the quantity is largest (`way` +1) or smallest (-1). Empty if that is not
/// proved of any, or if a lower supply than its own would break the bound.
std::optional<Design> corner(const Block& b, const QuantityWays& ways, int way) {
  if (b.shared_supply && ways.with_supply != Way::stays && way != static_cast<int>(ways.with_supply))
    return std::nullopt;
  Design d = b.low;
  for (const MemberWay& m : ways) {
    if (m.member->value(b.low) == m.member->value(b.high)) continue;
    if (m.way == Way::unknown) return std::nullopt;
    if ((m.way == Way::rises) == (way > 0)) m.member->at(d) = m.member->value(b.high);
  }
  return d;
}

/// Bounds of a quantity; infinite where it has no corner or no rest point there.
template <class Value>
Interval bounds(const QuantityWays& ways, const Block& b, Evaluation& scratch, Value&& value) {
  Interval v{-INFINITY, INFINITY};
  const auto at_end = [&](int way, double& end) {
    const std::optional<Design> d = corner(b, ways, way);
    if (d && solve_corner(*d, scratch)) end = value(scratch.operating_point);
  };
  at_end(-1, v.low);
  at_end(+1, v.high);
  return v;
}

/// Of all plates. `grids_a`: what the block's own grids draw at most.
Interval plates_bounds(const Block& b, double grids_a, Evaluation& scratch) {
  Interval a = bounds(b.ways().stage_a, b, scratch, [](const OperatingPoint& o) { return o.tail_current_a; });
  a.low -= grids_a + b.taken_a;  // the cathodes' current is bounded, the plates' is less by the grids'
  return a;
}

/// Of a stage of one section.
Interval plate_bounds(const Block& b, Evaluation& scratch) {
  Interval v = bounds(b.ways().plate_v, b, scratch, [](const OperatingPoint& o) { return o.plate_v[0]; });
  v.low -= b.taken_a > 0 ? b.taken_a * plate_load_ohm(b.high) : 0;
  return v;
}

Interval tail_bounds(const Block& b, Evaluation& scratch) {
  return bounds(b.ways().tail_v, b, scratch, [](const OperatingPoint& o) { return o.tail_v; });
}

Interval cathode_bounds(const Block& b, Evaluation& scratch) {
  const StageWays& w = b.ways();
  if (corner(b, w.cathode_v, +1) || corner(b, w.cathode_v, -1)) {
    Interval v = bounds(w.cathode_v, b, scratch, [](const OperatingPoint& o) { return o.cathode_v; });
    v.low -= b.taken_a > 0 ? b.taken_a * cathode_ohm(b.high) : 0;
    return v;
  }
  if (!w.leaks_inside || b.taken_a > 0) return {-INFINITY, INFINITY};
  // The cathode may go either way with the resistor between it and the leak node; both its parts do not.
  const Interval node =
      bounds(w.leak_node_v, b, scratch, [](const OperatingPoint& o) { return o.leak_node_v; });
  const Interval bias = bounds(w.leak_node_to_cathode_v, b, scratch,
                               [](const OperatingPoint& o) { return o.leak_node_v - o.cathode_v; });
  return {node.low - bias.high, node.high - bias.low};
}

/// What the grid of a section that keeps its limits draws at most.
double most_grid_a(const TriodeSection& section) {
  return std::fmax(0.0, section.tube->grid_diode.current_a(section.tube->grid_conduction_v.value));
}

/// Of the output stage, all sections together.
double most_grids_a(const Design& d) {
  double all = 0;
  for (int s = 0; s < kSplitterSections && has_section(d, s); ++s) all += most_grid_a(d.section(s));
  return all;
}

/// The negative supply that a cathode's current of the output stage ends at, or null.
const Element* rail_of(const Design& d) {
  return places_of(d).section[0].foot;
}

bool broken_beyond_doubt(const Limit& limit, const Design& d, const Evaluation& e, const DesignFactors& f) {
  if (outside_as_given(limit, f)) return false;
  for (int s = 0; s < Circuit::kMostSections; ++s) {
    if (limit.per_section ? !has_section(d, s) : s > 0) continue;
    if (const auto r = limit.check(d, e, f, s); r && !r->kept && excess(*r) > kGuard) return true;
  }
  return false;
}

/// Whether a demand on the figure is missed all over the interval.
bool missed(const Demands& demands, std::string_view figure, Interval v) {
  return std::any_of(demands.limits.begin(), demands.limits.end(),
                     [&](const FigureLimit& l) { return l.figure->name == figure && all_miss(l, v); });
}

/// Whether what a stage is allowed at rest is broken all over its block.
bool stage_breaks(const Demands& demands, const Block& b, Evaluation& scratch) {
  const auto broken = [&](const Limit& limit, const Design& d) {
    return broken_beyond_doubt(limit, d, scratch, demands.factors);
  };
  const std::optional<Design> most_bias = corner(b, b.ways().grid_to_cathode_v, -1);
  if (most_bias && solve_corner(*most_bias, scratch) && broken(kGridAtRest, *most_bias)) return true;

  const bool one_section = !has_section(b.low, 1);
  const Interval cathode_v = cathode_bounds(b, scratch);
  Interval plate_v{-INFINITY, INFINITY}, plate_a{-INFINITY, INFINITY};
  if (one_section) {
    plate_v = plate_bounds(b, scratch);
    plate_a = plates_bounds(b, most_grid_a(b.low.section(0)), scratch);
  }
  OperatingPoint& at = scratch.operating_point;  // what the limits below read; they need no more
  at = OperatingPoint{};
  scratch.at_target.solved = Solved::not_run;
  at.solved = Solved::yes;
  if (std::isfinite(cathode_v.low)) {
    at.cathode_v = cathode_v.low;
    if (broken(kHeaterToCathodePositive, b.low) || broken(kHeaterToCathodePositiveDc, b.low)) return true;
  }
  if (std::isfinite(cathode_v.high)) {
    at.cathode_v = cathode_v.high;
    if (broken(kHeaterToCathodeNegative, b.low)) return true;
  }
  const double across_v = plate_v.low - cathode_v.high;  // not one way with every part, but both ends are
  if (one_section && std::isfinite(across_v) && across_v > 0) {
    at.plate_to_cathode_v[0] = across_v;
    at.plate_current_a[0] = std::isfinite(plate_a.low) ? std::fmax(0.0, plate_a.low) : 0.0;
    at.plate_dissipation_w[0] = across_v * at.plate_current_a[0];
    if (broken(kPlateVoltage, b.low) || broken(kPlateDissipation, b.low)) return true;
  }
  if (one_section && std::isfinite(plate_a.low)) {
    at.plate_current_a[0] = std::fmax(0.0, plate_a.low);
    if (broken(kCathodeCurrent, b.low)) return true;
  }
  if (!places_of(b.low).sink) return false;
  const std::optional<Design> most_tail = corner(b, b.ways().tail_v, +1);
  return most_tail && solve_corner(*most_tail, scratch) && broken(kTailCompliance, *most_tail);
}

}  // namespace

bool BlockTest::none_feasible(const Design& low, const Design& high, Corners corners,
                              Evaluation& scratch) const {
  if (leaves_something_out(demands_) || has_driver(low) || low.first_stage.form != GainForm::triode)
    return false;  // nothing is proved of what stands behind a splitter, or of other stages than triodes
  return parts_alone(low, high, scratch) || (corners == Corners::solved && at_rest(low, high, scratch));
}

bool BlockTest::parts_alone(const Design& low, const Design& high, const Evaluation& scratch) const {
  const bool two_sections = has_section(low, 1);
  for (const FigureLimit& limit : demands_.limits) {
    const std::string_view name = limit.figure->name;
    if (name == "plate_ohm_ratio" && two_sections &&
        all_miss(limit, {low.plate_ohm[1] / high.plate_ohm[0], high.plate_ohm[1] / low.plate_ohm[0]}))
      return true;
    if (name == kSections.name || name == kTubes.name) {  // nothing but the family decides them
      const double count = *limit.figure->measure(low, scratch);
      if (all_miss(limit, {count, count})) return true;
    }
    if (name == "supply_v" && low.main_supply_v <= 0 && all_miss(limit, {low.supply_v, high.supply_v}))
      return true;
  }
  // Before the tubes are warm the least supply and the rail nearest to ground strain them least.
  const Element* rail = rail_of(low);
  if (!rail) return cold_breaks(low, scratch);
  Design mildest = low;
  rail->member->at(mildest) = rail->value(high);
  return cold_breaks(mildest, scratch);
}

bool BlockTest::cold_breaks(const Design& mildest, const Evaluation& scratch) const {
  return broken_beyond_doubt(kColdPlateVoltage, mildest, scratch, demands_.factors) ||
         broken_beyond_doubt(kGridCold, mildest, scratch, demands_.factors);
}

bool BlockTest::at_rest(const Design& low, const Design& high, Evaluation& scratch) const {
  for (int i = 0; i < kSplitterSections && has_section(low, i); ++i)
    if (has_grid_current(*low.section(i).law)) return false;
  if (has_section(low, kFirstStage) && has_grid_current(*low.first_section().law)) return false;
  const double grids_a = most_grids_a(low);
  const auto wants = [&](std::string_view figure) {
    return std::any_of(demands_.limits.begin(), demands_.limits.end(),
                       [&](const FigureLimit& l) { return l.figure->name == figure; });
  };
  Block outputs{low, high};
  Interval first_supply_a{0, 0};
  if (const StagesApart* apart = circuit(low.circuit).apart) {
    Block first{apart->first(low), apart->first(high)};
    first.shared_supply = outputs.shared_supply = low.main_supply_v > 0;
    const bool direct = places_of(low).section[0].grid_on_plate;
    first.taken_a = direct ? grids_a : 0;
    const Interval first_a = plates_bounds(first, most_grids_a(first.low), scratch);
    first_supply_a = {first_a.low, first_a.high + first.taken_a};
    if (missed(demands_, "first_plate_current_a", first_a) || stage_breaks(demands_, first, scratch))
      return true;
    Interval plate_v{0, 0};
    if (direct) {
      plate_v = plate_bounds(first, scratch);
      if (!std::isfinite(plate_v.low) || !std::isfinite(plate_v.high)) return false;
    }
    outputs.low = apart->output(low, plate_v.low);
    outputs.high = apart->output(high, plate_v.high);
  } else if (has_section(low, kFirstStage)) {
    return false;  // two stages at once are not bounded
  }

  if (wants("plate_current_a") || wants("supply_current_a")) {
    const Interval a = plates_bounds(outputs, grids_a, scratch);
    const double n = has_section(low, 1) ? 2 : 1;
    if (missed(demands_, "supply_current_a", {a.low + first_supply_a.low, a.high + first_supply_a.high}) ||
        missed(demands_, "plate_current_a", {a.low / n, a.high / n}))
      return true;
  }
  if (wants("tail_fraction") && outputs.ways().has_tail) {
    const Element* rail = rail_of(low);
    const double rail_low_v = rail ? rail->value(low) : 0, rail_high_v = rail ? rail->value(high) : 0;
    const double supply_low = low.main_supply_v > 0 ? 0 : low.supply_v - rail_high_v,
                 supply_high = (low.main_supply_v > 0 ? low.main_supply_v : high.supply_v) - rail_low_v;
    const Interval v = tail_bounds(outputs, scratch);
    const Interval share{v.low > 0 ? v.low / supply_high : -INFINITY,
                         v.high > 0 && supply_low > 0 ? v.high / supply_low : INFINITY};
    if (missed(demands_, "tail_fraction", share)) return true;
  }
  return (wants("cathode_v") && missed(demands_, "cathode_v", cathode_bounds(outputs, scratch))) ||
         stage_breaks(demands_, outputs, scratch);
}

}  // namespace antiphase
