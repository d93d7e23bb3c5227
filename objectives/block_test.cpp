#include "objectives/block_test.h"

#include <algorithm>
#include <cmath>
#include <string_view>

#include "objectives/limits/cathode.h"
#include "objectives/limits/grid.h"
#include "objectives/limits/parts.h"
#include "objectives/limits/plate.h"
#include "objectives/limits/result.h"

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

/// What rises or falls all the way with each part.
enum class Quantity { cathodes_current, cathode_v, grid_to_cathode_v, tail_v };

/// +1 where the quantity rises with the part, -1 where it falls. rail_v: towards 0. (The cathode's voltage is
/// not here for bias by an own resistor: it may rise or fall with that; there it is tail_v -
/// grid_to_cathode_v.)
struct Slopes {
  int supply_v, dropping_ohm, plate_ohm, bias_ohm, grid_v, rail_v, tail_ohm, sink_a, cathode_ohm;
};

Slopes slopes(Quantity quantity, BiasForm bias, CircuitKind circuit) {
  // With bias by the cathode's own resistor the grids hang below the cathode by current times resistance.
  const bool own = bias == BiasForm::self_biased || circuit == CircuitKind::common_cathode;
  switch (quantity) {
    case Quantity::cathodes_current:
      return {+1, -1, -1, -1, +1, -1, -1, +1, -1};
    case Quantity::cathode_v:
      return {+1, -1, -1, +1, +1, +1, +1, -1, +1};
    case Quantity::grid_to_cathode_v:
      return {-1, +1, +1, -1, +1, -1, own ? +1 : -1, own ? -1 : +1, -1};
    case Quantity::tail_v:
      return {+1, -1, -1, -1, +1, -1, +1, -1, +1};
  }
  return {};
}

/// The design of the block where the quantity is largest (`way` +1) or smallest (-1).
Design corner(const Design& low, const Design& high, Quantity quantity, int way) {
  const Slopes s = slopes(quantity, low.bias.form, low.circuit);
  Design d = low;
  const auto set = [&](double& to, double at_high, int slope) {
    if (slope * way > 0) to = at_high;
  };
  set(d.supply_v, high.supply_v, s.supply_v);
  set(d.dropping_ohm, high.dropping_ohm, s.dropping_ohm);
  set(d.plate_ohm[0], high.plate_ohm[0], s.plate_ohm);
  set(d.plate_ohm[1], high.plate_ohm[1], s.plate_ohm);
  set(d.bias.ohm, high.bias.ohm, s.bias_ohm);
  set(d.bias.grid_v, high.bias.grid_v, s.grid_v);
  set(d.bias.rail_v, high.bias.rail_v, s.rail_v);
  set(d.tail.ohm, high.tail.ohm, s.tail_ohm);
  set(d.tail.current_a, high.tail.current_a, s.sink_a);
  set(d.cathode_ohm, high.cathode_ohm, s.cathode_ohm);
  return d;
}

bool solve_corner(const Design& d, Evaluation& scratch) {
  evaluate(d, Depth::rest, scratch);
  return scratch.operating_point.solved == Solved::yes;
}

/// Bounds of a quantity over a block; infinite where a corner has no rest point.
template <class Value>
Interval bounds(Quantity quantity, const Design& low, const Design& high, Evaluation& scratch,
                Value&& value) {
  Interval v{-INFINITY, INFINITY};
  if (solve_corner(corner(low, high, quantity, -1), scratch)) v.low = value(scratch.operating_point);
  if (solve_corner(corner(low, high, quantity, +1), scratch)) v.high = value(scratch.operating_point);
  return v;
}

Interval tail_bounds(const Design& low, const Design& high, Evaluation& scratch) {
  return bounds(Quantity::tail_v, low, high, scratch, [](const OperatingPoint& o) { return o.tail_v; });
}

Interval cathode_bounds(const Design& low, const Design& high, Evaluation& scratch) {
  const bool own_resistor =
      low.circuit == CircuitKind::long_tailed_pair && low.bias.form == BiasForm::self_biased;
  if (!own_resistor)
    return bounds(Quantity::cathode_v, low, high, scratch,
                  [](const OperatingPoint& o) { return o.cathode_v; });
  const Interval tail = tail_bounds(low, high, scratch);
  // the leak node against the cathode goes the way of the grids
  const Interval bias = bounds(Quantity::grid_to_cathode_v, low, high, scratch,
                               [](const OperatingPoint& o) { return o.tail_v - o.cathode_v; });
  return {tail.low - bias.high, tail.high - bias.low};
}

bool broken_beyond_doubt(const Limit& limit, const Design& d, const Evaluation& e, const DesignFactors& f) {
  const int count = limit.per_section ? sections(d.circuit) : 1;
  for (int i = 0; i < count; ++i)
    if (const auto r = limit.check(d, e, f, i); r && !r->kept && excess(*r) > kGuard) return true;
  return false;
}

}  // namespace

