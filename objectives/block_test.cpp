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
enum class Quantity { cathodes_current, cathode_v, grid_to_cathode_v, tail_v, plate_v };

/// +1 where the quantity rises with the part, -1 where it falls. rail_v: towards 0. (The cathode's voltage is
/// not here for bias by an own resistor: it may rise or fall with that; there it is tail_v -
/// grid_to_cathode_v. plate_v: of a gain stage only.)
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
    case Quantity::plate_v:
      return {+1, -1, -1, 0, 0, 0, 0, 0, +1};
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

/// A block whose rest points hang on its own parts alone: all of a stage, or of a chain its first stage or
/// its pair (stagemodels/README.md, "Bounds over a block of parts").
struct Block {
  Design low, high;
  bool shared_supply = false;  ///< others draw through the same dropping resistor, so the supply is lower
  double taken_a = 0;  ///< what grids that hang on the plate draw at most, in designs that keep their limits
};

/// Bounds of a quantity; infinite where a corner has no rest point, and on the side where a lower supply
/// would break them if that is not known.
template <class Value>
Interval bounds(Quantity quantity, const Block& b, Evaluation& scratch, Value&& value) {
  Interval v{-INFINITY, INFINITY};
  const int with_supply = slopes(quantity, b.low.bias.form, b.low.circuit).supply_v;
  const auto at_end = [&](int way, double& end) {
    if (b.shared_supply && way != with_supply) return;
    if (solve_corner(corner(b.low, b.high, quantity, way), scratch)) end = value(scratch.operating_point);
  };
  at_end(-1, v.low);
  at_end(+1, v.high);
  return v;
}

/// Of all plates. `grids_a`: what the block's own grids draw at most.
Interval plates_bounds(const Block& b, double grids_a, Evaluation& scratch) {
  Interval a = bounds(Quantity::cathodes_current, b, scratch,
                      [](const OperatingPoint& o) { return o.tail_current_a; });
  a.low -= grids_a + b.taken_a;  // the cathodes' current is bounded, the plates' is less by the grids'
  return a;
}

/// Of a gain stage.
Interval plate_bounds(const Block& b, Evaluation& scratch) {
  Interval v = bounds(Quantity::plate_v, b, scratch, [](const OperatingPoint& o) { return o.plate_v[0]; });
  v.low -= b.taken_a * b.high.plate_ohm[0];
  return v;
}

Interval tail_bounds(const Block& b, Evaluation& scratch) {
  return bounds(Quantity::tail_v, b, scratch, [](const OperatingPoint& o) { return o.tail_v; });
}

Interval cathode_bounds(const Block& b, Evaluation& scratch) {
  const bool own_resistor =
      b.low.circuit == CircuitKind::long_tailed_pair && b.low.bias.form == BiasForm::self_biased;
  if (!own_resistor) {
    Interval v = bounds(Quantity::cathode_v, b, scratch, [](const OperatingPoint& o) { return o.cathode_v; });
    v.low -= b.taken_a * b.high.cathode_ohm;
    return v;
  }
  const Interval tail = tail_bounds(b, scratch);
  // the leak node against the cathode goes the way of the grids
  const Interval bias = bounds(Quantity::grid_to_cathode_v, b, scratch,
                               [](const OperatingPoint& o) { return o.tail_v - o.cathode_v; });
  return {tail.low - bias.high, tail.high - bias.low};
}

/// The first stage of a chain, as the gain stage that it is at rest.
Design first_stage_alone(const Design& chain) {
  const FirstStage& f = chain.first_stage;
  Design d = chain;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {f.tube, f.tube};
  d.spread = {f.spread, f.spread};
  d.plate_ohm = {f.plate_ohm, 0};
  d.cathode_ohm = f.cathode_ohm;
  d.cathode_unbypassed_ohm = f.cathode_unbypassed_ohm;
  d.grid_leak_ohm = f.grid_leak_ohm;
  d.load_ohm = chain.grid_leak_ohm;
  d.feedback = {};
  return d;
}

/// The pair of a chain; `grid_v` counts if it is directly coupled.
Design pair_alone(const Design& chain, double grid_v) {
  Design d = chain;
  d.circuit = CircuitKind::long_tailed_pair;
  d.feedback = {};
  if (d.bias.form == BiasForm::direct_coupled) d.bias.grid_v = grid_v;
  return d;
}

/// What the grid of a section that keeps its limits draws at most.
double most_grid_a(const TriodeSection& section) {
  return std::fmax(0.0, section.tube->grid_diode.current_a(section.tube->grid_conduction_v.value));
}

