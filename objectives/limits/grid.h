/// What a grid may be given: its leak, and no current at rest.
#pragma once

#include "objectives/limits/result.h"
#include "objectives/limits/section_view.h"

namespace antiphase {

/// Cathode resistor or tail holds the current as cathode bias does, wherever the grids hang. A grid that the
/// plate of the stage before holds has no leak.
inline std::optional<LimitResult> check_grid_leak(const Design& design, const Evaluation& evaluation,
                                                  const DesignFactors&, int section) {
  const SectionView s(design, evaluation, section);
  if (!s.place.grid_leak) return std::nullopt;
  const TubeRatings& r = s.ratings;
  return at_most(
      s.place.grid_leak->value(design),
      r.grid_leak_ohm_max_self_bias ? r.grid_leak_ohm_max_self_bias : r.grid_leak_ohm_max_fixed_bias, 1.0);
}

inline constexpr Limit kGridLeak{
    .name = "grid_leak_ohm",
    .label = "grid leak",
    .unit = "ohm",
    .description = "largest resistance in the grid's DC path for this kind of bias",
    .needs = Depth::rest,
    .per_section = true,
    .check = check_grid_leak,
    .remedy = "Take a smaller grid leak.",
    .of_printed_value = true};

inline constexpr Limit kGridAtRest{
    "grid_to_cathode_v",
    "grid to cathode at rest",
    "V",
    "a grid that conducts at rest has no clean swing at all",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      return at_most(s.rest.grid_to_cathode_v, s.grid_conduction_v, 1.0);
    },
    "Give more bias: a larger bias or cathode resistor, or with the grids at a fixed voltage a larger tail "
    "resistor or a smaller sink current."};

inline constexpr Limit kGridAtTarget{
    "grid_to_cathode_peak_v",
    "grid to cathode at the target, peak",
    "V",
    "a grid that conducts at the target loads its source and clips",
    Depth::at_target,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int i) -> std::optional<LimitResult> {
      if (!target_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      return at_most(s.target.grid_to_cathode_peak_v, s.grid_conduction_v, 1.0);
    },
    "Give more bias, ask for less swing, or take a tube with more gain."};

/// A grid that stands against a cold cathode where no sheet says how much: common practice, no published
/// source.
inline constexpr double kColdGrid_v = 50;
inline constexpr double kClampedGrid_v = 0.7;  ///< across a silicon diode that carries a little current

inline constexpr Limit kGridCold{
    "grid_cold_v",
    "grid to cathode before warm-up",
    "V",
    "directly coupled, both grids stand at the whole supply until the cathodes are warm, and the cathodes at "
    "ground; the rating for a negative grid tells what the insulation stands, 50 V where there is none",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      const SectionView s(d, e, i);
      if (!s.place.grid_on_plate || f.supply_waits) return std::nullopt;
      const std::optional<Sourced>& rating = s.ratings.grid_v_negative_max;
      const bool clamped = s.place.clamp && s.place.clamp->there(d);
      return at_most(clamped ? kClampedGrid_v : cold_supply_v(d), rating ? rating->value : kColdGrid_v, 1.0);
    },
    "Put a silicon diode from each grid to the cathode, anode at the grid (bias grid_clamp): it is blocked "
    "in "
    "use, bears the bias in reverse, and its current is limited by the plate resistor of the stage before. "
    "Or "
    "take a supply that comes up after the heaters."};

/// With cathode bias a larger leak is allowed than with a fixed one; where the card has one limit only, that
/// one counts.
inline const std::optional<Sourced>& most_output_leak(const OutputValve& v, OutputBias bias) {
  const std::optional<Sourced>&fixed = v.grid_leak_ohm_max_fixed_bias, &self = v.grid_leak_ohm_max_self_bias;
  return bias == OutputBias::cathode ? (self ? self : fixed) : (fixed ? fixed : self);
}

inline constexpr Limit kLoadLeak{
    .name = "load_leak_ohm",
    .label = "output valve's grid leak",
    .unit = "ohm",
    .description =
        "largest resistance in the grid circuit of the output valve, with a fixed bias or with cathode bias",
    .needs = Depth::rest,
    .per_section = false,
    .check = [](const Design& d, const Evaluation&, const DesignFactors&, int) -> std::optional<LimitResult> {
      // A follower holds the grid by some hundred ohms; the leak only bridges it while it is cold.
      if (!d.output_valve || d.driver.form == DriverForm::cathode_followers) return std::nullopt;
      return at_most(d.load_ohm, most_output_leak(*d.output_valve, d.output_valve_bias), 1.0);
    },
    .remedy =
        "Take a smaller leak at the output valve's grid. If its bias is fixed, a valve that is biased by its "
        "cathode may have a larger one as far as its card says so: \"bias\": \"cathode\", beside its bias_v.",
    .of_printed_value = true};

}  // namespace antiphase
