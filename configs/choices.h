/// The names that files may choose from.
#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "configs/brief.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

inline constexpr std::array<std::string_view, 2> kInterstageCouplings{"capacitor", "direct"};
inline constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled,
                                       BiasForm::negative_rail};
inline constexpr std::array kTailForms{TailForm::resistor, TailForm::constant_current};
inline constexpr std::array kDriverForms{DriverForm::none, DriverForm::cathode_followers,
                                         DriverForm::long_tailed_pair};
inline constexpr std::array kGainForms{
    GainForm::triode, GainForm::constant_current, GainForm::cascode, GainForm::mu_follower,
    GainForm::srpp,   GainForm::two_triodes,      GainForm::pentode};
inline constexpr std::array kOutputBiases{OutputBias::fixed, OutputBias::cathode};
inline constexpr std::array<std::string_view, 3> kEfforts{"quick", "normal", "thorough"};

template <class Choices>
std::vector<std::string_view> names_of(const Choices& choices) {
  std::vector<std::string_view> names;
  names.reserve(choices.size());
  for (const auto choice : choices) names.push_back(name_of(choice));
  return names;
}

/// The names of the circuits, in the order of the catalogue.
inline std::vector<std::string_view> circuit_names() {
  std::vector<std::string_view> names;
  for (const CircuitEntry& entry : circuits()) names.push_back(entry.name);
  return names;
}

}  // namespace antiphase
