/// The linearised stage with its capacitors in: band, input capacitance, ripple, noise.
#pragma once

#include <algorithm>

#include "objectives/figures/figure.h"

namespace antiphase {

/// A figure of the response; empty if the stage has no band.
template <auto measure_in_band>
std::optional<double> in_band(const Design& d, const Evaluation& e) {
  if (!e.frequency_known) return std::nullopt;
  return measure_in_band(d, e.frequency);
}

inline constexpr Figure kLowCornerHz{
    .name = "low_corner_hz",
    .label = "low corner",
    .unit = "Hz",
    .description = "-3 dB at the low end, the higher of the two outputs; none down to 1 mHz counts as that",
    .direction = Direction::smaller,
    .scale = 10,
    .needs = Depth::with_frequency,
    .parts = frequency_part::low_corner,
    .shown = {.spread = true},
    .measure = in_band<[](const Design& d, const FrequencyFigures& f) {
      double highest = FrequencyFigures::kLowest_hz;
      for (int i = 0; i < outputs(d.circuit); ++i)
        highest = std::max(highest, f.low_corner_hz[i].value_or(highest));
      return highest;
    }>};

inline constexpr Figure kHighCornerHz{
    .name = "high_corner_hz",
    .label = "high corner",
    .unit = "Hz",
    .description = "-3 dB at the high end, the lower of the two outputs; none up to 1 GHz counts as that",
    .direction = Direction::larger,
    .scale = 50e3,
    .needs = Depth::with_frequency,
    .parts = frequency_part::high_corner,
    .shown = {.spread = true},
    .measure = in_band<[](const Design& d, const FrequencyFigures& f) {
      double lowest = FrequencyFigures::kHighest_hz;
      for (int i = 0; i < outputs(d.circuit); ++i)
        lowest = std::min(lowest, f.high_corner_hz[i].value_or(lowest));
      return lowest;
    }>};

inline constexpr Figure kInputF{
    .name = "input_f",
    .label = "input capacitance",
    .unit = "F",
    .description = "of grid 1 at 20 kHz, Miller part included; what stands across the source is not counted",
    .direction = Direction::smaller,
    .scale = 50e-12,
    .needs = Depth::with_frequency,
    .parts = frequency_part::balance,
    .measure = in_band<[](const Design&, const FrequencyFigures& f) { return f.input_f; }>};

inline constexpr Figure kBalance20kHzPct{
    .name = "balance_20khz_pct",
    .label = "balance at 20 kHz",
    .unit = "%",
    .description = "of the sizes of the two outputs at 20 kHz, small signal",
    .direction = Direction::nearer_zero,
    .scale = 5,
    .needs = Depth::with_frequency,
    .parts = frequency_part::balance,
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (outputs(d.circuit) < 2 || !e.frequency_known) return std::nullopt;
      return e.frequency.balance[2].amplitude_pct;
    }};

/// Behind a dropping resistor the reservoir decides; as long as none is given the supply counts as still, and
/// there is no such figure.
inline constexpr Figure kRippleDifferenceVPerV{
    .name = "ripple_difference_v_per_v",
    .label = "ripple between the outputs",
    .unit = "1",
    .description = "of output 1 minus output 2 (one section: of the output) per volt on the supply at 100 Hz",
    .direction = Direction::smaller,
    .scale = 0.05,
    .needs = Depth::with_frequency,
    .parts = frequency_part::ripple,
    .shown = {.spread = true},
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (!e.frequency_known || (d.main_supply_v > 0 && !(d.reservoir_f > 0))) return std::nullopt;
      return e.frequency.ripple_difference_v_per_v;
    }};

inline constexpr Figure kNoiseBelowTargetDb{
    .name = "noise_below_target_db",
    .label = "noise below the target",
    .unit = "dB",
    .description =
        "target swing between the outputs over thermal and shot noise between them, 20 Hz to 20 kHz",
    .direction = Direction::larger,
    .scale = 6,
    .needs = Depth::with_frequency,
    .parts = frequency_part::noise,
    .shown = {.spread = true},
    .measure =
        in_band<[](const Design&, const FrequencyFigures& f) { return f.noise.difference_below_target_db; }>};

}  // namespace antiphase
