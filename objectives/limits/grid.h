/// What a grid may be given: its leak, and no current at rest.
#pragma once

#include "objectives/limits/result.h"

namespace antiphase {

inline constexpr Limit kGridLeak{
    "grid_leak_ohm",
    "grid leak",
    "ohm",
    "largest resistance in the grid's DC path for this kind of bias",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation&, const DesignFactors&, int i) -> std::optional<LimitResult> {
      // directly coupled, grid 1 hangs on the plate of the stage before and has no leak
      if (d.circuit == CircuitKind::long_tailed_pair && d.bias.form == BiasForm::direct_coupled && i == 0)
        return std::nullopt;
      // Cathode resistor or tail holds the current as cathode bias does, wherever the grids hang.
      const TubeRatings& r = d.tube[i]->ratings;
      return at_most(
          d.grid_leak_ohm,
          r.grid_leak_ohm_max_self_bias ? r.grid_leak_ohm_max_self_bias : r.grid_leak_ohm_max_fixed_bias,
          1.0);
    }};

inline constexpr Limit kGridAtRest{
    "grid_to_cathode_v",
    "grid to cathode at rest",
    "V",
    "a grid that conducts at rest has no clean swing at all",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      return at_most(e.operating_point.grid_to_cathode_v[i], d.tube[i]->grid_conduction_v.value, 1.0);
    }};

inline constexpr Limit kGridAtTarget{
    "grid_to_cathode_peak_v",
    "grid to cathode at the target, peak",
    "V",
    "a grid that conducts at the target loads its source and clips; the laws without grid current do not "
    "show it",
    Depth::at_target,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int i) -> std::optional<LimitResult> {
      if (!target_known(e)) return std::nullopt;
      return at_most(e.at_target.grid_to_cathode_peak_v[i], d.tube[i]->grid_conduction_v.value, 1.0);
    }};

}  // namespace antiphase
