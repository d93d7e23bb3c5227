#include "stagemodels/evaluation.h"

#include <cmath>

namespace antiphase {

std::string_view reason(Solved solved) {
  switch (solved) {
    case Solved::yes:
      return "";
    case Solved::not_run:
      return "was not solved";
    case Solved::no_rest_point:
      return "no set of voltages satisfies the circuit at rest: the tail asks for more current than the "
             "sections can pass";
    case Solved::no_convergence:
      return "the solver did not settle on this design";
    case Solved::target_out_of_reach:
      return "the outputs saturate below the target swing";
    case Solved::no_signal:
      return "a section is cut off or has no plate voltage at rest, so that it passes no signal, or a loop "
             "inside the stage gives back more than it gets";
  }
  return "";
}

std::string_view name_of(CleanLimit limit) {
  switch (limit) {
    case CleanLimit::none:
      return "none";
    case CleanLimit::distortion:
      return "distortion";
    case CleanLimit::grid_conduction:
      return "grid_conduction";
    case CleanLimit::cutoff:
      return "cutoff";
    case CleanLimit::saturation:
      return "saturation";
  }
  return "";
}

double SteadyState::harmonic_pct(int output, int order) const {
  const auto& c = harmonic_v[static_cast<std::size_t>(output)];
  return c[1] != 0 ? 100 * std::abs(c[static_cast<std::size_t>(order)] / c[1]) : 0;
}

}  // namespace antiphase
