/// All forms of bias and tail, for circuits that can take each.
#pragma once

#include <array>

#include "stagemodels/design.h"

namespace antiphase {

inline constexpr std::array kEveryBiasForm{BiasForm::self_biased, BiasForm::direct_coupled,
                                           BiasForm::negative_rail};
inline constexpr std::array kEveryTailForm{TailForm::resistor, TailForm::constant_current};

}  // namespace antiphase
