/// What overall feedback gives, and how stable it is.
#pragma once

#include <algorithm>

#include "objectives/figures/figure.h"

namespace antiphase {

/// A loop without a limit of the kind counts as this much: more than any limit asks for.
inline constexpr double kNoGainLimit_db = 200, kNoPhaseLimit_deg = 180, kNoFeedbackLimit_db = 200;

inline bool feedback_known(const Evaluation& e) {
  return e.feedback.known && e.feedback.reached;
}

template <auto Of>
std::optional<double> of_feedback(const Design&, const Evaluation& e) {
  if (!feedback_known(e)) return std::nullopt;
  return Of(e.feedback);
}

inline constexpr Figure kFeedbackDb{
    .name = "feedback_db",
    .label = "overall feedback",
    .unit = "dB",
    .description =
        "by how much overall feedback lowers the gain at mid-band, with the resistor as it can be bought",
    .direction = Direction::larger,
    .scale = 6,
    .needs = Depth::with_frequency,
    .measure = of_feedback<[](const FeedbackFigures& f) { return f.feedback_db; }>};

inline constexpr Figure kFeedbackSpareDb{
    .name = "feedback_spare_db",
    .label = "gain to spare for the feedback",
    .unit = "dB",
    .description = "gain had over gain needed for the source and the feedback asked for",
    .direction = Direction::larger,
    .scale = 6,
    .needs = Depth::with_frequency,
    .measure = of_feedback<[](const FeedbackFigures& f) { return f.spare_db; }>};

inline constexpr Figure kFeedbackGainMarginDb{
    .name = "feedback_gain_margin_db",
    .label = "gain margin of the feedback",
    .unit = "dB",
    .description = "least gain margin of the loop; 200 dB where its phase never turns round",
    .direction = Direction::larger,
    .scale = 6,
    .needs = Depth::with_frequency,
    .parts = frequency_part::margins,
    .measure = of_feedback<[](const FeedbackFigures& f) {
      return f.margins.gain_margin_db.value_or(kNoGainLimit_db);
    }>};

inline constexpr Figure kFeedbackPhaseMarginDeg{
    .name = "feedback_phase_margin_deg",
    .label = "phase margin of the feedback, degrees",
    .unit = "1",
    .description = "least phase margin of the loop, degrees; 180 where its gain never is 1",
    .direction = Direction::larger,
    .scale = 30,
    .needs = Depth::with_frequency,
    .parts = frequency_part::margins,
    .measure = of_feedback<[](const FeedbackFigures& f) {
      return f.margins.phase_margin_deg.value_or(kNoPhaseLimit_deg);
    }>};

inline constexpr Figure kFeedbackLargestDb{
    .name = "feedback_largest_db",
    .label = "most feedback within the margins",
    .unit = "dB",
    .description =
        "most overall feedback that keeps the margins asked for; 200 dB where there is no end to it",
    .direction = Direction::larger,
    .scale = 6,
    .needs = Depth::with_frequency,
    .parts = frequency_part::margins,
    .measure = of_feedback<[](const FeedbackFigures& f) {
      return std::min(f.largest_db.value_or(kNoFeedbackLimit_db), kNoFeedbackLimit_db);
    }>};

inline constexpr Figure kFeedbackDistortionPct{
    .name = "feedback_distortion_pct",
    .label = "front end's distortion with feedback",
    .unit = "%",
    .description =
        "distortion of output 1 - output 2 at the target over 1 + loop gain; the output stage's own is not "
        "in it",
    .direction = Direction::smaller,
    .scale = 0.1,
    .needs = Depth::with_frequency,
    .measure = [](const Design&, const Evaluation& e) -> std::optional<double> {
      return feedback_known(e) ? e.feedback.distortion_pct : std::nullopt;
    }};

inline constexpr Figure kFeedbackOutputImpedanceOhm{
    .name = "feedback_output_impedance_ohm",
    .label = "impedance at the load with feedback",
    .unit = "ohm",
    .description = "of the output stage as a block, mid-band",
    .direction = Direction::smaller,
    .scale = 1,
    .needs = Depth::with_frequency,
    .measure = of_feedback<[](const FeedbackFigures& f) { return f.output_impedance_ohm; }>};

inline constexpr Figure kFeedbackSensitivityVRms{
    .name = "feedback_sensitivity_v_rms",
    .label = "sensitivity with feedback",
    .unit = "V",
    .description = "rms signal of the source for the target swing with feedback, small signal",
    .direction = Direction::smaller,
    .scale = 0.5,
    .needs = Depth::with_frequency,
    .measure = of_feedback<[](const FeedbackFigures& f) { return f.sensitivity_v_rms; }>};

}  // namespace antiphase
