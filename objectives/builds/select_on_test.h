/// Select on test: one part set in each build until the outputs balance.
#pragma once

#include <optional>
#include <vector>

#include "objectives/builds/sample.h"

namespace antiphase {

/// The parts by which the balance of two outputs can be set: the load of output 2, and a tail resistor.
/// Empty: one output.
std::vector<const DesignField*> parts_to_select(const Design&);

/// How far a part has to be turned, found by solving the nominal design with the part a little lower and
/// higher.
struct BalanceRecipe {
  bool known = false;  ///< false: no balance there, or the part hardly moves it
  double change_per_pct =
      0;  ///< of the part, in its unit, for each % by which output 1 is larger than output 2
  double reading_v_rms_per_pct = 0;  ///< at the joint of two equal resistors from output to output, at half
                                     ///< the target
};
BalanceRecipe balance_recipe(const Design&, const DesignField& part);

struct SelectedBuild {
  bool plain_kept = false;  ///< as built, nothing set: every limit kept
  bool kept = false;        ///< the same with the part set
  bool known = false;       ///< both have a balance
  bool balanced = false;    ///< to kBalanced_pct, within half to twice the part's value in the build
  double value = 0;         ///< the part's, set
  double as_built = 0;      ///< the same before
  double before_pct = 0, after_pct = 0;  ///< balance at the target, %
  std::optional<double> one_step_pct;    ///< balance after a single step by the recipe
  double plate_difference_v = 0;         ///< as built: DC of plate 1 above plate 2
};

inline constexpr double kBalanced_pct = 0.05;

/// Build `number` of the sample that `points` (of kMostDimensions) give, with the part set. Secant steps on
/// the balance at the target. Cost: seven evaluations or so. Threads: safe.
SelectedBuild select_on_test(const BuildModel&, const Demands&, const engine::SobolPoints& points,
                             std::uint32_t number, const DesignField& part, const BalanceRecipe& recipe);

/// What the plates' direct voltages tell of the change that balance asks for: the straight line through
/// builds (least squares) and the share of the scatter that it explains (r squared).
struct PlatesTell {
  double change_per_v = 0;  ///< of the part, for each volt that plate 1 stands above plate 2 more than drawn
  double share = 0;         ///< 0 … 1; 0: fewer than ten builds, or no scatter
};
PlatesTell plates_tell(const std::vector<SelectedBuild>&);

}  // namespace antiphase
