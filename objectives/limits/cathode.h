/// What a cathode may give, and what its insulation from the heater may bear.
#pragma once

#include "objectives/limits/result.h"
#include "objectives/limits/section_view.h"

namespace antiphase {

inline constexpr Limit kCathodeCurrent{
    "cathode_current_a",
    "cathode current",
    "A",
    "mean cathode current, the larger of rest and target",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      const double most =
          std::fmax(s.rest.cathode_current_a, target_known(e) ? s.target.cathode_current_mean_a : 0.0);
      return at_most(most, s.ratings.cathode_current_a_max, f.cathode_current);
    },
    "Let less current flow: a larger tail, bias or cathode resistor."};

inline constexpr Limit kHeaterToCathodePositive{
    "cathode_above_heater_v",
    "cathode above heater, peak",
    "V",
    "highest cathode voltage over the heater's, at rest or at the target",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      const double high = target_known(e) ? s.target.cathode_high_v : s.rest.cathode_v;
      const double above = std::fmax(high, s.rest.cathode_v) - d.heater_v;
      if (above <= 0) return std::nullopt;
      return at_most(above, s.ratings.heater_cathode_v_max_cathode_positive, f.heater_cathode);
    },
    "Raise the heater supply (heater_v) towards the cathode voltage, or leave less of the supply across the "
    "tail."};

inline constexpr Limit kHeaterToCathodePositiveDc{
    "cathode_above_heater_dc_v",
    "cathode above heater, DC",
    "V",
    "cathode voltage over the heater's at rest, where the sheet limits the DC part apart",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      const double above = s.rest.cathode_v - d.heater_v;
      if (above <= 0) return std::nullopt;
      return at_most(above, s.ratings.heater_cathode_v_max_cathode_positive_dc, f.heater_cathode);
    },
    "Raise the heater supply (heater_v) towards the cathode voltage, or leave less of the supply across the "
    "tail."};

inline constexpr Limit kHeaterToCathodeNegative{
    "cathode_below_heater_v",
    "cathode below heater, peak",
    "V",
    "how far the cathode goes below the heater, at rest or at the target",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      const double low = target_known(e) ? s.target.cathode_low_v : s.rest.cathode_v;
      const double below = d.heater_v - std::fmin(low, s.rest.cathode_v);
      if (below <= 0) return std::nullopt;
      return at_most(below, s.ratings.heater_cathode_v_max_cathode_negative, f.heater_cathode);
    },
    "Lower the heater supply (heater_v) towards the cathode voltage."};

}  // namespace antiphase
