#include "stagemodels/evaluate.h"

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/hand_estimate.h"
#include "stagemodels/linear/feedback.h"
#include "stagemodels/linear/frequency_figures.h"
#include "stagemodels/output/whole_amplifier.h"
#include "stagemodels/solve/analysis.h"
#include "stagemodels/solve/overdrive.h"

namespace antiphase {
namespace {

double parallel_ohm(double a, double b) {
  return a * b / (a + b);
}

/// The pencil's answers beside the solved ones: once from the solved rest point, once from the supply. The
/// pencil holds the cathode still, so it has none where an output is taken there.
void add_hand_estimates(const Design& design, Evaluation& out) {
  for (const Element& e : circuit_of(design))
    if (e.role == Role::cathode_load) return;
  const OperatingPoint& at = out.operating_point;
  const double load = parallel_ohm(design.plate_ohm[0], design.load_ohm);
  const TriodeLaw& law = design.tube[0]->law(design.law);
  out.hand_at_rest_point = hand_estimate(
      law, {at.plate_to_cathode_v[0] + at.plate_current_a[0] * load, load, at.plate_current_a[0]},
      design.swing_peak_v);
  out.hand_from_supply =
      hand_estimate(law, {at.supply_v - at.cathode_v, load, at.plate_current_a[0]}, design.swing_peak_v);
}

void forget(Evaluation& out) {
  out.small_signal = SmallSignal{};
  out.at_target = SteadyState{};
  out.clean = CleanSwing{};
  out.hand_at_rest_point = out.hand_from_supply = HandEstimate{};
  out.waveforms.instants = 0;
  out.frequency_known = out.feedback.known = false;
  out.intermodulation.solved = out.level_curve.solved = out.overdrive.solved = Solved::not_run;
  out.output_stage.pair.rest.solved = Solved::not_run;
}

}  // namespace

void evaluate(const Design& design, Depth depth, Evaluation& out, const GoOn& go_on) {
  const auto end_at = [&](Depth reached) { return depth <= reached || (go_on && !go_on(reached)); };
  forget(out);
  Analysis analysis(design, surroundings_of(design));

  analysis.rest(out.operating_point);
  if (out.operating_point.solved != Solved::yes || end_at(Depth::rest)) return;

  analysis.small_signal(out.small_signal);
  if (end_at(Depth::small_signal)) return;

  analysis.at_target(out.at_target, out.waveforms);
  if (end_at(Depth::at_target)) return;

  constexpr bool kGridsMayConduct = false;
  analysis.clean_swing(out.operating_point, out.at_target, kGridsMayConduct, out.clean);
  if (depth < Depth::with_frequency) return;

  const FrequencyParts parts =
      depth >= Depth::everything ? frequency_part::all : frequency_part::all_but_curves;
  out.frequency_known = frequency_figures(design, out.operating_point, parts, out.frequency);
  if (has_feedback(design)) feedback_figures(design, out.operating_point, out.at_target, parts, out.feedback);
  if (depth < Depth::with_hand) return;

  add_hand_estimates(design, out);
  if (depth < Depth::everything) return;

  analysis.intermodulation(out.intermodulation);
  analysis.level_curve(out.at_target, out.level_curve);
  overdrive(design, out, out.overdrive);
  if (has_output_stage(design)) output_stage_figures(design, out, out.output_stage);
}

void evaluate(const Design& design, Depth depth, Evaluation& out) {
  evaluate(design, depth, out, {});
}

SteadyState steady_state_at_drive(const Design& design, double input_peak_v, Waveforms* waveforms) {
  Waveforms unwanted;
  SteadyState out;
  OperatingPoint at;
  SmallSignal small;
  Analysis analysis(design, surroundings_of(design));
  analysis.rest(at);
  out.solved = at.solved;
  if (at.solved != Solved::yes) return out;
  analysis.small_signal(small);
  analysis.follow(input_peak_v, out, waveforms ? *waveforms : unwanted);
  return out;
}

}  // namespace antiphase
