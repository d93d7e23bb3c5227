#include "optimize/engine/search.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <iterator>
#include <numeric>
#include <optional>
#include <utility>

#include "optimize/engine/family_work.h"
#include "optimize/engine/ledger_queries.h"
#include "optimize/engine/order.h"
#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/pareto/hypervolume.h"
#include "optimize/engine/pareto/scalarise.h"
#include "optimize/engine/pareto/spread_out.h"
#include "optimize/engine/run_tasks.h"
#include "optimize/engine/task_seeds.h"

namespace antiphase::engine {
namespace {

// Directions of the front that are searched at the same time; after each wave what it found is shared.
// Fixed, so that the answer does not depend on the number of threads.
constexpr int kWave = 16;

class Search {
 public:
  Search(const std::vector<Family>& families, std::span<const SearchOptions> passes,
         const Resources& resources, const Watch& watch, const std::atomic<bool>* stop)
      : passes_(passes),
        options_(passes.front()),
        seed_(passes.front().seed),
        threads_(std::max(1, resources.threads)),
        stop_(stop),
        progress_(watch),
        archive_(families.empty() ? 1 : families[0].parts.objectives) {
    for (const Family& family : families) {
      assert(family.parts.objectives == archive_.objectives());
      FamilyWork w;
      w.family = &family;
      w.index = static_cast<int>(work_.size());
      if (lattice_size(family.parts) > 0) w.ledger = Ledger(family.parts);
      work_.push_back(std::move(w));
    }
  }

  SearchOutcome run(const std::vector<Point>& known) {
    progress_.expect(planned_evaluations(work_.size(), archive_.objectives(), passes_));
    judge_known(known);
    for (const SearchOptions& pass : passes_) {
      options_ = pass;
      kept_.resize(work_.size());
      std::iota(kept_.begin(), kept_.end(), 0);
      if (go_on("exploring each family")) explore_all();
      if (go_on("first parts for each family")) screen_lattices();
      choose_families();
      if (go_on("refining the best")) refine_best();
      if (go_on("searching the parts")) search_lattices();
      if (go_on("widening the front")) widen_front();
    }
    return outcome();
  }

 private:
  using Job = std::function<TaskResult(std::uint64_t seed)>;
  struct Task {
    int family;
    Job job;
  };

  bool interrupted() const { return stop_ && stop_->load(std::memory_order_relaxed); }

  bool go_on(std::string_view stage) {
    if (interrupted()) return false;
    stage_ = stage;
    progress_.begin(stage);
    return true;
  }

  void judge_known(const std::vector<Point>& known) {
    stage_ = "judging what is known";
    for (const Point& point : known) {
      if (point.family < 0 || point.family >= static_cast<int>(work_.size())) continue;
      FamilyWork& work = work_[point.family];
      const Problem& lattice = work.family->parts;
      if (point.x.size() != lattice.axes.size() || lattice_size(lattice) <= 0) continue;
      const Levels levels = nearest_levels(lattice, point.x);
      Point again{std::vector<double>(levels.size()), {}, work.index};
      values_of(lattice, levels, again.x);
      if (again.x != point.x || work.ledger.find(levels) >= 0) continue;
      again.judged = lattice.make_judge()(again.x);
      work.ledger.add(levels, again.judged);
      ++work.evaluations_parts;
      archive_.insert(again);
      note_cost(again.judged);
    }
    if (!known.empty()) note_milestone();
  }

  void note_cost(const Judged& judged) {
    if (judged.feasible()) best_cost_ = std::min(best_cost_.value_or(judged.cost), judged.cost);
  }

  void note_milestone() {
    Milestone m{stage_, 0, best_cost_, 0};
    for (const FamilyWork& work : work_) m.evaluations += work.evaluations_ideal + work.evaluations_parts;
    milestones_.push_back(m);
    fronts_.push_back(spread_out(archive_.members(), archive_.objectives(), kMilestoneMembers));
  }

  /// Measured against the last front, so that one number can be set beside the other.
  void measure_milestones() {
    if (fronts_.empty() || fronts_.back().empty()) return;
    const int n = archive_.objectives();
    const Scale scale = scale_of(fronts_.back(), n);
    const std::vector<double> beyond_nadir(n, 1.1);
    for (std::size_t i = 0; i < fronts_.size(); ++i) {
      std::vector<std::vector<double>> rows;
      for (const Point& point : fronts_[i]) {
        std::vector<double>& row = rows.emplace_back();
        for (int k = 0; k < n; ++k) row.push_back(scale(point.judged, k));
      }
      milestones_[i].hypervolume = hypervolume(rows, beyond_nadir) / std::pow(1.1, n);
    }
  }

