#include "stagemodels/linear_network.h"

#include <Eigen/LU>
#include <cmath>
#include <numbers>

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

constexpr double kShort_s = 1e4;      // a tenth of a milliohm: no stage notices
constexpr double kNothing_s = 1e-12;  // keeps nodes that a circuit lacks off the singular

}  // namespace

void LinearNetwork::connect(int a, int b, double siemens, double farad) {
  const auto add = [&](int r, int c, double sign) {
    if (r == ground || c == ground) return;
    y_[r][c].siemens += sign * siemens;
    y_[r][c].farad += sign * farad;
  };
  add(a, a, 1);
  add(b, b, 1);
  add(a, b, -1);
  add(b, a, -1);
}

/// A current from `from` to `to` of `siemens` per volt of plus against minus.
void LinearNetwork::transconductance(int from, int to, int plus, int minus, double siemens) {
  const auto add = [&](int row, int column, double value) {
    if (row != ground && column != ground) y_[row][column].siemens += value;
  };
  add(from, plus, siemens);
  add(from, minus, -siemens);
  add(to, plus, -siemens);
  add(to, minus, siemens);
}

LinearNetwork::LinearNetwork(const Design& d, const OperatingPoint& rest) : outputs_(sections(d.circuit)) {
  for (int n = 0; n < kNodes; ++n) connect(n, ground, kNothing_s);
  source_siemens_ = d.source_ohm > 0 ? 1 / d.source_ohm : kShort_s;
  connect(grid_1, ground, source_siemens_);
  for (int i = 0; i < outputs_; ++i) {
    const int grid = grid_1 + i, plate = plate_1 + i, out = out_1 + i;
    const TubeCapacitances& c = d.tube[i]->capacitance;
    const TriodeCurrents at =
        currents_at(d.tube[i]->law(), rest.grid_to_cathode_v[i], rest.plate_to_cathode_v[i]);
    transconductance(plate, cathode, grid, cathode, at.plate_per_grid_s);
    connect(plate, cathode, at.plate_per_plate_s, c.plate_cathode_f);
    connect(grid, cathode, at.grid_per_grid_s, c.grid_cathode_f);
    connect(grid, plate, 0, c.grid_plate_f);
    connect(plate, ground, 1 / d.plate_ohm[i]);
    supply_siemens_[plate] = 1 / d.plate_ohm[i];
    connect(plate, out, d.coupling_f > 0 ? 0 : kShort_s, d.coupling_f);
    connect(out, ground, 1 / d.load_ohm, d.load_f);
  }
  const double leak_s = 1 / d.grid_leak_ohm;
  if (d.circuit == CircuitKind::common_cathode) {
    // The bypass is a short beside its part of the cathode resistor; what is left is bare.
    connect(grid_1, ground, leak_s);
    connect(cathode, ground, d.cathode_unbypassed_ohm > 0 ? 1 / d.cathode_unbypassed_ohm : kShort_s);
    return;
  }
  connect(grid_2, ground, d.grid_bypass_f > 0 ? 0 : kShort_s, d.grid_bypass_f);
  const double tail_s = d.tail.form == TailForm::resistor ? 1 / d.tail.ohm : 1 / d.tail.output_ohm;
  switch (d.bias.form) {
    case BiasForm::self_biased:
      connect(cathode, leak, 1 / d.bias.ohm);
      connect(leak, ground, tail_s);
      connect(grid_1, leak, leak_s);
      connect(grid_2, leak, leak_s);
      break;
    case BiasForm::direct_coupled:
      connect(cathode, ground, tail_s);
      connect(grid_2, grid_1, leak_s);
      break;
    case BiasForm::negative_rail:
      connect(cathode, ground, tail_s);
      connect(grid_1, ground, leak_s);
      connect(grid_2, ground, leak_s);
      break;
  }
}

LinearResponse LinearNetwork::solve(double frequency_hz, const std::array<double, kNodes>& into) const {
  using Matrix = Eigen::Matrix<std::complex<double>, kNodes, kNodes>;
  using Vector = Eigen::Matrix<std::complex<double>, kNodes, 1>;
  const double omega = 2 * std::numbers::pi * frequency_hz;
  Matrix y;
  Vector current;
  for (int r = 0; r < kNodes; ++r) {
    current(r) = into[r];
    for (int c = 0; c < kNodes; ++c) y(r, c) = {y_[r][c].siemens, omega * y_[r][c].farad};
  }
  const Vector v = y.partialPivLu().solve(current);
  LinearResponse out;
  for (int i = 0; i < outputs_; ++i) out.output[i] = v(out_1 + i);
  // what grid 1 takes from the source, per volt that stands on it
  if (into[grid_1] > 0) out.input_siemens = (into[grid_1] - source_siemens_ * v(grid_1)) / v(grid_1);
  return out;
}

LinearResponse LinearNetwork::from_input(double frequency_hz) const {
  std::array<double, kNodes> into{};
  into[grid_1] = source_siemens_;
  return solve(frequency_hz, into);
}

LinearResponse LinearNetwork::from_supply(double frequency_hz) const {
  return solve(frequency_hz, supply_siemens_);
}

FrequencyFigures frequency_figures(const Design& design, const OperatingPoint& rest,
                                   const SmallSignal& small) {
  const LinearNetwork network(design, rest);
  const int outputs = sections(design.circuit);
  FrequencyFigures out;
  for (int i = 0; i < outputs; ++i) {
    // In decades of frequency, how far the response lies above -3 dB of mid-band; mid-band includes the
    // source.
    const double input_share =
        small.input_ohm > 0 ? small.input_ohm / (small.input_ohm + design.source_ohm) : 1;
    const double corner = std::abs(small.gain[i]) * input_share / std::numbers::sqrt2;
    const auto excess = [&](double decade) {
      return std::abs(network.from_input(std::pow(10, decade)).output[i]) - corner;
    };
    constexpr double kMiddle = 3, kStep = 0.25;
    const double low_end = std::log10(FrequencyFigures::kLowest_hz),
                 high_end = std::log10(FrequencyFigures::kHighest_hz);
    if (excess(kMiddle) <= 0) continue;  // no mid-band to speak of at 1 kHz
    for (double at = kMiddle; at > low_end; at -= kStep)
      if (excess(at - kStep) < 0) {
        out.low_corner_hz[i] = std::pow(10, find_root(excess, at - kStep, at, 1e-9).x);
        break;
      }
    for (double at = kMiddle; at < high_end; at += kStep)
      if (excess(at + kStep) < 0) {
        out.high_corner_hz[i] = std::pow(10, find_root(excess, at, at + kStep, 1e-9).x);
        break;
      }
  }
  const LinearResponse ripple = network.from_supply(FrequencyFigures::kRipple_hz);
  for (int i = 0; i < outputs; ++i) out.ripple_v_per_v[i] = std::abs(ripple.output[i]);
  out.ripple_difference_v_per_v = std::abs(ripple.output[0] - ripple.output[1]);
  constexpr std::array<double, 3> kBalance_hz{20, 1e3, 20e3};
  for (std::size_t n = 0; n < kBalance_hz.size(); ++n) {
    out.balance[n].frequency_hz = kBalance_hz[n];
    if (outputs < 2) continue;
    const LinearResponse r = network.from_input(kBalance_hz[n]);
    const double a = std::abs(r.output[0]), b = std::abs(r.output[1]);
    out.balance[n].amplitude_pct = a + b > 0 ? 200 * (a - b) / (a + b) : 0;
    out.balance[n].phase_deg = std::arg(-r.output[0] / r.output[1]) * 180 / std::numbers::pi;
  }
  return out;
}

}  // namespace antiphase
