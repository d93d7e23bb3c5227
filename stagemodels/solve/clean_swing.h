/// The clean swing by continuation: each level is solved from the one before, and the next is
/// where the nearest of the three conditions is going to end.
/// (Part of Analysis; included by analysis.h.)
#pragma once

#include "stagemodels/solve/analysis.h"

namespace antiphase {

template <class Circuit>
CleanMargins Analysis<Circuit>::margins(const OperatingPoint& at, const SteadyState& now) const {
  constexpr double kCutoffShare = 0.01;  // below 1 % of its rest current a section is cut off
  CleanMargins m;
  for (int i = 0; i < Circuit::kSections; ++i) {
    const double onset = design_.tube[i]->grid_conduction_v.value;
    m.distortion = std::fmin(m.distortion, 1 - now.thd_pct[i] / design_.clean_limit_pct);
    m.grid = std::fmin(m.grid, (onset - now.grid_to_cathode_peak_v[i]) / (onset - at.grid_to_cathode_v[i]));
    m.cutoff = std::fmin(
        m.cutoff, (now.plate_current_low_a[i] / at.plate_current_a[i] - kCutoffShare) / (1 - kCutoffShare));
  }
  return m;
}

template <class Circuit>
void Analysis<Circuit>::clean_swing(const OperatingPoint& at, const SmallSignal& small,
                                    const SteadyState& target, CleanSwing& out) {
  constexpr double kSettledMargin = 1e-6;  // of each condition's whole way from rest to its end
  constexpr double kSettledLevel = 1e-7;   // of the level
  constexpr double kMostGrowth = 1.25, kFirstShare = 0.25;
  constexpr int kMostLevels = 60;

  out = CleanSwing{};
  out.solved = Solved::yes;
  for (int i = 0; i < Circuit::kSections; ++i) {
    if (!(at.plate_current_a[i] > 0)) out.limited_by = CleanLimit::cutoff;
    if (at.grid_to_cathode_v[i] >= design_.tube[i]->grid_conduction_v.value)
      out.limited_by = CleanLimit::grid_conduction;
  }
  const double gain = least_gain(small);
  if (out.limited_by != CleanLimit::none || !(gain > 0)) return;  // not clean even at rest

  struct Probe {
    double level = 0;
    CleanMargins margin;
    double input = 0;
  };
  Probe before, newest, clean;  // the newest two that were solved; the highest clean one
  State state = linear_state(0), clean_state = state;
  bool tangent = false;  // newton_ holds the matrix of `newest`
  int output = 0, steps = 0;
  double unclean = 0;                 // lowest level known not to be clean; 0: none yet
  CleanLimit why = CleanLimit::none;  // what ended `unclean`

  const bool from_target = target_known_ && target.solved == Solved::yes;
  double trial = from_target ? level(target_, smaller_output(target_)) : kFirstShare * design_.swing_peak_v;
  for (int n = 0; n < kMostLevels; ++n) {
    if (n == 0 && from_target) {
      state = target_;
      output = target_output_;
    } else if (tangent) {
      newton_.predict(instants_, trial - newest.level, state);
    } else {
      state = clean.level > 0 ? clean_state : linear_state(trial / gain);
      output = smaller_output(state);
    }
    tangent = solve_level(trial, output, state, steps);
    if (!tangent) {  // beyond what the stage can reach
      unclean = trial;
      why = CleanLimit::saturation;
      trial = clean.level > 0 ? 0.5 * (clean.level + trial) : kFirstShare * trial;
    } else {
      Waveforms waves;
      SteadyState now;
      circuit_.describe(instants_, state, waves);
      describe_steady_state(design_, instants_, waves, state.y[0], now);
      before = newest;
      newest = {trial, margins(at, now), state.y[0]};
      const double least = newest.margin.least();
      if (least >= -kSettledMargin) {
        clean = newest;
        clean_state = state;
      }
      if (least < 0) {
        unclean = trial;
        why = newest.margin.which();
      }
      if (std::abs(least) <= kSettledMargin) {
        why = newest.margin.which();
        break;
      }
      // Grid and cut-off go about linearly with the level, distortion as a power of it.
      const auto line_ends_at = [&](double CleanMargins::*which) {
        const double slope = (newest.margin.*which - before.margin.*which) / (newest.level - before.level);
        return slope < 0 ? newest.level - newest.margin.*which / slope : 2 * kMostGrowth * newest.level;
      };
      const auto power_ends_at = [&] {
        const double share = 1 - newest.margin.distortion, share_before = 1 - before.margin.distortion;
        constexpr double kUsualPower = 2, kLeastPower = 0.5;
        double power = before.level > 0 && share > 0 && share_before > 0
                           ? std::log(share / share_before) / std::log(newest.level / before.level)
                           : kUsualPower;
        power = power > kLeastPower ? power : kLeastPower;
        return share > 0 ? newest.level * std::pow(share, -1 / power) : 2 * kMostGrowth * newest.level;
      };
      trial = std::fmin(power_ends_at(),
                        std::fmin(line_ends_at(&CleanMargins::grid), line_ends_at(&CleanMargins::cutoff)));
      trial = std::fmin(trial, kMostGrowth * newest.level);
      if (unclean > 0 && !(trial > clean.level && trial < unclean)) trial = 0.5 * (clean.level + unclean);
      if (!(trial > clean.level)) trial = kMostGrowth * clean.level;
    }
    if (unclean > 0 && unclean - clean.level <= kSettledLevel * unclean) break;
  }
  out.swing_peak_v = clean.level;
  out.input_peak_v = clean.input;
  out.limited_by = why;
  out.headroom_db = clean.level > 0 ? 20 * std::log10(clean.level / design_.swing_peak_v) : 0;
}

}  // namespace antiphase
