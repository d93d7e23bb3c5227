/// Small-signal output impedance. It may be negative of one output of a stage with a loop in it
/// (stagemodels/README.md); its size is what moves a level.
#pragma once

#include <algorithm>
#include <cmath>

#include "objectives/figures/figure.h"

namespace antiphase {

inline constexpr Figure kOutputImpedanceOhm{
    .name = "output_impedance_ohm",
    .label = "output impedance",
    .unit = "ohm",
    .description = "what one output shows to a current into it alone; the larger of the two",
    .direction = Direction::smaller,
    .scale = 50e3,
    .needs = Depth::small_signal,
    .default_weight = 1,
    .shown = {.law_bands = 9, .spread = true},
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.operating_point.solved != Solved::yes) return std::nullopt;
      const Pair& z = e.small_signal.output_impedance_alone_ohm;
      return std::max(std::abs(z[0]), std::abs(z[1]));
    }};

inline constexpr Figure kOutputImpedanceDifferentialOhm{
    .name = "output_impedance_differential_ohm",
    .label = "output impedance, push-pull",
    .unit = "ohm",
    .description = "what an output shows when both are loaded alike and opposite; the larger of the two",
    .direction = Direction::smaller,
    .scale = 25e3,
    .needs = Depth::small_signal,
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.operating_point.solved != Solved::yes) return std::nullopt;
      const Pair& z = e.small_signal.output_impedance_differential_ohm;
      return std::max(std::abs(z[0]), std::abs(z[1]));
    }};

}  // namespace antiphase
