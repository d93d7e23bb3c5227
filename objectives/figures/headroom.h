/// How far past the target the stage stays clean.
#pragma once

#include "objectives/figures/figure.h"

namespace antiphase {

inline constexpr Figure kHeadroomDb{
    .name = "headroom_db",
    .label = "headroom",
    .unit = "dB",
    .description = "clean swing over target swing",
    .direction = Direction::larger,
    .scale = 6,
    .needs = Depth::full,
    .default_weight = 1,
    .shown = {.law_bands = 7, .ranked_bands = 3, .spread = true},
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.clean.solved != Solved::yes || !(e.clean.swing_peak_v > 0)) return std::nullopt;
      return e.clean.headroom_db;
    }};

inline constexpr Figure kCleanSwingPeakV{
    .name = "clean_swing_peak_v",
    .label = "clean swing",
    .unit = "V",
    .description = "largest peak fundamental per output before distortion limit, grid conduction or cut-off",
    .direction = Direction::larger,
    .scale = 20,
    .needs = Depth::full,
    .shown = {.law_bands = 8, .spread = true},
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.clean.solved != Solved::yes) return std::nullopt;
      return e.clean.swing_peak_v;
    }};

}  // namespace antiphase
