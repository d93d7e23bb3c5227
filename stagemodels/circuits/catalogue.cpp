#include "stagemodels/circuits/catalogue.h"

#include <array>

namespace antiphase {
namespace {

#define ANTIPHASE_COUNT(name) +1
constexpr std::size_t kKinds = 0 ANTIPHASE_CIRCUITS(ANTIPHASE_COUNT);
#undef ANTIPHASE_COUNT

const std::array<CircuitEntry, kKinds>& catalogue() {
  static const auto all = [] {
    std::array<CircuitEntry, kKinds> made{};
    std::size_t n = 0;
    const auto add = [&](std::string_view name, const CircuitEntry& entry) {
      made[n] = entry;
      made[n].name = name;
      made[n].kind = static_cast<CircuitKind>(n);
      ++n;
    };
#define ANTIPHASE_ADD(name) add(#name, entry::name);
    ANTIPHASE_CIRCUITS(ANTIPHASE_ADD)
#undef ANTIPHASE_ADD
    return made;
  }();
  return all;
}

/// All lists, by kind and form.
constexpr int kBias = 3, kTail = 2, kFeedback = 2, kForms = kBias * kTail * kFeedback;

struct Lists {
  std::array<std::array<Circuit, kForms>, kKinds> of;
  Lists() {
    for (std::size_t kind = 0; kind < kKinds; ++kind)
      for (int n = 0; n < kForms; ++n)
        of[kind][static_cast<std::size_t>(n)] =
            catalogue()[kind].describe({static_cast<BiasForm>(n / (kTail * kFeedback)),
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
  return catalogue();
}

const CircuitEntry& circuit(CircuitKind kind) {
  return catalogue()[static_cast<std::size_t>(kind)];
}

const Sizing& sizing_of(CircuitKind kind) {
  return *circuit(kind).sizing;
}

int sections(CircuitKind kind) {
  static const auto counts = [] {
    std::array<int, kKinds> n{};
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
    std::array<bool, kKinds> n{};
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
