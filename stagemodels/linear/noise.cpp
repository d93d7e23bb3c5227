#include "stagemodels/linear/noise.h"

#include <cmath>
#include <numbers>

namespace antiphase {
namespace {

struct Knot {
  double at, weight;
};
/// The positive half of the rule on -1 … 1. Abramowitz & Stegun, Handbook of Mathematical Functions,
/// table 25.4.
constexpr std::array kGauss16{
    Knot{0.0950125098376374, 0.1894506104550685}, Knot{0.2816035507792589, 0.1826034150449236},
    Knot{0.4580167776572274, 0.1691565193950025}, Knot{0.6178762444026438, 0.1495959888165767},
    Knot{0.7554044083550030, 0.1246289712555339}, Knot{0.8656312023878318, 0.0951585116824928},
    Knot{0.9445750230732326, 0.0622535239386479}, Knot{0.9894009349916499, 0.0271524594117541},
};

double decibels(double over, double under) {
  return under > 0 ? 20 * std::log10(over / under) : 0;
}

}  // namespace

NoiseDensity noise_density(const LinearNetwork& network, double frequency_hz) {
  const std::array<NodeVoltages, 2> volts = network.to_outputs(frequency_hz);
  NoiseDensity sum;
  for (const NoiseCurrent& n : network.noise_currents()) {
    const std::complex<double> first = volts[0][n.to] - volts[0][n.from],
                               second = volts[1][n.to] - volts[1][n.from];
    sum.output[0] += n.density * std::norm(first);
    sum.output[1] += n.density * std::norm(second);
    sum.difference += n.density * std::norm(first - second);
  }
  return sum;
}

NoiseDensity noise_power(const LinearNetwork& network) {
  const double low = std::log(NoiseFigures::kLow_hz), high = std::log(NoiseFigures::kHigh_hz);
  const double middle = 0.5 * (low + high), half = 0.5 * (high - low);
  NoiseDensity sum;
  for (const Knot& knot : kGauss16)
    for (const double side : {-1.0, 1.0}) {
      const double frequency_hz = std::exp(middle + side * knot.at * half);
      const NoiseDensity here = noise_density(network, frequency_hz);
      const double width_hz = knot.weight * half * frequency_hz;  // df = f d(ln f)
      for (int i = 0; i < 2; ++i) sum.output[i] += width_hz * here.output[i];
      sum.difference += width_hz * here.difference;
    }
  return sum;
}

NoiseFigures noise_figures(const LinearNetwork& network, const Pair& mid_band, double swing_peak_v) {
  const NoiseDensity power = noise_power(network);
  const double target_rms = swing_peak_v / std::numbers::sqrt2;
  NoiseFigures out;
  for (int i = 0; i < network.outputs(); ++i) {
    out.output_v_rms[i] = std::sqrt(power.output[i]);
    out.below_target_db[i] = decibels(target_rms, out.output_v_rms[i]);
  }
  out.difference_v_rms = std::sqrt(power.difference);
  out.difference_below_target_db = decibels(network.outputs() * target_rms, out.difference_v_rms);
  const double gain = std::abs(mid_band[0] - mid_band[1]);
  if (gain > 0) out.input_v_rms = out.difference_v_rms / gain;
  return out;
}

}  // namespace antiphase