  /// Runs the tasks, then adds what they bring to the families' work in the order of the list.
  void run_round(const std::vector<Task>& tasks) {
    const std::uint64_t round_seed = task_seed(seed_, round_++);
    std::vector<TaskResult> results(tasks.size());
    run_tasks(static_cast<int>(tasks.size()), threads_, [&](int task) {
      if (!interrupted())
        results[task] = tasks[task].job(task_seed(round_seed, static_cast<std::uint64_t>(task)));
    });
    for (std::size_t i = 0; i < tasks.size(); ++i) {
      FamilyWork& work = work_[tasks[i].family];
      TaskResult& result = results[i];
      if (result.fresh.size() > 0) work.ledger.add_all(result.fresh);
      for (int entry = 0; entry < result.fresh.size(); ++entry) note_cost(result.fresh.judged(entry));
      for (const Point& point : result.front) archive_.insert(point);
      work.ideal.insert(work.ideal.end(), result.ideal.begin(), result.ideal.end());
      work.enumerated |= result.enumerated;
      work.evaluations_ideal += result.evaluations_ideal;
      work.evaluations_parts += result.evaluations_parts;
    }
    for (FamilyWork& work : work_)
      std::sort(work.ideal.begin(), work.ideal.end(),
                [](const Point& a, const Point& b) { return better(a, b); });
    if (!tasks.empty()) note_milestone();
  }

  void explore_all() {
    std::vector<Task> tasks;
    for (const FamilyWork& work : work_)
      tasks.push_back({work.index, [&](std::uint64_t seed) {
                         return explore(work, options_.global_evaluations_per_family, seed, context_);
                       }});
    run_round(tasks);
  }

  void screen_lattices() {
    std::vector<Task> tasks;
    for (const FamilyWork& work : work_)
      tasks.push_back({work.index, [&](std::uint64_t seed) {
                         const std::vector<Levels> starts = starts_of(work, 1);
                         return starts.empty() ? TaskResult{}
                                               : search_lattice(work, starts[0],
                                                                options_.screening_evaluations_per_family,
                                                                seed, {}, context_);
                       }});
    run_round(tasks);
  }

  /// Keeps the families whose best lattice point is best; those without one come last.
  void choose_families() {
    std::vector<std::vector<Point>> best;
    for (const FamilyWork& work : work_)
      best.push_back(best_of(work.family->parts, work.ledger, work.index, 1));
    std::stable_sort(kept_.begin(), kept_.end(), [&](int a, int b) {
      if (best[a].empty() || best[b].empty()) return !best[a].empty() && best[b].empty();
      return better(best[a][0], best[b][0]);
    });
    kept_.resize(std::min<std::size_t>(kept_.size(), std::max(1, options_.families_kept)));
  }

  void refine_best() {
    std::vector<Task> tasks;
    for (const int index : kept_) {
      const FamilyWork& work = work_[index];
      if (work.enumerated || work.family->ideal.axes.empty()) continue;
      for (Point& point : distinct_ideal(work, options_.refined_points_per_family))
        tasks.push_back({index, [&, x = std::move(point.x)](std::uint64_t seed) {
                           return refine(work, x, options_.local_evaluations, seed, context_);
                         }});
    }
    run_round(tasks);
  }

  void search_lattices() {
    // All starts but the last come from the continuous points ...
    const int starts = options_.lattice_starts_per_family;
    find_starts(std::max(1, starts - 1));
    std::vector<Task> tasks;
    for (const int index : kept_) {
      const FamilyWork& work = work_[index];
      if (work.enumerated) continue;
      // A lattice no larger than the family's whole budget is judged to the last point, by one task.
      const double budget = static_cast<double>(starts) * options_.lattice_evaluations_per_start;
      const bool whole = lattice_size(work.family->parts) <= budget;
      const int evaluations = whole ? static_cast<int>(budget) : options_.lattice_evaluations_per_start;
      const std::size_t count = whole ? std::min<std::size_t>(1, work.starts.size()) : work.starts.size();
      for (std::size_t i = 0; i < count; ++i)
        tasks.push_back({index, [&, i, evaluations](std::uint64_t seed) {
                           return search_lattice(work, work.starts[i], evaluations, seed, {}, context_);
                         }});
    }
    run_round(tasks);
    if (starts < 2 || interrupted()) return;
    // ... the last from the best lattice point of them all, with all their knowledge.
    tasks.clear();
    for (const int index : kept_) {
      const FamilyWork& work = work_[index];
      if (!work.enumerated && work.ledger.size() > 0)
        tasks.push_back({index, [&](std::uint64_t seed) {
                           const Point best = best_of(work.family->parts, work.ledger, work.index, 1)[0];
                           return search_lattice(work, nearest_levels(work.family->parts, best.x),
                                                 options_.lattice_evaluations_per_start, seed, {}, context_);
                         }});
    }
    run_round(tasks);
  }

  void find_starts(int most) {
    run_tasks(static_cast<int>(kept_.size()), threads_, [&](int task) {
      if (interrupted()) return;
      FamilyWork& work = work_[kept_[task]];  // this task's own
      if (!work.enumerated) work.starts = starts_of(work, most);
    });
  }

