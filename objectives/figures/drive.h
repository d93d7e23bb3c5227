/// What the stage asks of the one before it.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

#include "objectives/figures/figure.h"

namespace antiphase {

inline constexpr Figure kInputPeakV{
    .name = "input_peak_v",
    .label = "input drive",
    .unit = "V",
    .description = "peak signal at the driven grid's source for the target swing",
    .direction = Direction::smaller,
    .scale = 2,
    .needs = Depth::at_target,
    .shown = {.law_bands = 3, .spread = true},
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.at_target.solved != Solved::yes) return std::nullopt;
      return e.at_target.input_peak_v;
    }};

inline constexpr Figure kGain{
    .name = "gain",
    .label = "gain",
    .unit = "1",
    .description = "small-signal gain of the smaller output, loaded",
    .direction = Direction::larger,
    .scale = 20,
    .needs = Depth::small_signal,
    .shown = {.law_bands = 2, .ranked_bands = 2, .band_columns = 2, .spread = true},
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (e.operating_point.solved != Solved::yes) return std::nullopt;
      const double first = std::abs(e.small_signal.gain[0]);
      return outputs(d.circuit) < 2 ? first : std::min(first, std::abs(e.small_signal.gain[1]));
    }};

inline constexpr Figure kSensitivityVRms{
    .name = "sensitivity_v_rms",
    .label = "sensitivity",
    .unit = "V",
    .description = "rms signal of the source for the target swing, without feedback",
    .direction = Direction::smaller,
    .scale = 0.5,
    .needs = Depth::at_target,
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      if (e.at_target.solved != Solved::yes) return std::nullopt;
      return e.at_target.input_peak_v / std::numbers::sqrt2;
    }};

}  // namespace antiphase