bool BlockTest::none_feasible(const Design& low, const Design& high, bool corners,
                              Evaluation& scratch) const {
  if (leaves_something_out(demands_)) return false;
  // Nothing is known of the directions of a first stage's parts.
  return parts_alone(low, high, scratch) || (corners && !has_first_stage(low) && at_rest(low, high, scratch));
}

bool BlockTest::parts_alone(const Design& low, const Design& high, const Evaluation& scratch) const {
  const bool pair = sections(low.circuit) == 2;
  for (const FigureLimit& limit : demands_.limits) {
    const std::string_view name = limit.figure->name;
    if (name == "plate_ohm_ratio" && pair &&
        all_miss(limit, {low.plate_ohm[1] / high.plate_ohm[0], high.plate_ohm[1] / low.plate_ohm[0]}))
      return true;
    if (name == "supply_v" && low.main_supply_v <= 0 && all_miss(limit, {low.supply_v, high.supply_v}))
      return true;
  }
  // Before the tubes are warm the least supply and the rail nearest to ground strain them least.
  Design mildest = low;
  mildest.bias.rail_v = high.bias.rail_v;
  return broken_beyond_doubt(kColdPlateVoltage, mildest, scratch, demands_.factors) ||
         broken_beyond_doubt(kGridCold, mildest, scratch, demands_.factors);
}

bool BlockTest::at_rest(const Design& low, const Design& high, Evaluation& scratch) const {
  double grids_a = 0;  // what the grids of a design that keeps its limits draw at most
  for (int i = 0; i < sections(low.circuit); ++i) {
    const TriodeSection section = low.section(i);
    if (has_grid_current(*section.law)) return false;
    grids_a += std::fmax(0.0, section.tube->grid_diode.current_a(section.tube->grid_conduction_v.value));
  }
  const auto broken = [&](const Limit& limit, const Design& d) {
    return broken_beyond_doubt(limit, d, scratch, demands_.factors);
  };
  const auto wants = [&](std::string_view figure) {
    return std::any_of(demands_.limits.begin(), demands_.limits.end(),
                       [&](const FigureLimit& l) { return l.figure->name == figure; });
  };
  const auto missed = [&](std::string_view figure, Interval v) {
    return std::any_of(demands_.limits.begin(), demands_.limits.end(),
                       [&](const FigureLimit& l) { return l.figure->name == figure && all_miss(l, v); });
  };

  if (wants("plate_current_a") || wants("supply_current_a")) {
    Interval a = bounds(Quantity::cathodes_current, low, high, scratch,
                        [](const OperatingPoint& o) { return o.tail_current_a; });
    a.low -= grids_a;  // the cathodes' current is bounded, the plates' is less by the grids'
    const double n = sections(low.circuit);
    if (missed("supply_current_a", a) || missed("plate_current_a", {a.low / n, a.high / n})) return true;
  }
  if (low.circuit == CircuitKind::long_tailed_pair && wants("tail_fraction")) {
    const bool rail = low.bias.form == BiasForm::negative_rail;
    const double supply_low = low.main_supply_v > 0 ? 0 : low.supply_v - (rail ? high.bias.rail_v : 0),
                 supply_high = low.main_supply_v > 0 ? low.main_supply_v - (rail ? low.bias.rail_v : 0)
                                                     : high.supply_v - (rail ? low.bias.rail_v : 0);
    const Interval v =
        bounds(Quantity::tail_v, low, high, scratch, [](const OperatingPoint& o) { return o.tail_v; });
    const Interval share{v.low > 0 ? v.low / supply_high : -INFINITY,
                         v.high > 0 && supply_low > 0 ? v.high / supply_low : INFINITY};
    if (missed("tail_fraction", share)) return true;
  }
  const Design most_bias = corner(low, high, Quantity::grid_to_cathode_v, -1);
  if (solve_corner(most_bias, scratch) && broken(kGridAtRest, most_bias)) return true;

  const Interval cathode_v = cathode_bounds(low, high, scratch);
  if (missed("cathode_v", cathode_v)) return true;
  OperatingPoint& at = scratch.operating_point;  // what the limits of heaters read; they need no more
  at = OperatingPoint{};
  scratch.at_target.solved = Solved::not_run;
  at.solved = Solved::yes;
  if (std::isfinite(cathode_v.low)) {
    at.cathode_v = cathode_v.low;
    if (broken(kHeaterToCathodePositive, low) || broken(kHeaterToCathodePositiveDc, low)) return true;
  }
  if (std::isfinite(cathode_v.high)) {
    at.cathode_v = cathode_v.high;
    if (broken(kHeaterToCathodeNegative, low)) return true;
  }
  if (low.tail.form != TailForm::constant_current) return false;
  const Design most_tail = corner(low, high, Quantity::tail_v, +1);
  return solve_corner(most_tail, scratch) && broken(kTailCompliance, most_tail);
}

}  // namespace antiphase
