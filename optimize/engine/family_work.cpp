#include "optimize/engine/family_work.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "optimize/engine/lattice/enumerate.h"
#include "optimize/engine/ledger_queries.h"
#include "optimize/engine/methods/differential_evolution.h"
#include "optimize/engine/methods/subspace_simplex.h"
#include "optimize/engine/order.h"
#include "optimize/engine/unit_cube.h"

namespace antiphase::engine {
namespace {

// Of the unit cube. A step of E24 on an axis of one decade is 1/24; closer points start the same descent.
constexpr double kSamePointDistance = 0.02;

Seen parts_seen(const TaskContext& context) {
  return [progress = context.progress](std::span<const double>, const Judged& j) { progress->saw_parts(j); };
}

/// The front is sorted out here, in the task, so that merging stays short.
void bring(TaskResult& result, const FamilyWork& work, Ledger fresh) {
  const Problem& lattice = work.family->parts;
  Archive archive(lattice.objectives);
  for (int entry = 0; entry < fresh.size(); ++entry)
    if (fresh.judged(entry).feasible()) archive.insert(point_of(lattice, fresh, entry, work.index));
  result.front = archive.members();
  result.fresh = std::move(fresh);
}

}  // namespace

TaskResult explore(const FamilyWork& work, int evaluations, std::uint64_t seed, const TaskContext& context) {
  TaskResult result;
  MethodTask task;
  task.evaluations = evaluations;
  task.seed = seed;
  task.stop = context.stop;
  if (!work.family->ideal.axes.empty()) {
    task.problem = &work.family->ideal;
    task.seen = [progress = context.progress](std::span<const double>, const Judged&) {
      progress->saw_ideal();
    };
    Found found = differential_evolution(task);
    result.ideal = std::move(found.finalists);
    result.evaluations_ideal = found.evaluations;
  } else if (lattice_size(work.family->parts) > 0) {
    const Problem& lattice = work.family->parts;
    Ledger fresh(lattice);
    task.problem = &lattice;
    task.seen = [&](std::span<const double> x, const Judged& judged) {
      fresh.add(nearest_levels(lattice, x), judged);
      context.progress->saw_parts(judged);
    };
    result.evaluations_parts = differential_evolution(task).evaluations;
    bring(result, work, std::move(fresh));
  }
  return result;
}

TaskResult refine(const FamilyWork& work, const std::vector<double>& start, int evaluations,
                  std::uint64_t seed, const TaskContext& context) {
  MethodTask task;
  task.problem = &work.family->ideal;
  task.starts = {start};
  task.evaluations = evaluations;
  task.seed = seed;
  task.stop = context.stop;
  task.seen = [progress = context.progress](std::span<const double>, const Judged&) {
    progress->saw_ideal();
  };
  // A quadratic model (NLopt's BOBYQA) takes off half of what the simplex does on valleys with kinks after
  // 1200 evaluations of the global round (tests/optimize/support/valley.h).
  const Found found = subspace_simplex(task);
  TaskResult result;
  if (found.best) result.ideal = {*found.best};
  result.evaluations_ideal = found.evaluations;
  return result;
}

TaskResult search_lattice(const FamilyWork& work, const Levels& start, int evaluations, std::uint64_t seed,
                          const Merit& merit, const TaskContext& context) {
  TaskResult result;
  const Problem& lattice = work.family->parts;
  if (lattice_size(lattice) <= evaluations) {
    Enumerated all = enumerate(lattice, evaluations, context.stop, parts_seen(context));
    result.evaluations_parts = all.evaluations;
    result.enumerated = all.ended == Ended::converged;
    bring(result, work, std::move(all.fresh));
    return result;
  }
  DescentTask task;
  task.lattice = &lattice;
  task.start = start;
  task.evaluations = evaluations;
  task.seed = seed;
  task.known = &work.ledger;
  task.merit = merit;
  task.stop = context.stop;
  task.seen = parts_seen(context);
  DescentFound found = descend(task);
  result.evaluations_parts = found.evaluations;
  bring(result, work, std::move(found.fresh));
  return result;
}

std::vector<Point> distinct_ideal(const FamilyWork& work, int most) {
  const UnitCube cube(work.family->ideal);
  std::vector<Point> chosen;
  std::vector<std::vector<double>> places;
  for (const Point& point : work.ideal) {
    if (static_cast<int>(chosen.size()) >= most) break;
    const std::vector<double> u = cube.to_unit(point.x);
    const bool near = std::any_of(places.begin(), places.end(), [&](const std::vector<double>& v) {
      double farthest = 0;
      for (std::size_t k = 0; k < u.size(); ++k) farthest = std::max(farthest, std::abs(u[k] - v[k]));
      return farthest < kSamePointDistance;
    });
    if (near) continue;
    chosen.push_back(point);
    places.push_back(u);
  }
  return chosen;
}

std::vector<Levels> starts_of(const FamilyWork& work, int most) {
  const Problem& lattice = work.family->parts;
  std::vector<Levels> starts;
  if (lattice_size(lattice) <= 0) return starts;
  const auto offer = [&](Levels levels) {
    if (static_cast<int>(starts.size()) < most &&
        std::find(starts.begin(), starts.end(), levels) == starts.end())
      starts.push_back(std::move(levels));
  };
  if (work.family->round_to_parts && !work.family->ideal.axes.empty())
    for (const Point& point : distinct_ideal(work, 3 * most)) {
      if (static_cast<int>(starts.size()) >= most) break;
      const std::vector<double> x = work.family->round_to_parts(point.x);
      if (x.size() == lattice.axes.size()) offer(nearest_levels(lattice, x));
    }
  for (const Point& point : best_of(lattice, work.ledger, work.index, 3 * most))
    offer(nearest_levels(lattice, point.x));
  Levels middle;
  for (const Axis& axis : lattice.axes) middle.push_back(static_cast<int>(axis.levels.size()) / 2);
  if (starts.empty()) offer(std::move(middle));
  return starts;
}

}  // namespace antiphase::engine
