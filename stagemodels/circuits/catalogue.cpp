#include "stagemodels/circuits/catalogue.h"

#include <array>

#include "stagemodels/circuits/common_cathode.h"
#include "stagemodels/circuits/common_cathode/circuit.h"
#include "stagemodels/circuits/gain_and_splitter.h"
#include "stagemodels/circuits/gain_and_splitter/circuit.h"
#include "stagemodels/circuits/long_tailed_pair.h"
#include "stagemodels/hand_estimate.h"
#include "stagemodels/linear/feedback.h"
#include "stagemodels/linear/frequency_figures.h"
#include "stagemodels/solve/analysis.h"
#include "stagemodels/solve/overdrive.h"

namespace antiphase {
namespace {

double parallel_ohm(double a, double b) {
  return a * b / (a + b);
}

void add_hand_estimates(const Design& design, Evaluation& out) {
  const OperatingPoint& at = out.operating_point;
  const double load = parallel_ohm(design.plate_ohm[0], design.load_ohm);
  const TriodeLaw& law = design.tube[0]->law(design.law);
  out.hand_at_rest_point = hand_estimate(
      law, {at.plate_to_cathode_v[0] + at.plate_current_a[0] * load, load, at.plate_current_a[0]},
      design.swing_peak_v);
  out.hand_from_supply =
      hand_estimate(law, {at.supply_v - at.cathode_v, load, at.plate_current_a[0]}, design.swing_peak_v);
}

/// A circuit in its two kinds of surroundings; Fine: for output valves' grids that conduct.
template <class Ideal, class Real, class Fine>
struct Both {
  template <class One>
  static void evaluate_in(const Design& design, Depth depth, Evaluation& out, const GoOn& go_on) {
    const auto end_at = [&](Depth reached) { return depth <= reached || (go_on && !go_on(reached)); };
    Analysis<One> analysis(design);
    analysis.rest(out.operating_point);
    if (out.operating_point.solved != Solved::yes || end_at(Depth::rest)) return;
    analysis.small_signal(out.operating_point, out.small_signal);
    if (end_at(Depth::small_signal)) return;
    analysis.at_target(out.at_target, out.waveforms);
    if (end_at(Depth::at_target)) return;
    analysis.clean_swing(out.operating_point, out.at_target, false, out.clean);
    if (depth < Depth::with_frequency) return;
    out.frequency_known =
        frequency_figures(design, out.operating_point, depth >= Depth::everything, out.frequency);
    if (has_feedback(design))
      feedback_figures(design, out.operating_point, out.at_target, depth >= Depth::everything, out.feedback);
    if (depth < Depth::with_hand) return;
    add_hand_estimates(design, out);
    if (depth < Depth::everything) return;
    analysis.intermodulation(out.intermodulation);
    analysis.level_curve(out.at_target, out.level_curve);
    overdrive<Real, Fine>(design, out, out.overdrive);
  }

  static void evaluate(const Design& design, Depth depth, Evaluation& out, const GoOn& go_on) {
    out.small_signal = SmallSignal{};
    out.at_target = SteadyState{};
    out.clean = CleanSwing{};
    out.hand_at_rest_point = out.hand_from_supply = HandEstimate{};
    out.waveforms.instants = 0;
    out.frequency_known = out.feedback.known = false;
    out.intermodulation.solved = out.level_curve.solved = out.overdrive.solved = Solved::not_run;
    if (surroundings_of(design) == Surroundings::ideal)
      evaluate_in<Ideal>(design, depth, out, go_on);
    else
      evaluate_in<Real>(design, depth, out, go_on);
  }

  template <class One>
  static SteadyState at_drive_in(const Design& design, double input_peak_v, Waveforms& waves) {
    Analysis<One> analysis(design);
    OperatingPoint at;
    SmallSignal small;
    SteadyState out;
    analysis.rest(at);
    out.solved = at.solved;
    if (at.solved != Solved::yes) return out;
    analysis.small_signal(at, small);
    analysis.follow(input_peak_v, out, waves);
    return out;
  }

