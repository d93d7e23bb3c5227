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

/// A cold plate's voltage over the working rating where no sheet says how much: common practice, no published
/// source. The sheets that give both allow more: 1.7 (ECC82: 550 V over 330 V) to 3.3 (5687).
inline constexpr double kColdOverWorking = 1.5;

inline constexpr Limit kColdPlateVoltage{
    "plate_cold_v",
    "plate before warm-up",
    "V",
    "the whole supply stands at the plate until the cathode is warm; 1.5 times the working rating where no "
    "rating for cold tubes is published (common practice)",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (f.supply_waits) return std::nullopt;
      const SectionView s(d, e, i);
      // without current the cathode stands at the foot of what it hangs on
      const double foot_v = s.place.foot ? s.place.foot->value(d) : 0;
      const double cold_v = cold_supply_v(d) - foot_v;
      if (s.ratings.plate_cold_v_max || !s.ratings.plate_v_max)
        return at_most(cold_v, s.ratings.plate_cold_v_max, f.plate_voltage);
      return at_most(cold_v, kColdOverWorking * s.ratings.plate_v_max->value, f.plate_voltage);
    },
    "Take a supply that waits for the heaters (a delay relay or a rectifier that warms up slowly; a brief "
    "says "
    "so with \"warm_up\": \"sequenced\"), a lower supply, a rail nearer to ground, or a form without a "
    "rail."};

/// At which share of its rest current a section counts as cut off: as for the clean swing.
inline constexpr double kCutOffShare = 0.01;

inline constexpr Limit kCutOff{
    "plate_current_low_a",
    "plate current at the target, least",
    "A",
    "a section whose current falls below a hundredth of its rest current within the cycle is cut off: it "
    "amplifies a part of the cycle only, and small changes of tube or level tell much",
    Depth::at_target,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int i) -> std::optional<LimitResult> {
      if (!target_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      return at_least(s.target.plate_current_low_a, kCutOffShare * s.rest.plate_current_a);
    },
    "Let more current flow at rest (a smaller bias, cathode or tail resistor), load the stage less, or ask "
    "for less swing."};

inline constexpr Limit kRestCurrent{
    "plate_current_rest_a",
    "plate current at rest",
    "A",
    "below a tenth of a milliampere a section rests at what leaks as much as at what it is given (common "
    "practice; a brief says otherwise with sensible/plate_current_a)",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      return at_least(SectionView(d, e, i).rest.plate_current_a, f.least_plate_current_a);
    },
    "Let more current flow: a smaller bias, cathode or tail resistor, smaller plate resistors, or a higher "
    "supply."};

}  // namespace antiphase
