#include "stagemodels/output/transformer_response.h"

#include <cmath>
#include <numbers>

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

using Complex = std::complex<double>;

constexpr double kMiddle_hz = 1e3, kLowest_hz = 0.1, kHighest_hz = 1e7;
constexpr int kSteps = 40;  // a decade

}  // namespace

TransformerResponse::TransformerResponse(const OutputTransformer& transformer, double plates_ohm)
    : t_(transformer), plates_ohm_(plates_ohm) {
  const double ratio = t_.turns_ratio();
  load_ohm_ = t_.plate_to_plate_ohm;
  secondary_ohm_ = ratio * ratio * t_.secondary_ohm;
  mid_band_ = 1 / (1 / load_ohm_ + (1 + (secondary_ohm_ + t_.primary_ohm) / load_ohm_) / plates_ohm_);
}

Complex TransformerResponse::at(double hz) const {
  const Complex s(0, 2 * std::numbers::pi * hz);
  // From the load backwards, for one volt there; the valves are a current with their resistance across.
  const Complex load_a = 1 / load_ohm_ + s * t_.secondary_f;
  const Complex middle_v = 1.0 + load_a * (secondary_ohm_ + 0.5 * s * t_.leakage_h);
  Complex middle_a = load_a;
  if (t_.primary_h > 0) middle_a += middle_v / (s * t_.primary_h);
  const Complex plates_v = middle_v + middle_a * (t_.primary_ohm + 0.5 * s * t_.leakage_h);
  const Complex source_a = middle_a + plates_v * (s * t_.primary_f + 1 / plates_ohm_);
  return 1.0 / (source_a * mid_band_);
}

bool has_reactances(const OutputTransformer& t) {
  return t.primary_h > 0 || t.leakage_h > 0 || t.primary_f > 0 || t.secondary_f > 0;
}

double plates_ohm(const OutputTransformer& t, double output_impedance_ohm) {
  const double ratio = t.turns_ratio();
  return ratio * ratio * (output_impedance_ohm - t.secondary_ohm) - t.primary_ohm;
}

TransformerBand band_of(const TransformerResponse& response) {
  constexpr double kDown = 0.5;  // of the power
  const auto above = [&](double ln_hz) { return std::norm(response.at(std::exp(ln_hz))) - kDown; };
  TransformerBand out;
  out.peak_hz = kMiddle_hz;
  const auto walk = [&](double end_hz, std::optional<double>& corner) {
    const double step = std::copysign(std::log(10.0) / kSteps, end_hz - kMiddle_hz);
    double from = std::log(kMiddle_hz);
    const int count = static_cast<int>(std::lround(std::log(end_hz / kMiddle_hz) / step));
    for (int n = 0; n < count; ++n, from += step) {
      const double size_db = 10 * std::log10(above(from + step) + kDown);
      if (size_db > out.peak_db) {
        out.peak_db = size_db;
        out.peak_hz = std::exp(from + step);
      }
      if (!corner && above(from) > 0 && above(from + step) <= 0)
        corner = std::exp(find_root(above, from, from + step, 1e-10).x);
    }
  };
  walk(kLowest_hz, out.low_hz);
  walk(kHighest_hz, out.high_hz);
  return out;
}

}  // namespace antiphase
