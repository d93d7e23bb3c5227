#include "tests/reference/two_tones.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace antiphase::reference {
namespace {

/// Amplitude of cos(m low) cos(n high) in a wave over both phases, the low one first.
double amplitude(const std::vector<double>& y, const Sweep& sweep, int steps, int m, int n) {
  double sum = 0;
  std::size_t at = 0;
  for (int high = 0; high <= steps; ++high)
    for (int low = 0; low <= steps; ++low, ++at)
      sum += sweep.weights[at] * y[at] * std::cos(m * low * std::numbers::pi / steps) *
             std::cos(n * high * std::numbers::pi / steps);
  return sum * (m > 0 ? 2 : 1) * (n > 0 ? 2 : 1);
}

}  // namespace

std::array<IntermodulationFigures::Products, 3> two_tones(const Design& design, const Rest& rest,
                                                          double low_share, bool close, int steps) {
  CircuitLibrary& library = CircuitLibrary::instance();
  const Sweep sweep = two_half_cycles(steps);
  const bool pair = design.circuit != CircuitKind::common_cathode;
  HeldStage stage(stage_netlist(design, Coupling::held), rest.capacitor_v);
  std::array<std::vector<double>, 3> wave;
  const auto part = [&](std::size_t o, int m, int n) { return amplitude(wave[o], sweep, steps, m, n); };
  const auto level_at = [&](double peak_v) {
    stage.settle_two_tones(low_share * peak_v, (1 - low_share) * peak_v, steps);
    wave[0] = wave[2] = library.real("o1");
    if (pair) {
      wave[1] = library.real("o2");
      for (std::size_t k = 0; k < wave[2].size(); ++k) wave[2][k] -= wave[1][k];
    }
    const auto sum = [&](std::size_t o) { return std::abs(part(o, 1, 0)) + std::abs(part(o, 0, 1)); };
    return pair ? std::min(sum(0), sum(1)) : sum(0);
  };
  // The level is nearly proportional to the drive: secants through nothing, then through the last two.
  double before = 0, level_before = 0, peak_v = 0.1, level = level_at(peak_v);
  constexpr double kSettled = 1e-6;  // of the level
  for (int n = 0; std::abs(level / design.swing_peak_v - 1) > kSettled; ++n) {
    if (n == 20) throw CircuitError("the level of two tones was not found");
    const double next = peak_v + (design.swing_peak_v - level) * (peak_v - before) / (level - level_before);
    before = peak_v;
    level_before = level;
    peak_v = std::clamp(next, 0.5 * peak_v, 10 * peak_v);
    level = level_at(peak_v);
  }

  std::array<IntermodulationFigures::Products, 3> out;
  for (std::size_t o = 0; o < 3; ++o) {
    if (wave[o].empty()) continue;
    IntermodulationFigures::Products& p = out[o];
    if (close) {
      const double tones = std::abs(part(o, 1, 0)) + std::abs(part(o, 0, 1));
      const double second = std::abs(part(o, 1, 1)) / 2;
      const double below = std::abs(part(o, 2, 1)) / 2, above = std::abs(part(o, 1, 2)) / 2;
      p.second_pct = 100 * second / tones;
      p.third_pct = 100 * (below + above) / tones;
      p.total_pct = 100 * std::sqrt(second * second + below * below + above * above) / tones;
    } else {  // each sideband is half of the product of cosines
      const double high = std::abs(part(o, 0, 1));
      const double second = std::abs(part(o, 1, 1)) / 2, third = std::abs(part(o, 2, 1)) / 2;
      p.second_pct = 100 * 2 * second / high;
      p.third_pct = 100 * 2 * third / high;
      p.total_pct = 100 * std::sqrt(2 * second * second + 2 * third * third) / high;
    }
  }
  return out;
}

}  // namespace antiphase::reference
