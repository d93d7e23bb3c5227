/// The names that files may choose from, each list made from the enumeration it stands for.
#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "configs/brief.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

inline constexpr std::array kCircuitKinds{CircuitKind::long_tailed_pair, CircuitKind::common_cathode,
                                          CircuitKind::gain_and_splitter};
inline constexpr std::array<std::string_view, 2> kInterstageCouplings{"capacitor", "direct"};
inline constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled,
                                       BiasForm::negative_rail};
inline constexpr std::array kTailForms{TailForm::resistor, TailForm::constant_current};
inline constexpr std::array<std::string_view, 3> kEfforts{"quick", "normal", "thorough"};

template <class Enum, std::size_t N>
std::vector<std::string_view> names_of(const std::array<Enum, N>& choices) {
  std::vector<std::string_view> names;
  names.reserve(N);
  for (const auto choice : choices) names.push_back(name_of(choice));
  return names;
}

}  // namespace antiphase
