// The clean swing, from the target outward. Each drive is solved from the one before, and the next is where
// the nearest of the three conditions is going to end. The onset of a grid is asked for as such: it takes the
// place of the drive in the bordered equations, so that one solve ends on it. Otherwise the drive, not the
// level, is the parameter: for every drive there is a steady state, while a level may lie beyond what the
// stage can reach.
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "stagemodels/circuits/places.h"
#include "stagemodels/solve/analysis.h"
#include "stagemodels/solve/figures_of_waveforms.h"

namespace antiphase {
namespace {

/// A condition at three drives, each in the scale in which one is about a straight line of the other.
struct Bend {
  double x[3], y[3];  ///< the newest first; if only two are known, the last is NaN
};

/// Where y becomes 0: by the parabola x(y) through all three, or, where that is far from it, by the line
/// through the newest two. Empty: they do not fall.
std::optional<double> zero_of(const Bend& b) {
  const double slope = (b.y[0] - b.y[1]) / (b.x[0] - b.x[1]);
  if (!(slope < 0)) return {};
  const double line = b.x[0] - b.y[0] / slope;
  // Newton's form of x(y): divided differences.
  const double first = 1 / slope, second = (b.x[1] - b.x[2]) / (b.y[1] - b.y[2]);
  const double bent = line + b.y[0] * b.y[1] * (first - second) / (b.y[0] - b.y[2]);
  constexpr double kMostBend = 0.5;  // of the way
  return std::abs(bent - line) < kMostBend * std::abs(line - b.x[0]) ? bent : line;
}

}  // namespace

/// A drive that was solved, and how much it leaves of each condition.
struct Analysis::CleanProbe {
  double drive = 0, level = 0;
  CleanMargins margin;
  int nearest_grid = 0, nearest_instant = 0;  ///< the section whose grid has least left, and when

