/// What the stage takes from the supply, and where it rests.
#pragma once

#include <algorithm>

#include "objectives/figures/figure.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {

/// A figure of the operating point.
template <auto measure_at_rest>
std::optional<double> at_rest(const Design& d, const Evaluation& e) {
  if (e.operating_point.solved != Solved::yes) return std::nullopt;
  return measure_at_rest(d, e.operating_point);
}

inline constexpr Figure kSupplyCurrentA{
    .name = "supply_current_a",
    .label = "supply current",
    .unit = "A",
    .description = "drawn from the supply at rest",
    .direction = Direction::smaller,
    .scale = 5e-3,
    .needs = Depth::rest,
    .shown = {.spread = true},
    .measure = at_rest<[](const Design&, const OperatingPoint& o) { return o.supply_current_a; }>};

inline constexpr Figure kSupplyV{
    .name = "supply_v",
    .label = "supply",
    .unit = "V",
    .description = "supply of the stage at rest, behind the dropping resistor if there is one",
    .direction = Direction::smaller,
    .scale = 100,
    .needs = Depth::rest,
    .measure = at_rest<[](const Design&, const OperatingPoint& o) { return o.supply_v; }>};

/// What a second supply costs. Defined for every stage, so that forms with a rail and without compare.
inline constexpr Figure kRailV{
    .name = "rail_v",
    .label = "negative rail",
    .unit = "V",
    .description = "voltage of the negative rail that the stage needs; 0 without one",
    .direction = Direction::nearer_zero,
    .scale = 100,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation&) -> std::optional<double> {
      return member::bias_rail_v.applies(d) ? d.bias.rail_v : 0;
    }};

inline constexpr Figure kCathodeV{
    .name = "cathode_v",
    .label = "cathode voltage",
    .unit = "V",
    .description = "cathode to ground at rest",
    .direction = Direction::smaller,
    .scale = 50,
    .needs = Depth::rest,
    .shown = {.spread = true},
    .measure = at_rest<[](const Design&, const OperatingPoint& o) { return o.cathode_v; }>};

inline constexpr Figure kTailFraction{
    .name = "tail_fraction",
    .label = "share of the tail",
    .unit = "1",
    .description = "voltage across the tail over the supply, at rest",
    .direction = Direction::larger,
    .scale = 0.2,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (!has_role(d, Role::tail) || e.operating_point.solved != Solved::yes) return std::nullopt;
      return e.operating_point.tail_fraction;
    }};

inline constexpr Figure kPlateCurrentA{
    .name = "plate_current_a",
    .label = "plate current",
    .unit = "A",
    .description = "mean rest current of a section",
    .direction = Direction::larger,
    .scale = 2e-3,
    .needs = Depth::rest,
    .shown = {.law_bands = 1, .ranked_bands = 4, .band_columns = 1, .spread = true},
    .measure = at_rest<[](const Design& d, const OperatingPoint& o) {
      return (o.plate_current_a[0] + o.plate_current_a[1]) / sections(d.circuit);
    }>};

inline constexpr Figure kFirstPlateCurrentA{
    .name = "first_plate_current_a",
    .label = "first stage's plate current",
    .unit = "A",
    .description = "rest current of the gain stage ahead of the pair",
    .direction = Direction::larger,
    .scale = 1e-3,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (!has_first_stage(d) || e.operating_point.solved != Solved::yes) return std::nullopt;
      return e.operating_point.first.plate_current_a;
    }};

inline constexpr Figure kFirstPlateV{
    .name = "first_plate_v",
    .label = "first stage's plate voltage",
    .unit = "V",
    .description = "plate of the gain stage ahead of the pair to ground, at rest",
    .direction = Direction::larger,
    .scale = 50,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (!has_first_stage(d) || e.operating_point.solved != Solved::yes) return std::nullopt;
      return e.operating_point.first.plate_v;
    }};

inline constexpr Figure kPlateDissipationW{.name = "plate_dissipation_w",
                                           .label = "plate dissipation",
                                           .unit = "W",
                                           .description = "of the hotter section at rest",
                                           .direction = Direction::smaller,
                                           .scale = 1,
                                           .needs = Depth::rest,
                                           .shown = {.spread = true},
                                           .measure = at_rest<[](const Design&, const OperatingPoint& o) {
                                             return std::max(o.plate_dissipation_w[0],
                                                             o.plate_dissipation_w[1]);
                                           }>};

inline constexpr Figure kPlateOhmRatio{
    .name = "plate_ohm_ratio",
    .label = "plate resistor 2 over 1",
    .unit = "1",
    .description = "plate resistor of section 2 over that of section 1",
    .direction = Direction::smaller,
    .scale = 0.1,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation&) -> std::optional<double> {
      if (plate_resistors(d.circuit) < 2) return std::nullopt;
      return d.plate_ohm[1] / d.plate_ohm[0];
    }};

}  // namespace antiphase
