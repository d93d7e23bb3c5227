/// What a plate may dissipate and bear, at rest, at the target and before the cathode is warm.
#pragma once

#include "objectives/limits/result.h"
#include "objectives/limits/section_view.h"

namespace antiphase {

inline constexpr Limit kPlateDissipation{
    "plate_dissipation_w",
    "plate dissipation",
    "W",
    "mean plate dissipation, the larger of rest and target",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      const double hottest =
          std::fmax(s.rest.plate_dissipation_w, target_known(e) ? s.target.plate_dissipation_w : 0.0);
      return at_most(hottest, s.ratings.plate_w_max, f.plate_dissipation);
    },
    "Let less current flow (a larger tail, bias or cathode resistor) or take a lower supply."};

inline constexpr Limit kPlatesTotalDissipation{
    "plates_total_dissipation_w",
    "dissipation of both plates",
    "W",
    "both plates of one bulb together, the larger of rest and target",
    Depth::rest,
    false,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int) -> std::optional<LimitResult> {
      // two different types are two bulbs: then each plate's own rating is what counts
      if (!rest_known(e) || !has_section(d, 1) || d.tube[0] != d.tube[1]) return std::nullopt;
      const Pair& rest = e.operating_point.plate_dissipation_w;
      const Pair& driven = e.at_target.plate_dissipation_w;
      const double total = std::fmax(rest[0] + rest[1], target_known(e) ? driven[0] + driven[1] : 0.0);
      return at_most(total, d.tube[0]->ratings.plates_total_w_max, f.plate_dissipation);
    },
    "Let less current flow (a larger tail or bias resistor), take a lower supply, or use one section of each "
    "of two bulbs."};

inline constexpr Limit kPlateVoltage{
    "plate_to_cathode_v",
    "plate to cathode",
    "V",
    "working plate voltage at rest",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      return at_most(s.rest.plate_to_cathode_v, s.ratings.plate_v_max, f.plate_voltage);
    },
    "Take a lower supply, larger plate resistors, or more of the supply across the tail."};

inline constexpr Limit kPlateVoltagePeak{
    "plate_to_cathode_peak_v",
    "plate to cathode, peak",
    "V",
    "highest plate voltage at the target, against what the plate bears without current",
    Depth::at_target,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!target_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      return at_most(s.target.plate_to_cathode_peak_v, s.ratings.plate_cold_v_max, f.plate_voltage);
    },
    "Take a lower supply or ask for less swing."};

inline constexpr Limit kColdPlateVoltage{
    "plate_cold_v",
    "plate before warm-up",
    "V",
    "the whole supply stands at the plate until the cathode is warm",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      const SectionView s(d, e, i);
      // without current the cathode stands at the foot of what it hangs on
      const double foot_v = s.place.foot ? s.place.foot->value(d) : 0;
      return at_most(cold_supply_v(d) - foot_v, s.ratings.plate_cold_v_max, f.plate_voltage);
    },
    "Take a lower supply, or one that comes up after the heaters."};

}  // namespace antiphase
