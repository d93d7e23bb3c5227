/// Every point of every family's lattice: the exact optimum and the exact set of non-dominated points.
///
/// A lattice is cut into chunks: one value for each of its first axes, all values of the others. A chunk is
/// halved again and again; a part that the staged judge proves to hold no feasible point is dropped unseen,
/// and what is left goes through the staged judge point by point. Chunks are numbered over all families, so
/// that a run can be stopped after any of them, and can be cut into slices (every n-th chunk) whose findings
/// merge exactly.
#pragma once

#include <atomic>
#include <cstdint>
#include <vector>

#include "optimize/engine/lattice/levels.h"
#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/problem.h"
#include "optimize/engine/search.h"

namespace antiphase::engine {

/// What alters the answer.
struct CompleteOptions {
  int best_kept = 400;               ///< feasible points of each group kept for ranking, best first
  std::size_t front_most = 500'000;  ///< non-dominated points; beyond that they are thinned, and it says so
  int slice = 1, slices = 1;         ///< 1 <= slice <= slices: chunks whose number is slice - 1 modulo slices
};

/// What became of the points. covered = discarded + turned away at each stage + judged whole.
struct Coverage {
  std::int64_t covered = 0;
  std::int64_t discarded = 0;             ///< in blocks, unseen
  std::vector<std::int64_t> turned_away;  ///< by stage of the staged judge
  std::int64_t judged_whole = 0, feasible = 0;
  bool operator==(const Coverage&) const = default;
  Coverage& operator+=(const Coverage&);
};

/// Findings of the chunks that are done. All points are feasible and are points of the lattices.
struct CompleteFindings {
  std::int64_t chunks_done = 0;  ///< of the slice, in order of number
  Coverage coverage;
  std::vector<Point> best;   ///< at most best_kept of each group, best first by better()
  std::vector<Point> front;  ///< best first by better()
  bool front_whole = true;   ///< false: it had to be thinned
};

/// Combinations of a set of families; as a double because it may be beyond any integer.
double combinations(const std::vector<Family>& families);

/// One run through (a slice of) the lattices. Deterministic: findings depend on families and options, never
/// on threads or on where a run was interrupted.
/// Memory: per kept point some 200 bytes; nothing grows with the lattice.
class CompleteRun {
 public:
  /// Allowed: fewer than 1e15 combinations; all families have the same number of objectives. `earlier`:
  /// findings of an earlier run of the same families and options, or none. The families must outlive this.
  CompleteRun(const std::vector<Family>& families, const CompleteOptions& options,
              CompleteFindings earlier = {});

  std::int64_t chunks() const { return chunks_; }  ///< of the slice
  std::int64_t points() const { return points_; }  ///< of the slice
  bool finished() const { return done_ >= chunks_; }

  /// Goes through the next chunks, a few for each thread of a large machine. Counts only whole chunks: those
  /// that `stop` (may be null) interrupts are gone through again by the next call. `watch` may be empty.
  void advance(const Resources& resources, const Watch& watch, const std::atomic<bool>* stop);

  CompleteFindings findings() const;
  const Coverage& coverage() const { return coverage_; }
  std::int64_t done() const { return done_; }

 private:
  struct Plan {              // how a family's lattice is cut
    int outer = 0;           // axes with one value in a chunk
    std::int64_t first = 0;  // number of its first chunk, over all families
    std::int64_t chunks = 0;
    std::int64_t inner = 0;  // points of a chunk
  };
  struct TaskResult {
    bool whole = false;
    Coverage coverage;
    std::vector<Point> best, front;
  };
  TaskResult go_through(std::int64_t number, const std::atomic<bool>* stop) const;
  std::pair<const Plan*, std::int64_t> plan_of(std::int64_t nth) const;

  const std::vector<Family>* families_;  // not owned
  CompleteOptions options_;
  std::vector<Plan> plans_;
  std::int64_t chunks_ = 0, points_ = 0, done_ = 0;
  Coverage coverage_;
  std::vector<std::vector<Point>> best_;  // by group
  Archive archive_;
  bool front_whole_ = true;
};

/// Findings of all slices of a run of these families as those of the whole run. Exact.
CompleteFindings merge(const std::vector<CompleteFindings>& slices, const std::vector<Family>& families,
                       const CompleteOptions& options);

}  // namespace antiphase::engine
