#include "stagemodels/linear/frequency_figures.h"

#include <cmath>
#include <numbers>

#include "stagemodels/linear/corners.h"
#include "stagemodels/linear/noise.h"

namespace antiphase {
namespace {

constexpr std::array<double, 3> kBalance_hz{20, 1e3, 20e3};
constexpr double kInput_hz = 20e3;

FrequencyPoint point_of(const LinearResponse& r, int outputs, double frequency_hz) {
  FrequencyPoint p;
  p.frequency_hz = frequency_hz;
  p.gain = r.output;
  p.input_ohm = r.input_ohm;
  const double a = std::abs(r.output[0]), b = std::abs(r.output[1]);
  if (outputs == 2 && a > 0 && b > 0) {
    p.balance_pct = 200 * (a - b) / (a + b);
    p.opposite_deg = std::arg(-r.output[0] / r.output[1]) * 180 / std::numbers::pi;
  }
  return p;
}

bool is_finite(const FrequencyPoint& p) {
  return std::isfinite(std::norm(p.gain[0])) && std::isfinite(std::norm(p.gain[1])) &&
         std::isfinite(p.balance_pct) && std::isfinite(p.opposite_deg) &&
         std::isfinite(std::norm(p.input_ohm));
}

}  // namespace

FrequencyPoint frequency_point(const LinearNetwork& network, double frequency_hz) {
  return point_of(network.from_input(frequency_hz), network.outputs(), frequency_hz);
}

bool frequency_figures(const Design& design, const OperatingPoint& rest, FrequencyParts parts,
                       FrequencyFigures& out) {
  const auto asked = [parts](FrequencyParts part) { return (parts & part) != 0; };
  out = FrequencyFigures{};
  const Pair mid_band = mid_band_gain(design, rest);
  const LinearNetwork network(design, rest);
  for (int i = 0; i < network.outputs(); ++i)
    if (!(std::isfinite(mid_band[i]) && mid_band[i] != 0)) return false;
  const Corners corners = find_corners(
      network, mid_band, {asked(frequency_part::low_corner), asked(frequency_part::high_corner)});
  if (!corners.has_band) return false;
  out.low_corner_hz = corners.low_hz;
  out.high_corner_hz = corners.high_hz;

  bool finite = true;
  for (std::size_t n = 0; n < kBalance_hz.size() && asked(frequency_part::balance); ++n) {
    const LinearResponse r = network.from_input(kBalance_hz[n]);
    const FrequencyPoint p = point_of(r, network.outputs(), kBalance_hz[n]);
    out.balance[n] = {p.frequency_hz, p.balance_pct, p.opposite_deg};
    finite = finite && is_finite(p);
    if (kBalance_hz[n] == kInput_hz) out.input_f = r.grid_siemens.imag() / (2 * std::numbers::pi * kInput_hz);
  }
  if (asked(frequency_part::ripple)) {
    const LinearResponse ripple = network.from_supply(FrequencyFigures::kRipple_hz);
    for (int i = 0; i < network.outputs(); ++i) out.ripple_v_per_v[i] = std::abs(ripple.output[i]);
    out.ripple_difference_v_per_v = std::abs(ripple.output[0] - ripple.output[1]);
  }
  if (asked(frequency_part::noise)) out.noise = noise_figures(network, mid_band, design.swing_peak_v);
  finite = finite && std::isfinite(out.input_f) && std::isfinite(out.ripple_v_per_v[0]) &&
           std::isfinite(out.ripple_v_per_v[1]) && std::isfinite(out.noise.difference_v_rms) &&
           std::isfinite(out.noise.output_v_rms[0]) && std::isfinite(out.noise.output_v_rms[1]) &&
           std::isfinite(out.noise.input_v_rms);
  if (!asked(frequency_part::curves)) return finite;
  constexpr double kDecades = 7;
  static_assert(FrequencyFigures::kCurveHigh_hz / FrequencyFigures::kCurveLow_hz == 1e7);
  for (int n = 0; n < FrequencyFigures::kCurvePoints; ++n) {
    const double decade = kDecades * n / (FrequencyFigures::kCurvePoints - 1);
    out.curve[n] = frequency_point(network, FrequencyFigures::kCurveLow_hz * std::pow(10, decade));
    finite = finite && is_finite(out.curve[n]);
  }
  return finite;
}

}  // namespace antiphase
