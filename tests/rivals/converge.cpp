#include "tests/rivals/converge.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "optimize/engine/lattice/descent.h"
#include "optimize/engine/methods/differential_evolution.h"
#include "optimize/engine/methods/subspace_simplex.h"
#include "optimize/engine/order.h"
#include "optimize/engine/task_seeds.h"

namespace antiphase::engine::rivals {
namespace {

constexpr double kGlobalShare = 0.5;   // of what is left
constexpr double kLatticeShare = 0.8;  // of what is left after the local runs
constexpr int kLocalPerAxis = 200;     // judgements of one local run
constexpr int kInnerPerAxis = 60;      // of one choice of levels
constexpr double kGain = 1e-7;         // relative: less is none
constexpr int kRoundsInVain = 2;

using Method = Found (*)(const MethodTask&);

/// No judgement: the budget is spent or a stop was asked for. Any made one is better.
constexpr double kLargest = std::numeric_limits<double>::max();
constexpr Judged kNotJudged{kLargest, kLargest, {}};

class Rounds {
 public:
  explicit Rounds(const MethodTask& task) : task_(task), problem_(*task.problem) {
    for (std::size_t i = 0; i < problem_.axes.size(); ++i)
      if (problem_.axes[i].low < problem_.axes[i].high) {
        (problem_.axes[i].levels.empty() ? continuous_ : stepped_).push_back(i);
      }
  }

  Found run() {
    Found found;
    int vain = 0;
    for (int round = 0; vain < kRoundsInVain; ++round) {
      const std::optional<Point> before = best_;
      const int share = std::max(static_cast<int>(kGlobalShare * left()), 1);
      Found global = part(&differential_evolution, problem_, share,
                          round == 0 ? task_.starts : std::vector<std::vector<double>>{}, round_seed(round));
      if (round == 0) found.finalists = std::move(global.finalists);
      if (continuous_.empty() && stepped_.empty()) break;
      if (!best_) break;
      polish();
      if (!stepped_.empty()) over_levels(round_seed(round) + 1);
      if (!may_ask()) break;
      vain = before && !gained(*before) ? vain + 1 : 0;
    }
    found.ended = stopped()                     ? Ended::interrupted
                  : spent_ >= task_.evaluations ? Ended::budget_spent
                                                : Ended::converged;
    found.best = best_;
    found.evaluations = spent_;
    return found;
  }

 private:
  int left() const { return task_.evaluations - spent_; }
  bool stopped() const { return task_.stop && task_.stop->load(std::memory_order_relaxed); }
  bool may_ask() const { return left() > 0 && !stopped(); }
  std::uint64_t round_seed(int round) const {
    return task_seed(task_.seed, static_cast<std::uint64_t>(round));
  }

  bool gained(const Point& before) const {
    if (before.judged.feasible() != best_->judged.feasible()) return true;
    const double a = before.judged.feasible() ? before.judged.cost : before.judged.violation;
    const double b = before.judged.feasible() ? best_->judged.cost : best_->judged.violation;
    return a - b > kGain * std::abs(a);
  }

  void take(const std::optional<Point>& point) {
    if (point && (!best_ || better(*point, *best_))) best_ = point;
  }

  Found part(Method method, const Problem& problem, int evaluations, std::vector<std::vector<double>> starts,
             std::uint64_t seed) {
    MethodTask task;
    task.problem = &problem;
    task.starts = std::move(starts);
    task.evaluations = std::min(evaluations, left());
    task.seed = seed;
    task.stop = task_.stop;
    task.seen = task_.seen;
    Found found = method(task);
    spent_ += found.evaluations;
    take(found.best);
    return found;
  }

  /// The problem with its levels held at those of x.
  Problem held(std::span<const double> x) const {
    Problem p = problem_;
    for (const std::size_t i : stepped_) p.axes[i].low = p.axes[i].high = x[i], p.axes[i].levels.clear();
    return p;
  }

  void polish() {
    if (continuous_.empty()) return;
    const int share = kLocalPerAxis * static_cast<int>(continuous_.size());
    while (may_ask()) {
      const Point before = *best_;
      const Problem p = held(before.x);
      part(&subspace_simplex, p, share, {before.x}, task_.seed);
      if (!gained(before)) break;
    }
  }

  void over_levels(std::uint64_t seed) {
    Problem lattice;
    lattice.objectives = problem_.objectives;
    for (const std::size_t i : stepped_) lattice.axes.push_back(problem_.axes[i]);
    std::vector<double> start;
    for (const std::size_t i : stepped_) start.push_back(best_->x[i]);
    const int inner = std::max(1, kInnerPerAxis * static_cast<int>(continuous_.size()));
    lattice.make_judge = [&] {
      return Judge([&](std::span<const double> levels) {
        std::vector<double> x = best_->x;
        for (std::size_t k = 0; k < stepped_.size(); ++k) x[stepped_[k]] = levels[k];
        if (!may_ask()) return kNotJudged;
        const Problem p = held(x);
        const Found found = part(&subspace_simplex, p, inner, {x}, task_.seed);
        return found.best ? found.best->judged : kNotJudged;
      });
    };
    DescentTask task;
    task.lattice = &lattice;
    task.start = nearest_levels(lattice, start);
    task.evaluations = std::max(1, static_cast<int>(kLatticeShare * left() / inner));
    task.seed = seed;
    task.stop = task_.stop;
    descend(task);
  }

  const MethodTask& task_;
  const Problem& problem_;
  std::vector<std::size_t> continuous_, stepped_;  // axes that move
  std::optional<Point> best_;
  int spent_ = 0;
};

}  // namespace

Found converge(const MethodTask& task) {
  return Rounds(task).run();
}

}  // namespace antiphase::engine::rivals