  static SteadyState at_drive(const Design& design, double input_peak_v, Waveforms& waves) {
    return surroundings_of(design) == Surroundings::ideal ? at_drive_in<Ideal>(design, input_peak_v, waves)
                                                          : at_drive_in<Real>(design, input_peak_v, waves);
  }
};

using PairSolvers = Both<LongTailedPair<Surroundings::ideal>, LongTailedPair<Surroundings::real>,
                         LongTailedPair<Surroundings::real, kFineInstants>>;
using GainStageSolvers = Both<CommonCathode<Surroundings::ideal>, CommonCathode<Surroundings::real>,
                              CommonCathode<Surroundings::real>>;

using ChainSolvers = Both<GainAndSplitter<Surroundings::ideal>, GainAndSplitter<Surroundings::real>,
                          GainAndSplitter<Surroundings::real, kFineInstants>>;

constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};
constexpr std::array kTailForms{TailForm::resistor, TailForm::constant_current};

constexpr std::array kCircuits{
    CircuitEntry{CircuitKind::long_tailed_pair, "long_tailed_pair", "long-tailed pair",
                 "two sections with a common cathode: phase splitter", &pair::circuit, kBiasForms, kTailForms,
                 &PairSolvers::evaluate, &PairSolvers::at_drive},
    CircuitEntry{CircuitKind::common_cathode,
                 "common_cathode",
                 "common-cathode stage",
                 "one section with a cathode resistor: first gain stage",
                 &gain_stage::circuit,
                 {},
                 {},
                 &GainStageSolvers::evaluate,
                 &GainStageSolvers::at_drive},
    CircuitEntry{CircuitKind::gain_and_splitter, "gain_and_splitter", "gain stage and phase splitter",
                 "a common-cathode stage and the long-tailed pair that it drives, as one circuit",
                 &chain::circuit, kBiasForms, kTailForms, &ChainSolvers::evaluate, &ChainSolvers::at_drive},
};

/// All lists, by kind and form.
constexpr int kBias = 3, kTail = 2, kFeedback = 2, kForms = kBias * kTail * kFeedback;

struct Lists {
  std::array<std::array<Circuit, kForms>, kCircuits.size()> of;
  Lists() {
    for (std::size_t kind = 0; kind < kCircuits.size(); ++kind)
      for (int n = 0; n < kForms; ++n)
        of[kind][static_cast<std::size_t>(n)] =
            kCircuits[kind].describe({static_cast<BiasForm>(n / (kTail * kFeedback)),
                                      static_cast<TailForm>(n / kFeedback % kTail), n % kFeedback == 1});
  }
};

/// Of a form of the circuit: what all its forms have in common.
const Circuit& any_form(CircuitKind kind) {
  Design d;
  d.circuit = kind;
  return circuit_of(d);
}

}  // namespace

const Circuit& circuit_of(const Design& d) {
  static const Lists lists;
  const int form = (static_cast<int>(d.bias.form) * kTail + static_cast<int>(d.tail.form)) * kFeedback +
                   (d.feedback.given ? 1 : 0);
  return lists.of[static_cast<std::size_t>(d.circuit)][static_cast<std::size_t>(form)];
}

std::span<const CircuitEntry> circuits() {
  return kCircuits;
}

const CircuitEntry& circuit(CircuitKind kind) {
  return kCircuits[static_cast<std::size_t>(kind)];
}

int sections(CircuitKind kind) {
  static const auto counts = [] {
    std::array<int, kCircuits.size()> n{};
    for (std::size_t k = 0; k < n.size(); ++k)
      n[k] = any_form(static_cast<CircuitKind>(k)).section(1) ? 2 : 1;
    return n;
  }();
  return counts[static_cast<std::size_t>(kind)];
}

int outputs(CircuitKind kind) {
  return any_form(kind).outputs;
}

bool has_first_stage(CircuitKind kind) {
  static const auto has = [] {
    std::array<bool, kCircuits.size()> n{};
    for (std::size_t k = 0; k < n.size(); ++k)
      n[k] = any_form(static_cast<CircuitKind>(k)).section(2) != nullptr;
    return n;
  }();
  return has[static_cast<std::size_t>(kind)];
}

bool grids_given(const Design& d) {
  for (const Element& e : circuit_of(d))
    if (e.kind == ElementKind::driven) return e.member != nullptr;
  return false;
}

}  // namespace antiphase
