/// What a search is told about a problem. Nothing here knows what the numbers stand for.
#pragma once

#include <array>
#include <functional>
#include <span>
#include <string>
#include <vector>

namespace antiphase::engine {

inline constexpr int kMaxObjectives = 8;

/// One unknown. `levels` empty: any number in [low, high]. Otherwise: one of the
/// levels, which are sorted, distinct, and low/high are the first and last of them.
struct Axis {
  std::string name;
  double low = 0, high = 1;
  bool logarithmic = false;  ///< search steps in log(x); then low > 0
  std::vector<double> levels;
};

/// A point, judged. Everything is finite: the judge is the door where bad numbers stop.
struct Judged {
  double cost = 0;       ///< weighted sum, to be made small
  double violation = 0;  ///< 0: every limit kept; otherwise the sum of relative excesses, > 0
  std::array<double, kMaxObjectives>
      objective{};  ///< each to be made small; first Problem::objectives in use
  bool feasible() const { return violation <= 0; }
};

/// Judges one point (#axes values). Owns its scratch memory; used by one thread at a time.
/// Never throws, never gives NaN or infinity.
using Judge = std::function<Judged(std::span<const double> x)>;

/// How far a point got that is looked at step by step.
struct StagedJudgement {
  int stage = 0;  ///< the step that turned it away: then it is not feasible; #Problem::stages: judged whole
  Judged judged;  ///< set only if judged whole; then what the judge says
};

/// What goes through a whole lattice asks instead of a Judge: the same answers with less work. Owns its
/// scratch memory; used by one thread at a time.
struct StagedJudge {
  /// True only if it is proved that no point x with low <= x <= high (#axes values each) is feasible.
  /// `points`: how many of the lattice there are, so that the work of a proof can be weighed against theirs.
  /// May be empty.
  std::function<bool(std::span<const double> low, std::span<const double> high, double points)> none_feasible;
  std::function<StagedJudgement(std::span<const double> x)> judge_staged;
};

struct Problem {
  std::vector<Axis> axes;
  int objectives = 1;                              ///< <= kMaxObjectives
  std::function<Judge()> make_judge;               ///< one per worker; safe to call from any thread
  std::function<StagedJudge()> make_staged_judge;  ///< likewise; empty: every point is judged whole
  std::vector<std::string> stages;                 ///< of the staged judge, in order, for people
};

/// A point with its judgement. `family` tells which problem of a set it belongs to.
struct Point {
  std::vector<double> x;
  Judged judged;
  int family = 0;
};

/// One choice of everything that has no order (a kind, a form). `ideal` is the same
/// question asked of continuous unknowns; `parts` is the lattice of what can be had.
struct Family {
  std::string name;
  /// Families of one group are rivals for the work: the best of them go on. Each group is searched as if it
  /// were alone, so that no group is left unsearched because another is better. From 0, without gaps.
  int group = 0;
  Problem ideal;  ///< may have no axes: then only the lattice is searched
  Problem parts;  ///< every axis has levels
  /// Ideal point -> nearest sensible lattice point (#parts.axes values, each one of its
  /// axis' levels). Empty if there is none. Safe from any thread.
  std::function<std::vector<double>(std::span<const double> ideal_x)> round_to_parts;
};

}  // namespace antiphase::engine
