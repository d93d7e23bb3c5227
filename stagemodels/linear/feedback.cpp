#include "stagemodels/linear/feedback.h"

#include <cmath>
#include <functional>
#include <numbers>

#include "stagemodels/linear/loop_margins.h"
#include "stagemodels/linear/network.h"
#include "stagemodels/output/transformer_response.h"

namespace antiphase {
namespace {

using Complex = std::complex<double>;

constexpr double kMiddle_hz = 1e3;
constexpr double kLeast_ohm = 1, kMost_ohm = 100e6;  // of a feedback resistor

/// What the output stage makes of the two outputs, mid-band.
/// `sign`: of output 1. A second inversion ahead of the splitter is met by changing the transformer's ends.
Complex pushed(const LinearResponse& r, int sign) {
  return 0.5 * sign * (r.output[0] - r.output[1]);
}
int sign_of(const Design& d) {
  return circuit_of(d).output[0].sign;
}

/// The output stage against frequency: a gain and the transformer's elements where they are given, otherwise
/// two simple poles.
class OutputStageResponse {
 public:
  explicit OutputStageResponse(const Design& d)
      : f_(d.feedback), transformer_(d.output_stage.pair.transformer) {
    if (has_output_stage(d) && has_reactances(transformer_))
      response_.emplace(transformer_, plates_ohm(transformer_, f_.output_impedance_ohm));
  }
  Complex at(double hz) const {
    Complex h = f_.output_gain;
    if (response_) return h * response_->at(hz);
    if (f_.low_hz > 0) h /= Complex(1, -f_.low_hz / hz);
    if (f_.high_hz > 0) h /= Complex(1, hz / f_.high_hz);
    return h;
  }

 private:
  const Feedback& f_;
  const OutputTransformer& transformer_;
  std::optional<TransformerResponse> response_;
};

LinearNetwork mid_band_network(const Design& d, const OperatingPoint& rest, double ohm) {
  return LinearNetwork::with_feedback(d, rest, ohm, LinearNetwork::Capacitances::mid_band);
}

double loop_gain(const Design& d, const OperatingPoint& rest, double ohm) {
  return -d.feedback.output_gain *
         pushed(mid_band_network(d, rest, ohm).from_feedback(kMiddle_hz), sign_of(d)).real();
}

/// The resistance that the feedback resistor comes in across: the part of the cathode resistor that stands
/// between its near end and ground. 0: none.
double injection_ohm(const Design& d) {
  const Circuit& circuit = circuit_of(d);
  for (const Element& feedback : circuit)
    if (feedback.role == Role::feedback)
      for (const Element& part : circuit)
        if (part.role == Role::cathode_unbypassed && part.a == feedback.b) return part.value(d);
  return 0;
}

double decibels(double ratio) {
  return 20 * std::log10(ratio);
}

/// Margins and curve of the loop; `t`: its gain at mid-band.
void follow_loop(const Design& d, const OperatingPoint& rest, double t, FrequencyParts parts,
                 FeedbackFigures& out) {
  const Feedback& f = d.feedback;
  const LinearNetwork network =
      LinearNetwork::with_feedback(d, rest, out.resistor_ohm, LinearNetwork::Capacitances::all);
  const Transfer to_outputs = network.feedback_transfer();
  const OutputStageResponse output_stage(d);
  const auto loop_at = [&](std::span<const double> hz, std::span<Complex> loop) {
    to_outputs.at(hz, loop);
    for (std::size_t n = 0; n < hz.size(); ++n) loop[n] *= -output_stage.at(hz[n]);
  };
  if ((parts & frequency_part::margins) != 0)
    out.margins =
        loop_margins(std::cref(loop_at), kMiddle_hz, {f.least_gain_margin_db, f.least_phase_margin_deg});
  if (out.margins.room) out.largest_db = decibels(1 + t * *out.margins.room);
  if ((parts & frequency_part::curves) == 0) return;
  std::array<double, FrequencyFigures::kCurvePoints> hz;
  for (int n = 0; n < FrequencyFigures::kCurvePoints; ++n)
    hz[n] = FrequencyFigures::kCurveLow_hz * std::pow(10, 0.1 * n);
  loop_at(hz, out.loop);
}

}  // namespace

std::optional<double> feedback_resistor(const Design& d, const OperatingPoint& rest) {
  if (!(injection_ohm(d) > 0) || !(d.feedback.wanted_db > 0)) return std::nullopt;
  const double wanted = std::pow(10, d.feedback.wanted_db / 20) - 1;
  // The resistor and the network that it meets divide the load's voltage, so that 1 / T is a straight line
  // in R_f: two of its points give it all.
  constexpr double kFirst_ohm = 1, kSecond_ohm = 1e4;
  const double at_first = 1 / loop_gain(d, rest, kFirst_ohm), at_second = 1 / loop_gain(d, rest, kSecond_ohm);
  const double ohm =
      kFirst_ohm + (1 / wanted - at_first) * (kSecond_ohm - kFirst_ohm) / (at_second - at_first);
  if (!(at_first > 0 && at_second > at_first && ohm >= kLeast_ohm && ohm <= kMost_ohm)) return std::nullopt;
  return ohm;
}

void feedback_figures(const Design& d, const OperatingPoint& rest, const SteadyState& target,
                      FrequencyParts parts, FeedbackFigures& out) {
  out = FeedbackFigures{};
  const Feedback& f = d.feedback;
  out.injection_ohm = injection_ohm(d);
  if (!(out.injection_ohm > 0)) return;

  const std::optional<double> wanted_ohm = f.resistor_ohm > 0 ? f.resistor_ohm : feedback_resistor(d, rest);
  out.reached = wanted_ohm.has_value();
  out.resistor_ohm = wanted_ohm.value_or(kLeast_ohm);

  const LinearNetwork mid = mid_band_network(d, rest, out.resistor_ohm);
  const double t = -f.output_gain * pushed(mid.from_feedback(kMiddle_hz), sign_of(d)).real();
  const double had = pushed(mid.from_input(kMiddle_hz), sign_of(d)).real();
  out.loop_gain = t;
  out.feedback_db = decibels(1 + t);
  out.gain_had = had;
  out.gain_needed = (1 + t) * d.swing_peak_v / (std::numbers::sqrt2 * f.source_v_rms);
  out.spare_db = decibels(out.gain_had / out.gain_needed);
  out.open_gain = had * f.output_gain;
  out.closed_gain = out.open_gain / (1 + t);
  out.sensitivity_v_rms = d.swing_peak_v * (1 + t) / (std::numbers::sqrt2 * had);
  if (target.solved == Solved::yes) out.distortion_pct = target.thd_differential_pct / (1 + t);
  // Blackman: no loop gain is left with the load shorted; with it taken away there is more.
  const double unloaded_t = t * (f.load_ohm + f.output_impedance_ohm) / f.load_ohm;
  out.output_impedance_ohm = f.output_impedance_ohm / (1 + unloaded_t);

  if ((parts & (frequency_part::margins | frequency_part::curves)) != 0) follow_loop(d, rest, t, parts, out);
  out.known = t > 0 && had > 0 && std::isfinite(out.spare_db) && std::isfinite(out.closed_gain) &&
              std::isfinite(out.output_impedance_ohm);
}

}  // namespace antiphase
