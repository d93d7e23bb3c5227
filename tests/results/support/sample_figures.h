/// Made-up figures of the whole circuit, easy to recognise wherever they come out again.
#pragma once

#include <cmath>

#include "tests/results/support/sample_report.h"

namespace antiphase::sample {

inline const OutputValve& output_valve() {
  static const OutputValve valve = [] {
    OutputValve v;
    v.name = "EL34";
    return v;
  }();
  return valve;
}

/// -30 dB to +7.5 dB in steps of 1.5 dB: distortion doubles every 6 dB and is 0.5 % at the target.
inline LevelCurve level_curve() {
  LevelCurve curve;
  curve.solved = Solved::yes;
  for (double db = -30; db <= 7.5; db += 1.5) {
    LevelPoint& p = curve.point[static_cast<std::size_t>(curve.count++)];
    const double size = std::pow(10, db / 20);
    p.level_db = db;
    p.input_peak_v = 1.25 * size;
    p.output_peak_v = {33 * size, 32 * size};
    p.thd_pct = {0.5 * size, 0.25 * size};
    p.thd_differential_pct = 0.03 * size;
    p.second_pct = {0.375 * size, 0.125 * size};
    p.third_pct = {0.0625 * size, 0.03125 * size};
  }
  return curve;
}

/// Gains of -20 and +19.8 with one corner of 10 Hz below and one of 200 kHz (100 kHz) above.
inline FrequencyFigures frequency() {
  FrequencyFigures f;
  f.low_corner_hz = {10, 10};
  f.high_corner_hz = {200e3, 100e3};
  f.input_f = 123e-12;
  f.noise = {{40e-6, 30e-6}, 62.5e-6, {115, 117.5}, 117, 1.5625e-6};
  f.balance = {{{20, 1, 0}, {1000, 1, 0.25}, {20e3, 1.25, 2.5}}};
  for (int k = 0; k < FrequencyFigures::kCurvePoints; ++k) {
    FrequencyPoint& p = f.curve[static_cast<std::size_t>(k)];
    p.frequency_hz = FrequencyFigures::kCurveLow_hz * std::pow(10, k / 10.0);
    const std::complex<double> j(0, 1);
    const auto shape = [&](double low, double high) {
      return 1.0 / ((1.0 - j * low / p.frequency_hz) * (1.0 + j * p.frequency_hz / high));
    };
    p.gain = {-20.0 * shape(10, 200e3), 19.8 * shape(10, 100e3)};
    p.balance_pct =
        100 * (std::abs(p.gain[0]) - std::abs(p.gain[1])) * 2 / (std::abs(p.gain[0]) + std::abs(p.gain[1]));
    p.opposite_deg = std::arg(-p.gain[0] / p.gain[1]) * 180 / 3.141592653589793;
    p.input_ohm = 1e6 / (1.0 + j * p.frequency_hz / 1e3);
  }
  return f;
}

inline IntermodulationFigures two_tones() {
  IntermodulationFigures two;
  two.solved = Solved::yes;
  two.low_and_high = {{{1, 0.5, 1.125}, {0.75, 0.5, 0.9375}, {0.015625, 0.5, 0.53125}}};
  two.close_pair = {{{0.5, 0.25, 0.56}, {0.375, 0.25, 0.47}, {0.0078125, 0.25, 0.25390625}}};
  return two;
}

inline OverdriveFigures overdrive() {
  OverdriveFigures over;
  over.solved = Solved::yes;
  over.clean_conducting = {Solved::yes, 64, CleanLimit::distortion, 2.5, 6.02};
  over.clean_into_output_grids = {Solved::yes, 40, CleanLimit::distortion, 1.5625, 1.94};
  over.starved_db = 4.5;
  over.starved_solved = Solved::yes;
  for (std::size_t k = 0; k < 3; ++k) {
    const double step = static_cast<double>(k);
    over.at[k] = {Solved::yes,
                  OverdriveFigures::kDrives_db[k],
                  {32 + 8 * step, 31 + 8 * step},
                  {0.5 + 4 * step, 0.25 + 4 * step},
                  {-0.125 * step, -0.0625 * step},
                  {-6.5 * step, -6.25 * step},
                  {1.5e-3 * step, 1.25e-3 * step},
                  20e-6 * step};
  }
  over.output_recovery_s = {0.025, 0.026};
  return over;
}

/// The sample pair with its output valve named and all of the above put in.
inline Record whole_circuit(const Design& design = self_biased_pair()) {
  Record r = record(design);
  r.design.output_valve = &output_valve();
  r.design.output_valve_bias_v = -38;
  r.evaluation.intermodulation = two_tones();
  r.evaluation.level_curve = level_curve();
  r.evaluation.overdrive = overdrive();
  r.evaluation.frequency = frequency();
  r.evaluation.frequency_known = true;
  return r;
}

}  // namespace antiphase::sample
