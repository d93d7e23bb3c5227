#include "objectives/limits/catalogue.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/limits/cathode.h"
#include "objectives/limits/grid.h"
#include "objectives/limits/parts.h"
#include "objectives/limits/plate.h"

namespace antiphase {
namespace {

constexpr std::array kLimits{
    kHeaterToCathodePositive,
    kHeaterToCathodePositiveDc,
    kHeaterToCathodeNegative,
    kPlateDissipation,
    kPlatesTotalDissipation,
    kPlateVoltage,
    kPlateVoltagePeak,
    kColdPlateVoltage,
    kCathodeCurrent,
    kGridAtRest,
    kGridAtTarget,
    kGridCold,
    kGridLeak,
    kLoadLeak,
    kTailCompliance,
};

static_assert(kLimits.size() <= 32, "DesignFactors::left_out has a bit for each");

/// The first stage of a chain as the gain stage that it is, so that the same table serves it. Only what
/// limits look at is filled.
struct FirstStageAlone {
  Design design;
  Evaluation evaluation;

  FirstStageAlone(const Design& chain, const Evaluation& e) {
    const FirstStage& f = chain.first_stage;
    design.circuit = CircuitKind::common_cathode;
    design.tube = {f.tube, f.tube};
    design.supply_v = chain.supply_v;
    design.main_supply_v = chain.main_supply_v;
    design.plate_ohm[0] = f.plate_ohm;
    design.grid_leak_ohm = f.grid_leak_ohm;
    design.heater_v = chain.heater_v;
    const FirstStageRest& rest = e.operating_point.first;
    OperatingPoint& at = evaluation.operating_point;
    at.solved = e.operating_point.solved;
    at.supply_v = e.operating_point.supply_v;
    at.cathode_v = rest.cathode_v;
    at.plate_v[0] = rest.plate_v;
    at.plate_current_a[0] = rest.plate_current_a;
    at.grid_current_a[0] = rest.grid_current_a;
    at.grid_to_cathode_v[0] = rest.grid_to_cathode_v;
    at.plate_to_cathode_v[0] = rest.plate_to_cathode_v;
    at.plate_dissipation_w[0] = rest.plate_dissipation_w;
    const FirstStageState& state = e.at_target.first;
    SteadyState& target = evaluation.at_target;
    target.solved = e.at_target.solved;
    target.plate_dissipation_w[0] = state.plate_dissipation_w;
    target.cathode_current_mean_a[0] = state.cathode_current_mean_a;
    target.cathode_current_peak_a[0] = state.cathode_current_peak_a;
    target.grid_to_cathode_peak_v[0] = state.grid_to_cathode_peak_v;
    target.plate_to_cathode_peak_v[0] = state.plate_to_cathode_peak_v;
    target.cathode_low_v = state.cathode_low_v;
    target.cathode_high_v = state.cathode_high_v;
  }
};

/// Goes on while `use` returns true.
template <class Use>
bool for_each_check(const Design& design, const Evaluation& evaluation, const DesignFactors& factors,
                    Depth solved, Use&& use) {
  const auto over = [&](const Design& d, const Evaluation& e, bool first_stage) {
    for (const Limit& limit : kLimits) {
      if (limit.needs > solved || (first_stage && !limit.per_section) || left_out(limit, factors)) continue;
      const int count = limit.per_section ? sections(d.circuit) : 1;
      for (int i = 0; i < count; ++i)
        if (std::optional<LimitResult> r = limit.check(d, e, factors, i)) {
          r->name = limit.name;
          r->label = limit.label;
          r->unit = limit.unit;
          r->remedy = limit.remedy;
          r->section = first_stage ? kFirstStageSection : limit.per_section ? i + 1 : 0;
          if (!use(*r)) return false;
        }
    }
    return true;
  };
  if (!over(design, evaluation, false)) return false;
  if (!has_first_stage(design)) return true;
  const FirstStageAlone first(design, evaluation);
  return over(first.design, first.evaluation, true);
}

}  // namespace

std::span<const Limit> limits() {
  return kLimits;
}

const Limit* find_limit(std::string_view name) {
  const auto it =
      std::find_if(kLimits.begin(), kLimits.end(), [&](const Limit& l) { return l.name == name; });
  return it == kLimits.end() ? nullptr : &*it;
}

bool left_out(const Limit& limit, const DesignFactors& factors) {
  return (factors.left_out >> (&limit - kLimits.data()) & 1U) != 0;
}

void leave_out(const Limit& limit, DesignFactors& factors) {
  factors.left_out |= 1U << (&limit - kLimits.data());
}

std::vector<LimitResult> check_limits(const Design& design, const Evaluation& evaluation,
                                      const DesignFactors& factors) {
  std::vector<LimitResult> all;
  for_each_check(design, evaluation, factors, Depth::everything, [&](const LimitResult& r) {
    all.push_back(r);
    return true;
  });
  return all;
}

double excess(const LimitResult& r) {
  if (r.kept) return 0;
  if (!r.known) return 1;               // by its whole amount
  constexpr double kSmallestScale = 1;  // limits at or near zero are judged in their own unit
  const double scale = r.limit != 0 ? std::fabs(r.limit) : kSmallestScale;
  const double over = (r.at_least ? r.limit - r.value : r.value - r.limit) / scale;
  return over > 1e-12 ? over : 1e-12;  // a broken limit always counts
}

double total_violation(const Design& design, const Evaluation& evaluation, const DesignFactors& factors) {
  double sum = 0;
  for_each_check(design, evaluation, factors, Depth::everything, [&](const LimitResult& r) {
    sum += excess(r);
    return true;
  });
  return sum;
}

bool kept_so_far(const Design& design, const Evaluation& evaluation, const DesignFactors& factors,
                 Depth solved) {
  return for_each_check(design, evaluation, factors, solved, [](const LimitResult& r) { return r.kept; });
}

}  // namespace antiphase