  /// No condition has more left than at a lower drive.
  bool falls_from(const CleanProbe& before) const {
    return margin.distortion <= before.margin.distortion && margin.grid <= before.margin.grid &&
           margin.cutoff <= before.margin.cutoff;
  }
};

Analysis::RestOfSection Analysis::rest_of(const OperatingPoint& at, int number) const {
  const double onset_v = tube_numbered(design_, number)->grid_conduction_v.value;
  if (number < kSplitterSections) return {onset_v, at.grid_to_cathode_v[number], at.plate_current_a[number]};
  const SectionRest& own = own_rest(at, number);
  return {onset_v, own.grid_to_cathode_v, own.plate_current_a};
}

void Analysis::set_margins(const OperatingPoint& at, const CycleExtremes& now, bool grids_may_conduct,
                           CleanProbe& out) const {
  constexpr double kCutoffShare = 0.01;  // below 1 % of its rest current a section is cut off
  CleanMargins& m = out.margin;
  for (int o = 0; o < form_.outputs; ++o)
    m.distortion = std::fmin(m.distortion, 1 - now.thd_pct[o] / design_.clean_limit_pct);
  for (int number = 0; number < Circuit::kMostSections; ++number) {
    if (!form_.has[number]) continue;
    const RestOfSection rest = rest_of(at, number);
    if (!grids_may_conduct) {
      const double way_v = rest.onset_v - rest.grid_to_cathode_v;
      const double left = (rest.onset_v - now.grid_to_cathode_peak_v[number]) / way_v;
      if (left < m.grid) out.nearest_grid = number;
      m.grid = std::fmin(m.grid, left);
    }
    const double share = now.plate_current_low_a[number] / rest.plate_current_a;
    m.cutoff = std::fmin(m.cutoff, (share - kCutoffShare) / (1 - kCutoffShare));
  }
}

Analysis::CleanProbe Analysis::probe(const OperatingPoint& at, const CycleState& state,
                                     bool grids_may_conduct) const {
  Waveforms waves;
  CycleExtremes extremes;
  CleanProbe p;
  solver_.describe_sections(*instants_, state, waves);
  find_extremes(waves, form_.outputs, form_.has, extremes);
  set_margins(at, extremes, grids_may_conduct, p);
  p.drive = state.y[0];
  p.level = level(state, smaller_output(state));
  const Row& grid_v = p.nearest_grid < kSplitterSections
                          ? waves.grid_to_cathode_v[p.nearest_grid]
                          : own_waveforms(waves, p.nearest_grid).grid_to_cathode_v;
  const auto highest = std::max_element(grid_v.begin(), grid_v.begin() + instants_->count);
  p.nearest_instant = static_cast<int>(highest - grid_v.begin());
  return p;
}

bool Analysis::solve_grid_onset(const OperatingPoint& at, double change, CycleState& state, int& steps) {
  solver_.predict(*instants_, change, state);
  const CleanProbe near = probe(at, state, false);
  DriveCondition onset = solver_.grid_to_cathode_at(near.nearest_grid, near.nearest_instant,
                                                    rest_of(at, near.nearest_grid).onset_v);
  onset.settled_step_v = kNearlySettled_v;
  return solve(onset, state, steps);
}

void Analysis::clean_swing(const OperatingPoint& at, const SteadyState& target, bool grids_may_conduct,
                           CleanSwing& out) {
  constexpr double kSettledMargin = 1e-6;  // of each condition's whole way from rest to its end
  constexpr double kSettledDrive = 1e-7;   // of the drive
  constexpr double kMostGrowth = 1.4, kMostGrowthWhereAllFall = 2.5, kFirstShare = 0.25;
  constexpr double kSlopeShare = 1e-3;  // of the target's drive: how far its tangent is followed for slopes
  // Far from the end a step of some hundredths of a volt is settled enough: it leaves margins some 1e-5 off.
  constexpr double kFarMargin = 0.03, kNearMargin = 1e-3, kOnTheWay_v = 0.03;
  constexpr int kMostDrives = 60;

  out = CleanSwing{};
  out.solved = Solved::yes;
  for (int number = 0; number < Circuit::kMostSections; ++number) {
    if (!form_.has[number]) continue;
    const RestOfSection rest = rest_of(at, number);
    if (!(rest.plate_current_a > 0)) out.limited_by = CleanLimit::cutoff;
    if (!grids_may_conduct && rest.grid_to_cathode_v >= rest.onset_v)
      out.limited_by = CleanLimit::grid_conduction;
  }
  const double gain = least_gain();
  if (out.limited_by != CleanLimit::none || !(gain > kLeastGain)) return;  // not clean even at rest

  CleanProbe earlier, before, newest, clean;  // the newest three; the highest clean one
  CycleState state;
  int steps = 0;
  double unclean = 0;                 // lowest drive known not to be clean; 0: none yet
  CleanLimit why = CleanLimit::none;  // what ended `unclean`

  bool solved = true;
  if (target_known_ && target.solved == Solved::yes) {
    // The target is known, and its tangent tells how the conditions change with the drive.
    state = target_;
    solved = tangent_of_target_ || solve({.value = state.y[0]}, state, steps);
    CycleExtremes extremes;
    copy_extremes(target, form_.has, extremes);
    set_margins(at, extremes, grids_may_conduct, newest);
    newest.drive = state.y[0];
    newest.level = level(state, smaller_output(state));
    CycleState below = state;
    solver_.predict(*instants_, -kSlopeShare * newest.drive / solver_.drive_per_change(), below);
    before = probe(at, below, grids_may_conduct);
  } else {
    const double first = kFirstShare * design_.swing_peak_v / gain;
    state = linear_state(first);
    solved = solve_drive(first, 0, state, steps, kNearlySettled_v);
    if (solved) newest = probe(at, state, grids_may_conduct);
  }
  for (int n = 0; n < kMostDrives; ++n) {
    if (!solved) {
      out.solved = Solved::no_convergence;
      break;
    }
    const double least = newest.margin.least();
    if (least >= -kSettledMargin) clean = newest;
    if (least < 0) {
      unclean = newest.drive;
      why = newest.margin.which();
    }
    if (std::abs(least) <= kSettledMargin) why = newest.margin.which();
    if (std::abs(least) <= kSettledMargin ||
        (unclean > 0 && unclean - clean.drive <= kSettledDrive * unclean))
      break;
    const double growth = newest.falls_from(before) ? kMostGrowthWhereAllFall : kMostGrowth;
    const double nowhere = 2 * growth * newest.drive;
    // Grid and cut-off go about linearly with the drive, distortion as a power of it.
    const std::array<const CleanProbe*, 3> last{&newest, &before, &earlier};
    const auto line_ends_at = [&](double CleanMargins::*which) {
      Bend b;
      for (std::size_t i = 0; i < last.size(); ++i) {
        b.x[i] = last[i]->drive;
        b.y[i] = last[i]->margin.*which;
      }
      return zero_of(b).value_or(nowhere);
    };
    const auto power_ends_at = [&] {
      Bend b;  // of the limit's share that is left, in logarithms; at rest there is none
      for (std::size_t i = 0; i < last.size(); ++i) {
        b.x[i] = std::log(last[i]->drive);
        b.y[i] = -std::log(1 - last[i]->margin.distortion);
      }
      constexpr double kUsualPower = 2;
      if (!(before.drive > 0)) return newest.drive * std::exp(b.y[0] / kUsualPower);
      const std::optional<double> end = zero_of(b);
      return end ? std::exp(*end) : nowhere;
    };
    const double onset = line_ends_at(&CleanMargins::grid);
    double trial = std::fmin(power_ends_at(), std::fmin(onset, line_ends_at(&CleanMargins::cutoff)));
    trial = std::fmin(trial, growth * newest.drive);
    if (unclean > 0 && !(trial > clean.drive && trial < unclean)) trial = 0.5 * (clean.drive + unclean);
    if (!(trial > clean.drive)) trial = growth * clean.drive;

    earlier = before;
    before = newest;
    const CycleState start = state;
    const double change = (trial - state.y[0]) / solver_.drive_per_change();
    if (trial == onset && solve_grid_onset(at, change, state, steps)) {
      newest = probe(at, state, grids_may_conduct);
      if (newest.drive > clean.drive && !(unclean > 0 && newest.drive >= unclean)) continue;
    }
    const bool tangent_there = !(trial == onset);
    const bool far = std::abs(least) > kFarMargin;
    state = start;
    solved =
        solve_drive(trial, tangent_there ? change : 0, state, steps, far ? kOnTheWay_v : kNearlySettled_v);
    if (solved) newest = probe(at, state, grids_may_conduct);
    if (solved && far && std::abs(newest.margin.least()) < kNearMargin) {  // sooner than expected
      solved = solve_drive(trial, 0, state, steps, kNearlySettled_v);
      if (solved) newest = probe(at, state, grids_may_conduct);
    }
  }
  out.swing_peak_v = clean.level;
  out.input_peak_v = clean.drive;
  out.limited_by = why;
  out.headroom_db = clean.level > 0 ? 20 * std::log10(clean.level / design_.swing_peak_v) : 0;
}

}  // namespace antiphase
