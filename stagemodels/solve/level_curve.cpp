// Distortion against level, each drive solved from the one before.
#include <algorithm>
#include <cmath>

#include "stagemodels/solve/analysis.h"

namespace antiphase {

void Analysis::level_curve(const SteadyState& target, LevelCurve& out) {
  out = LevelCurve{};
  const double gain = least_gain();
  if (!(gain > kLeastGain)) {
    out.solved = Solved::no_signal;
    return;
  }
  // One point of the curve is the target itself, where there is one.
  const bool reached = target.solved == Solved::yes;
  const double at_target = reached ? target.input_peak_v : design_.swing_peak_v / gain;
  const double step = std::pow(10, LevelCurve::kStep_db / 20);
  double drive = at_target * std::pow(10, LevelCurve::kLowest_db / 20);
  followed_drive_ = 0;
  Waveforms waves;
  SteadyState now;
  for (out.count = 0; out.count < LevelCurve::kMostPoints; drive *= step) {
    if (!follow(drive, now, waves)) {
      out.ended = now.solved;
      break;
    }
    LevelPoint& p = out.point[static_cast<std::size_t>(out.count++)];
    p.input_peak_v = drive;
    p.output_peak_v = now.output_peak_v;
    p.thd_pct = now.thd_pct;
    p.thd_differential_pct = now.thd_differential_pct;
    double level = now.output_peak_v[0];
    for (int o = 0; o < form_.outputs; ++o) {
      level = std::fmin(level, now.output_peak_v[o]);
      p.second_pct[o] = now.harmonic_pct(o, 2);
      p.third_pct[o] = now.harmonic_pct(o, 3);
    }
    p.level_db = 20 * std::log10(std::fmax(level, 1e-12) / design_.swing_peak_v);
    if (*std::max_element(p.thd_pct.begin(), p.thd_pct.begin() + form_.outputs) >= LevelCurve::kClipped_pct)
      break;
  }
  // A curve that ends early still says what it says; one without a point says nothing.
  if (out.ended == Solved::not_run) out.ended = Solved::yes;
  out.solved = out.count > 0 ? Solved::yes : Solved::no_convergence;
}

}  // namespace antiphase
