/// Select on test: one part set in each build until the outputs balance.
#pragma once

#include <vector>

#include "objectives/builds/sample.h"

namespace antiphase {

/// The parts of a pair by which its balance can be set: plate resistor 2, and a tail resistor.
std::vector<const DesignField*> parts_to_select(const Design&);

struct SelectedBuild {
  bool plain_kept = false;  ///< as built, nothing set: every limit kept
  bool kept = false;        ///< the same with the part set
  bool known = false;       ///< both have a balance
  bool balanced = false;    ///< to kBalanced_pct, within half to twice the part's value in the build
  double value = 0;         ///< the part's, set
  double before_pct = 0, after_pct = 0;  ///< balance at the target, %
};

inline constexpr double kBalanced_pct = 0.05;

/// Build `number` of the sample that `points` (of kMostDimensions) give, with the part set. Secant steps on
/// the balance at the target. Cost: six evaluations or so. Threads: safe.
SelectedBuild select_on_test(const BuildModel&, const Demands&, const engine::SobolPoints& points,
                             std::uint32_t number, const DesignField& part);

}  // namespace antiphase
