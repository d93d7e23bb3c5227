// The clean swing by continuation: each drive is solved from the one before, and the next is where the
// nearest of the three conditions is going to end. The drive, not the level, is the parameter: for every
// drive there is a steady state, while a level may lie beyond what the stage can reach.
#include <cmath>

#include "stagemodels/circuits/places.h"
#include "stagemodels/solve/analysis.h"
#include "stagemodels/solve/figures_of_waveforms.h"

namespace antiphase {

CleanMargins Analysis::margins(const OperatingPoint& at, const SteadyState& now,
                               bool grids_may_conduct) const {
  constexpr double kCutoffShare = 0.01;  // below 1 % of its rest current a section is cut off
  CleanMargins m;
  for (int o = 0; o < form_.outputs; ++o)
    m.distortion = std::fmin(m.distortion, 1 - now.thd_pct[o] / design_.clean_limit_pct);
  for (int i = 0; i < form_.sections; ++i) {
    const double onset = design_.tube[i]->grid_conduction_v.value;
    if (!grids_may_conduct)
      m.grid = std::fmin(m.grid, (onset - now.grid_to_cathode_peak_v[i]) / (onset - at.grid_to_cathode_v[i]));
    m.cutoff = std::fmin(
        m.cutoff, (now.plate_current_low_a[i] / at.plate_current_a[i] - kCutoffShare) / (1 - kCutoffShare));
  }
  for (const int number : kOtherSections) {
    if (!form_.has[number]) continue;
    const double onset = tube_numbered(design_, number)->grid_conduction_v.value;
    const SectionRest& rest = own_rest(at, number);
    const SectionState& state = own_state(now, number);
    if (!grids_may_conduct)
      m.grid = std::fmin(m.grid, (onset - state.grid_to_cathode_peak_v) / (onset - rest.grid_to_cathode_v));
    m.cutoff = std::fmin(
        m.cutoff, (state.plate_current_low_a / rest.plate_current_a - kCutoffShare) / (1 - kCutoffShare));
  }
  return m;
}

void Analysis::clean_swing(const OperatingPoint& at, const SteadyState& target, bool grids_may_conduct,
                           CleanSwing& out) {
  constexpr double kSettledMargin = 1e-6;  // of each condition's whole way from rest to its end
  constexpr double kSettledDrive = 1e-7;   // of the drive
  constexpr double kMostGrowth = 1.4, kFirstShare = 0.25;
  // On the way a step of a quarter of a volt is settled enough: it leaves margins some 1e-3 off.
  constexpr double kOnTheWay_v = 0.25, kNearMargin = 0.05;
  constexpr int kMostDrives = 60;

  out = CleanSwing{};
  out.solved = Solved::yes;
  for (int i = 0; i < form_.sections; ++i) {
    if (!(at.plate_current_a[i] > 0)) out.limited_by = CleanLimit::cutoff;
    if (!grids_may_conduct && at.grid_to_cathode_v[i] >= design_.tube[i]->grid_conduction_v.value)
      out.limited_by = CleanLimit::grid_conduction;
  }
  for (const int number : kOtherSections) {
    if (!form_.has[number]) continue;
    const SectionRest& rest = own_rest(at, number);
    if (!(rest.plate_current_a > 0)) out.limited_by = CleanLimit::cutoff;
    if (!grids_may_conduct &&
        rest.grid_to_cathode_v >= tube_numbered(design_, number)->grid_conduction_v.value)
      out.limited_by = CleanLimit::grid_conduction;
  }
  const double gain = least_gain();
  if (out.limited_by != CleanLimit::none || !(gain > kLeastGain)) return;  // not clean even at rest

  struct Probe {
    double drive = 0, level = 0;
    CleanMargins margin;
  };
  Probe before, newest, clean;  // the newest two that were solved; the highest clean one
  CycleState state;
  int steps = 0;
  double unclean = 0;                 // lowest drive known not to be clean; 0: none yet
  CleanLimit why = CleanLimit::none;  // what ended `unclean`

  // The distance from grid to conduction bounds the drive of a pair to about twice itself.
  const bool from_target = target_known_ && target.solved == Solved::yes;
  double trial = from_target ? target.input_peak_v : kFirstShare * design_.swing_peak_v / gain;
  for (int n = 0; n < kMostDrives; ++n) {
    if (n == 0) state = from_target ? target_ : linear_state(trial);
    before = newest;
    const auto probe = [&](double change, double settled_step_v) {
      if (!solve_drive(trial, change, state, steps, settled_step_v)) return false;
      Waveforms waves;
      SteadyState now;
      solver_.describe(*instants_, state, waves);
      describe_steady_state(design_, waves, trial, now);
      newest = {trial, level(state, smaller_output(state)), margins(at, now, grids_may_conduct)};
      return true;
    };
    const bool on_the_way = newest.margin.least() > kNearMargin && unclean == 0;
    if (!probe(n == 0 ? 0 : trial - newest.drive, on_the_way ? kOnTheWay_v : kSettledStep_v) ||
        (on_the_way && newest.margin.least() < kNearMargin && !probe(0, kSettledStep_v))) {
      out.solved = Solved::no_convergence;
      break;
    }
    const double least = newest.margin.least();
    if (least >= -kSettledMargin) clean = newest;
    if (least < 0) {
      unclean = trial;
      why = newest.margin.which();
    }
    if (std::abs(least) <= kSettledMargin) why = newest.margin.which();
    if (std::abs(least) <= kSettledMargin ||
        (unclean > 0 && unclean - clean.drive <= kSettledDrive * unclean))
      break;
    // Grid and cut-off go about linearly with the drive, distortion as a power of it.
    const auto line_ends_at = [&](double CleanMargins::*which) {
      const double slope = (newest.margin.*which - before.margin.*which) / (newest.drive - before.drive);
      return slope < 0 ? newest.drive - newest.margin.*which / slope : 2 * kMostGrowth * newest.drive;
    };
    const auto power_ends_at = [&] {
      const double share = 1 - newest.margin.distortion, share_before = 1 - before.margin.distortion;
      constexpr double kUsualPower = 2, kLeastPower = 0.5;
      double power = before.drive > 0 && share > 0 && share_before > 0
                         ? std::log(share / share_before) / std::log(newest.drive / before.drive)
                         : kUsualPower;
      power = power > kLeastPower ? power : kLeastPower;
      return share > 0 ? newest.drive * std::pow(share, -1 / power) : 2 * kMostGrowth * newest.drive;
    };
    trial = std::fmin(power_ends_at(),
                      std::fmin(line_ends_at(&CleanMargins::grid), line_ends_at(&CleanMargins::cutoff)));
    trial = std::fmin(trial, kMostGrowth * newest.drive);
    if (unclean > 0 && !(trial > clean.drive && trial < unclean)) trial = 0.5 * (clean.drive + unclean);
    if (!(trial > clean.drive)) trial = kMostGrowth * clean.drive;
  }
  out.swing_peak_v = clean.level;
  out.input_peak_v = clean.drive;
  out.limited_by = why;
  out.headroom_db = clean.level > 0 ? 20 * std::log10(clean.level / design_.swing_peak_v) : 0;
}

}  // namespace antiphase