  /// Lowers the Chebyshev distance under one weighting after the other, each from the front's own best.
  void widen_front() {
    if (archive_.objectives() < 2) return;
    const std::vector<Weights> weights = directions(archive_.objectives(), options_.front_directions);
    for (std::size_t first = 0; first < weights.size() && !interrupted(); first += kWave) {
      std::vector<Point> members = archive_.members();
      if (members.empty()) return;
      const Scale scale = scale_of(members, archive_.objectives());
      std::erase_if(members, [&](const Point& p) { return work_[p.family].enumerated; });
      if (members.empty()) return;
      std::vector<Task> tasks;
      for (std::size_t d = first; d < std::min(weights.size(), first + kWave); ++d) {
        const Merit merit = [w = weights[d], scale](const Judged& j) { return chebyshev(j, w, scale); };
        const Point& nearest =
            *std::min_element(members.begin(), members.end(), [&](const Point& a, const Point& b) {
              return merit(a.judged) < merit(b.judged);  // the first of equals: members are in order
            });
        const FamilyWork& work = work_[nearest.family];
        tasks.push_back({work.index, [&work, merit, this, x = nearest.x](std::uint64_t seed) {
                           return search_lattice(work, nearest_levels(work.family->parts, x),
                                                 options_.front_evaluations_per_direction, seed, merit,
                                                 context_);
                         }});
      }
      run_round(tasks);
    }
  }

  SearchOutcome outcome() {
    SearchOutcome out;
    std::vector<SampleKey> keys;
    for (const FamilyWork& work : work_) {
      const std::vector<Point> best =
          best_of(work.family->parts, work.ledger, work.index, std::max(1, options_.best_kept));
      out.best_by_family.push_back(best.empty() ? Point{{}, {}, work.index} : best[0]);
      out.best.insert(out.best.end(), best.begin(), best.end());
      out.evaluations_ideal += work.evaluations_ideal;
      out.evaluations_parts += work.evaluations_parts;
      out.evaluations_by_family.push_back(work.evaluations_ideal + work.evaluations_parts);
      const std::vector<SampleKey> own = uniform_sample(work.ledger, work.index, options_.cloud_kept);
      keys.insert(keys.end(), own.begin(), own.end());
    }
    const auto by_better = [](const Point& a, const Point& b) { return better(a, b); };
    std::sort(out.best.begin(), out.best.end(), by_better);
    if (std::ssize(out.best) > options_.best_kept) out.best.resize(options_.best_kept);
    out.front = spread_out(archive_.members(), archive_.objectives(), options_.front_kept);
    std::stable_sort(keys.begin(), keys.end(),
                     [](const SampleKey& a, const SampleKey& b) { return a.number < b.number; });
    if (std::ssize(keys) > options_.cloud_kept) keys.resize(options_.cloud_kept);
    for (const SampleKey& t : keys)
      out.cloud.push_back(point_of(work_[t.family].family->parts, work_[t.family].ledger, t.entry, t.family));
    std::sort(out.cloud.begin(), out.cloud.end(), by_better);
    const bool nothing = std::all_of(work_.begin(), work_.end(),
                                     [](const FamilyWork& w) { return lattice_size(w.family->parts) <= 0; });
    measure_milestones();
    out.milestones = milestones_;
    out.stop = nothing ? Stop::empty : interrupted() ? Stop::interrupted : Stop::finished;
    return out;
  }

  std::span<const SearchOptions> passes_;
  SearchOptions options_;  // of the pass
  std::uint64_t seed_;
  int threads_;
  const std::atomic<bool>* stop_;
  EvaluationCounter progress_;
  TaskContext context_{&progress_, stop_};
  std::vector<FamilyWork> work_;
  std::vector<int> kept_;  // families that go on, best first
  Archive archive_;
  std::uint64_t round_ = 0;
  std::string_view stage_;
  std::optional<double> best_cost_;  // of the feasible lattice points
  std::vector<Milestone> milestones_;
  std::vector<std::vector<Point>> fronts_;  // at each of them
};

}  // namespace

std::int64_t planned_evaluations(std::size_t families, int objectives,
                                 std::span<const SearchOptions> passes) {
  std::int64_t sum = 0;
  for (const SearchOptions& options : passes) {
    const auto all = static_cast<std::int64_t>(families);
    const std::int64_t kept = std::min<std::int64_t>(all, options.families_kept);
    sum += all * (options.global_evaluations_per_family + options.screening_evaluations_per_family) +
           kept * (options.refined_points_per_family * options.local_evaluations +
                   options.lattice_starts_per_family * options.lattice_evaluations_per_start);
    if (objectives > 1)
      sum += static_cast<std::int64_t>(options.front_directions) * options.front_evaluations_per_direction;
  }
  return sum;
}

SearchOutcome search(const std::vector<Family>& families, std::span<const SearchOptions> passes,
                     const std::vector<Point>& known, const Resources& resources, const Watch& watch,
                     const std::atomic<bool>* stop) {
  return Search(families, passes, resources, watch, stop).run(known);
}

SearchOutcome search(const std::vector<Family>& families, const SearchOptions& options,
                     const Resources& resources, const Watch& watch, const std::atomic<bool>* stop) {
  return search(families, {&options, 1}, {}, resources, watch, stop);
}

}  // namespace antiphase::engine
