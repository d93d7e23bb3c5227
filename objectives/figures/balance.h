/// How equal the two outputs are.
#pragma once

#include "objectives/figures/figure.h"

namespace antiphase {

inline constexpr Figure kBalancePct{
    .name = "balance_pct",
    .label = "balance",
    .unit = "%",
    .description = "output 1 over output 2 at the target swing, as a difference in per cent of their mean",
    .direction = Direction::nearer_zero,
    .scale = 5,
    .needs = Depth::at_target,
    .default_weight = 1,
    .shown = {.law_bands = 6, .spread = true},
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (outputs(d.circuit) < 2 || e.at_target.solved != Solved::yes) return std::nullopt;
      return e.at_target.balance_pct;
    }};

inline constexpr Figure kBalanceSmallSignalPct{
    .name = "balance_small_signal_pct",
    .label = "balance, small signal",
    .unit = "%",
    .description = "the same from the small-signal gains",
    .direction = Direction::nearer_zero,
    .scale = 5,
    .needs = Depth::small_signal,
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      if (outputs(d.circuit) < 2 || e.operating_point.solved != Solved::yes) return std::nullopt;
      return e.small_signal.balance_pct;
    }};

}  // namespace antiphase
