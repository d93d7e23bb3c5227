/// The pieces of work that a search hands to its threads, one family at a time.
#pragma once

#include <atomic>
#include <cstdint>
#include <vector>

#include "optimize/engine/evaluation_counter.h"
#include "optimize/engine/lattice/descent.h"
#include "optimize/engine/lattice/ledger.h"
#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// What is known of one family so far. Changed only between rounds, in order of task number.
struct FamilyWork {
  const Family* family = nullptr;
  int index = 0;
  Ledger ledger;               ///< every lattice point judged
  std::vector<Point> ideal;    ///< good continuous points, best first
  std::vector<Levels> starts;  ///< lattice points that they lead to, best first, distinct
  bool enumerated = false;     ///< every lattice point is judged
  std::int64_t evaluations_ideal = 0, evaluations_parts = 0;
};

/// What one task brings back.
struct TaskResult {
  Ledger fresh;
  std::vector<Point> front;  ///< of `fresh`: no feasible point of it dominates these
  std::vector<Point> ideal;
  bool enumerated = false;
  std::int64_t evaluations_ideal = 0, evaluations_parts = 0;
};

/// Shared by all tasks of a search; the tasks only read it.
struct TaskContext {
  EvaluationCounter* progress = nullptr;
  const std::atomic<bool>* stop = nullptr;
};

/// Searches globally among the continuous unknowns, or among the levels where there are none.
TaskResult explore(const FamilyWork& work, int evaluations, std::uint64_t seed, const TaskContext& context);

/// Searches locally from one continuous point.
TaskResult refine(const FamilyWork& work, const std::vector<double>& start, int evaluations,
                  std::uint64_t seed, const TaskContext& context);

/// Searches the lattice from one of its points; judges all of it if it has no more than `evaluations` points.
TaskResult search_lattice(const FamilyWork& work, const Levels& start, int evaluations, std::uint64_t seed,
                          const Merit& merit, const TaskContext& context);

/// Gives the first `most` points of work.ideal that differ from those before by more than kSamePointDistance.
std::vector<Point> distinct_ideal(const FamilyWork& work, int most);

/// Gives lattice points to start from, `most` or fewer: what round_to_parts makes of work.ideal, then the
/// best judged ones, then the middle of the lattice. Empty only if the lattice is.
std::vector<Levels> starts_of(const FamilyWork& work, int most);

}  // namespace antiphase::engine
