#include "stagemodels/design_fields.h"

#include <algorithm>
#include <array>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

template <class Enum, std::size_t N>
std::optional<Enum> named(const std::array<std::string_view, N>& names, std::string_view name) {
  const auto it = std::find(names.begin(), names.end(), name);
  if (it == names.end()) return std::nullopt;
  return static_cast<Enum>(it - names.begin());
}

constexpr std::array<std::string_view, 3> kBiasForms{"self_biased", "direct_coupled", "negative_rail"};
constexpr std::array<std::string_view, 2> kTailForms{"resistor", "constant_current"};
constexpr std::array<std::string_view, 3> kDriverForms{"none", "cathode_followers", "long_tailed_pair"};
constexpr std::array<std::string_view, 7> kGainForms{"triode", "constant_current", "cascode", "mu_follower",
                                                     "srpp",   "two_triodes",      "pentode"};
constexpr std::array<std::string_view, 2> kOutputBiases{"fixed", "cathode"};

}  // namespace

std::span<const DesignField> design_fields() {
  return member::kAll;
}

bool DesignField::applies(const Design& d) const {
  const Circuit& c = circuit_of(d);
  for (const Element& e : c)
    if (e.member == this && e.there(d)) return true;
  return std::find(c.extra.begin(), c.extra.begin() + c.extras, this) != c.extra.begin() + c.extras;
}

const DesignField* find_design_field(std::string_view pointer) {
  const auto it = std::find_if(member::kAll.begin(), member::kAll.end(),
                               [&](const DesignField& f) { return f.pointer == pointer; });
  return it == member::kAll.end() ? nullptr : &*it;
}

std::string_view name_of(CircuitKind k) {
  return circuit(k).name;
}
std::string_view name_of(BiasForm f) {
  return kBiasForms[static_cast<std::size_t>(f)];
}
std::string_view name_of(TailForm f) {
  return kTailForms[static_cast<std::size_t>(f)];
}
std::string_view name_of(DriverForm f) {
  return kDriverForms[static_cast<std::size_t>(f)];
}
std::string_view name_of(GainForm f) {
  return kGainForms[static_cast<std::size_t>(f)];
}
std::string_view name_of(OutputBias b) {
  return kOutputBiases[static_cast<std::size_t>(b)];
}
std::optional<CircuitKind> circuit_named(std::string_view n) {
  for (const CircuitEntry& entry : circuits())
    if (entry.name == n) return entry.kind;
  return std::nullopt;
}
std::optional<BiasForm> bias_form_named(std::string_view n) {
  return named<BiasForm>(kBiasForms, n);
}
std::optional<TailForm> tail_form_named(std::string_view n) {
  return named<TailForm>(kTailForms, n);
}

}  // namespace antiphase
