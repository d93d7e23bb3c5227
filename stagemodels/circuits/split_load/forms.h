/// How the grid of a split load can be held: there is no form with a negative rail.
#pragma once

#include <array>

#include "stagemodels/design.h"

namespace antiphase::split_load {

inline constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled};

}  // namespace antiphase::split_load
