#include "stagemodels/circuits/catalogue.h"

#include <array>

#include "stagemodels/circuits/common_cathode/circuit.h"
#include "stagemodels/circuits/common_cathode/solver.h"
#include "stagemodels/circuits/gain_and_splitter/circuit.h"
#include "stagemodels/circuits/gain_and_splitter/solver.h"
#include "stagemodels/circuits/long_tailed_pair/circuit.h"
#include "stagemodels/circuits/long_tailed_pair/solver.h"

namespace antiphase {
namespace {

constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};
constexpr std::array kTailForms{TailForm::resistor, TailForm::constant_current};

constexpr std::array kCircuits{
    CircuitEntry{CircuitKind::long_tailed_pair, "long_tailed_pair", "long-tailed pair",
                 "two sections with a common cathode: phase splitter", &pair::circuit, kBiasForms, kTailForms,
                 &pair::make_solver},
    CircuitEntry{CircuitKind::common_cathode,
                 "common_cathode",
                 "common-cathode stage",
                 "one section with a cathode resistor: first gain stage",
                 &gain_stage::circuit,
                 {},
                 {},
                 &gain_stage::make_solver},
    CircuitEntry{CircuitKind::gain_and_splitter, "gain_and_splitter", "gain stage and phase splitter",
                 "a common-cathode stage and the long-tailed pair that it drives, as one circuit",
                 &chain::circuit, kBiasForms, kTailForms, &chain::make_solver},
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
