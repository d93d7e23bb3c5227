/// What a pentode's screen may dissipate and bear.
#pragma once

#include "objectives/limits/result.h"
#include "objectives/limits/section_view.h"

namespace antiphase {

inline constexpr Limit kScreenDissipation{
    "screen_dissipation_w",
    "screen dissipation",
    "W",
    "mean screen dissipation, the larger of rest and target",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      if (!s.pentode) return std::nullopt;
      const double hottest =
          std::fmax(s.rest.screen_dissipation_w, target_known(e) ? s.target.screen_dissipation_w : 0.0);
      return at_most(hottest, s.pentode->screen_w_max, f.plate_dissipation);
    },
    "Take a larger screen resistor, or let less current flow (a larger cathode resistor)."};

inline constexpr Limit kScreenVoltage{
    "screen_to_cathode_v",
    "screen to cathode",
    "V",
    "working screen voltage at rest",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (!rest_known(e)) return std::nullopt;
      const SectionView s(d, e, i);
      if (!s.pentode) return std::nullopt;
      return at_most(s.rest.screen_to_cathode_v, s.pentode->screen_v_max, f.plate_voltage);
    },
    "Take a larger screen resistor, or let more current flow (a smaller cathode resistor)."};

inline constexpr Limit kColdScreenVoltage{
    "screen_cold_v",
    "screen before warm-up",
    "V",
    "the whole supply stands at the screen until the cathode is warm; held only where the sheet gives a "
    "rating "
    "for cold tubes",
    Depth::rest,
    true,
    [](const Design& d, const Evaluation& e, const DesignFactors& f, int i) -> std::optional<LimitResult> {
      if (f.supply_waits) return std::nullopt;
      const SectionView s(d, e, i);
      if (!s.pentode) return std::nullopt;
      return at_most(cold_supply_v(d), s.pentode->screen_cold_v_max, f.plate_voltage);
    },
    "Take a supply that waits for the heaters (a brief says so with \"warm_up\": \"sequenced\"), or a lower "
    "supply."};

}  // namespace antiphase