bool broken_beyond_doubt(const Limit& limit, const Design& d, const Evaluation& e, const DesignFactors& f) {
  const int count = limit.per_section ? sections(d.circuit) : 1;
  for (int i = 0; i < count; ++i)
    if (const auto r = limit.check(d, e, f, i); r && !r->kept && excess(*r) > kGuard) return true;
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
  const Design most_bias = corner(b.low, b.high, Quantity::grid_to_cathode_v, -1);
  if (solve_corner(most_bias, scratch) && broken(kGridAtRest, most_bias)) return true;

  const bool gain_stage = sections(b.low.circuit) == 1;
  const Interval cathode_v = cathode_bounds(b, scratch);
  Interval plate_v{-INFINITY, INFINITY}, plate_a{-INFINITY, INFINITY};
  if (gain_stage) {
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
  if (gain_stage && std::isfinite(across_v) && across_v > 0) {
    at.plate_to_cathode_v[0] = across_v;
    at.plate_current_a[0] = std::isfinite(plate_a.low) ? std::fmax(0.0, plate_a.low) : 0.0;
    at.plate_dissipation_w[0] = across_v * at.plate_current_a[0];
    if (broken(kPlateVoltage, b.low) || broken(kPlateDissipation, b.low)) return true;
  }
  if (gain_stage && std::isfinite(plate_a.low)) {
    at.plate_current_a[0] = std::fmax(0.0, plate_a.low);
    if (broken(kCathodeCurrent, b.low)) return true;
  }
  if (gain_stage || b.low.tail.form != TailForm::constant_current) return false;
  const Design most_tail = corner(b.low, b.high, Quantity::tail_v, +1);
  return solve_corner(most_tail, scratch) && broken(kTailCompliance, most_tail);
}

}  // namespace

bool BlockTest::none_feasible(const Design& low, const Design& high, bool corners,
                              Evaluation& scratch) const {
  if (leaves_something_out(demands_)) return false;
  return parts_alone(low, high, scratch) || (corners && at_rest(low, high, scratch));
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
         broken_beyond_doubt(kGridCold, mildest, scratch, demands_.factors) ||
         (has_first_stage(low) &&
          broken_beyond_doubt(kColdPlateVoltage, first_stage_alone(low), scratch, demands_.factors));
}

bool BlockTest::at_rest(const Design& low, const Design& high, Evaluation& scratch) const {
  double grids_a = 0;
  for (int i = 0; i < sections(low.circuit); ++i) {
    if (has_grid_current(*low.section(i).law)) return false;
    grids_a += most_grid_a(low.section(i));
  }
  const auto wants = [&](std::string_view figure) {
    return std::any_of(demands_.limits.begin(), demands_.limits.end(),
                       [&](const FigureLimit& l) { return l.figure->name == figure; });
  };
  Block outputs{low, high};
  Interval first_supply_a{0, 0};
  if (has_first_stage(low)) {
    if (has_grid_current(*low.first_section().law)) return false;
    Block first{first_stage_alone(low), first_stage_alone(high)};
    first.shared_supply = outputs.shared_supply = low.main_supply_v > 0;
    const bool direct = direct_first_stage(low);
    first.taken_a = direct ? grids_a : 0;
    const Interval first_a = plates_bounds(first, most_grid_a(low.first_section()), scratch);
    first_supply_a = {first_a.low, first_a.high + first.taken_a};
    if (missed(demands_, "first_plate_current_a", first_a) || stage_breaks(demands_, first, scratch))
      return true;
    Interval grid_v{0, 0};
    if (direct) {
      grid_v = plate_bounds(first, scratch);
      if (!std::isfinite(grid_v.low) || !std::isfinite(grid_v.high)) return false;
    }
    outputs.low = pair_alone(low, grid_v.low);
    outputs.high = pair_alone(high, grid_v.high);
  }

  if (wants("plate_current_a") || wants("supply_current_a")) {
    const Interval a = plates_bounds(outputs, grids_a, scratch);
    const double n = sections(low.circuit);
    if (missed(demands_, "supply_current_a", {a.low + first_supply_a.low, a.high + first_supply_a.high}) ||
        missed(demands_, "plate_current_a", {a.low / n, a.high / n}))
      return true;
  }
  if (sections(low.circuit) == 2 && wants("tail_fraction")) {
    const bool rail = low.bias.form == BiasForm::negative_rail;
    const double supply_low = low.main_supply_v > 0 ? 0 : low.supply_v - (rail ? high.bias.rail_v : 0),
                 supply_high = low.main_supply_v > 0 ? low.main_supply_v - (rail ? low.bias.rail_v : 0)
                                                     : high.supply_v - (rail ? low.bias.rail_v : 0);
    const Interval v = tail_bounds(outputs, scratch);
    const Interval share{v.low > 0 ? v.low / supply_high : -INFINITY,
                         v.high > 0 && supply_low > 0 ? v.high / supply_low : INFINITY};
    if (missed(demands_, "tail_fraction", share)) return true;
  }
  return (wants("cathode_v") && missed(demands_, "cathode_v", cathode_bounds(outputs, scratch))) ||
         stage_breaks(demands_, outputs, scratch);
}

}  // namespace antiphase
