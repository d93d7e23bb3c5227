#include "stagemodels/circuits/catalogue.h"

#include <array>

#include "stagemodels/circuits/common_cathode.h"
#include "stagemodels/circuits/long_tailed_pair.h"
#include "stagemodels/hand_estimate.h"
#include "stagemodels/linear_network.h"
#include "stagemodels/solve/analysis.h"

namespace antiphase {
namespace {

double parallel_ohm(double a, double b) {
  return a * b / (a + b);
}

void add_hand_estimates(const Design& design, Evaluation& out) {
  const OperatingPoint& at = out.operating_point;
  const double load = parallel_ohm(design.plate_ohm[0], design.load_ohm);
  const TriodeLaw& law = design.tube[0]->law();
  out.hand_at_rest_point = hand_estimate(
      law, {at.plate_to_cathode_v[0] + at.plate_current_a[0] * load, load, at.plate_current_a[0]},
      design.swing_peak_v);
  out.hand_from_supply =
      hand_estimate(law, {design.supply_v - at.cathode_v, load, at.plate_current_a[0]}, design.swing_peak_v);
}

template <class Circuit>
void evaluate_circuit(const Design& design, Depth depth, Evaluation& out) {
  out.small_signal = SmallSignal{};
  out.at_target = SteadyState{};
  out.clean = CleanSwing{};
  out.hand_at_rest_point = out.hand_from_supply = HandEstimate{};
  out.waveforms.instants = 0;
  out.frequency_known = false;
  Analysis<Circuit> analysis(design);
  analysis.rest(out.operating_point);
  if (out.operating_point.solved != Solved::yes || depth < Depth::small_signal) return;
  analysis.small_signal(out.operating_point, out.small_signal);
  if (depth < Depth::at_target) return;
  analysis.at_target(out.small_signal, out.at_target, out.waveforms);
  if (depth < Depth::full) return;
  analysis.clean_swing(out.operating_point, out.small_signal, out.at_target, out.clean);
  if (depth >= Depth::with_hand) add_hand_estimates(design, out);
  if (depth >= Depth::everything) {
    out.frequency = frequency_figures(design, out.operating_point, out.small_signal);
    out.frequency_known = true;
  }
}

template <class Circuit>
SteadyState circuit_at_drive(const Design& design, double input_peak_v, Waveforms& waves) {
  Analysis<Circuit> analysis(design);
  OperatingPoint at;
  SmallSignal small;
  SteadyState out;
  analysis.rest(at);
  if (at.solved != Solved::yes) {
    out.solved = at.solved;
    return out;
  }
  analysis.small_signal(at, small);
  analysis.at_drive(input_peak_v, out, waves);
  return out;
}

template <class Circuit>
constexpr CircuitEntry entry(CircuitKind kind, std::string_view label, std::string_view says) {
  return {kind, label, says, &evaluate_circuit<Circuit>, &circuit_at_drive<Circuit>};
}

constexpr std::array kCircuits{
    entry<LongTailedPair>(CircuitKind::long_tailed_pair, "long-tailed pair",
                          "two sections with a common cathode: phase splitter"),
    entry<CommonCathode>(CircuitKind::common_cathode, "common-cathode stage",
                         "one section with a cathode resistor: first gain stage"),
};

}  // namespace

std::span<const CircuitEntry> circuits() {
  return kCircuits;
}

const CircuitEntry& circuit(CircuitKind kind) {
  return kCircuits[static_cast<std::size_t>(kind)];
}

}  // namespace antiphase
