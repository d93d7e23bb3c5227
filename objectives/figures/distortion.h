/// Harmonic distortion at the target swing.
#pragma once

#include <algorithm>

#include "objectives/figures/figure.h"

namespace antiphase {

inline constexpr Figure kDistortionPct{
    .name = "distortion_pct",
    .label = "distortion",
    .unit = "%",
    .description = "total harmonic distortion at the target swing, of the worse output",
    .direction = Direction::smaller,
    .scale = 1,
    .needs = Depth::at_target,
    .default_weight = 2,
    .shown = {.law_bands = 4, .ranked_bands = 1, .band_columns = 3, .spread = true},
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.at_target.solved != Solved::yes) return std::nullopt;
      return std::max(e.at_target.thd_pct[0], e.at_target.thd_pct[1]);
    }};

inline constexpr Figure kThdDifferentialPct{
    .name = "thd_differential_pct",
    .label = "distortion of the difference",
    .unit = "%",
    .description = "total harmonic distortion of output 1 minus output 2 at the target swing",
    .direction = Direction::smaller,
    .scale = 1,
    .needs = Depth::at_target,
    .shown = {.law_bands = 5, .spread = true},
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.at_target.solved != Solved::yes) return std::nullopt;
      return e.at_target.thd_differential_pct;
    }};

}  // namespace antiphase
