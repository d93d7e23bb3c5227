#include "optimize/engine/search.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <iterator>
#include <map>
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
        objectives_(families.empty() ? 1 : families[0].parts.objectives),
        planned_(planned_evaluations(families, passes)) {
    for (const Family& family : families) {
      assert(family.parts.objectives == objectives_);
      FamilyWork w;
      w.family = &family;
      w.index = static_cast<int>(work_.size());
      if (lattice_size(family.parts) > 0) w.ledger = Ledger(family.parts);
      while (std::ssize(groups_) <= family.group) groups_.emplace_back(objectives_);
      groups_[family.group].families.push_back(w.index);
      work_.push_back(std::move(w));
    }
  }

  SearchOutcome run(const std::vector<Point>& known) {
    progress_.expect(planned_);
    judge_known(known);
    for (const SearchOptions& pass : passes_) {
      options_ = pass;
      for (Group& group : groups_) group.kept = group.families;
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
  /// Families that are searched as if there were no others: they have their own seeds, front and choice.
  struct Group {
    explicit Group(int objectives) : archive(objectives) {}
    std::vector<int> families;
    std::vector<int> kept;  // families that go on, best first
    Archive archive;
    std::uint64_t round = 0;
  };
  /// What a group has to do in a round.
  struct GroupTasks {
    Group* group;
    std::vector<Task> tasks;
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
      groups_[work.family->group].archive.insert(again);
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
    fronts_.push_back(spread_out(front(), objectives_, kMilestoneMembers));
  }

  /// What no point of any group dominates, best first.
  std::vector<Point> front() const {
    if (groups_.size() == 1) return groups_.front().archive.members();
    Archive all(objectives_);
    for (const Group& group : groups_)
      for (const Point& point : group.archive.members()) all.insert(point);
    return all.members();
  }

  /// Measured against the last front, so that one number can be set beside the other.
  void measure_milestones() {
    if (fronts_.empty() || fronts_.back().empty()) return;
    const int n = objectives_;
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

  /// Asks each group for its tasks, which may be none.
  template <class TasksOf>
  std::vector<GroupTasks> of_each_group(TasksOf&& tasks_of) {
    std::vector<GroupTasks> round;
    for (Group& group : groups_) round.push_back({&group, tasks_of(group)});
    return round;
  }

  /// Runs the tasks of all groups side by side, then adds what they bring to the families' work in the order
  /// of the lists. A task's seed hangs on the rounds of its own group and its place in them alone.
  void run_round(std::vector<GroupTasks> round) {
    std::vector<std::pair<Task*, std::uint64_t>> tasks;
    for (GroupTasks& part : round) {
      const std::uint64_t round_seed = task_seed(seed_, part.group->round++);
      for (std::size_t i = 0; i < part.tasks.size(); ++i)
        tasks.emplace_back(&part.tasks[i], task_seed(round_seed, static_cast<std::uint64_t>(i)));
    }
    std::vector<TaskResult> results(tasks.size());
    run_tasks(static_cast<int>(tasks.size()), threads_, [&](int task) {
      if (!interrupted()) results[task] = tasks[task].first->job(tasks[task].second);
    });
    for (std::size_t i = 0; i < tasks.size(); ++i) take(std::move(results[i]), work_[tasks[i].first->family]);
    for (FamilyWork& work : work_)
      std::sort(work.ideal.begin(), work.ideal.end(),
                [](const Point& a, const Point& b) { return better(a, b); });
    if (!tasks.empty()) note_milestone();
  }

  void take(TaskResult result, FamilyWork& work) {
    if (result.fresh.size() > 0) work.ledger.add_all(result.fresh);
    for (int entry = 0; entry < result.fresh.size(); ++entry) note_cost(result.fresh.judged(entry));
    for (const Point& point : result.front) groups_[work.family->group].archive.insert(point);
    work.ideal.insert(work.ideal.end(), result.ideal.begin(), result.ideal.end());
    work.enumerated |= result.enumerated;
    work.evaluations_ideal += result.evaluations_ideal;
    work.evaluations_parts += result.evaluations_parts;
  }

  void explore_all() {
    run_round(of_each_group([&](const Group& group) {
      std::vector<Task> tasks;
      for (const int index : group.families)
        tasks.push_back({index, [&work = work_[index], this](std::uint64_t seed) {
                           return explore(work, options_.global_evaluations_per_family, seed, context_);
                         }});
      return tasks;
    }));
  }

  void screen_lattices() {
    run_round(of_each_group([&](const Group& group) {
      std::vector<Task> tasks;
      for (const int index : group.families)
        tasks.push_back({index, [&work = work_[index], this](std::uint64_t seed) {
                           const std::vector<Levels> starts = starts_of(work, 1);
                           return starts.empty() ? TaskResult{}
                                                 : search_lattice(work, starts[0],
                                                                  options_.screening_evaluations_per_family,
                                                                  seed, {}, context_);
                         }});
      return tasks;
    }));
  }

  /// Keeps the families of each group whose best lattice point is best; those without one come last.
  void choose_families() {
    std::vector<std::vector<Point>> best;
    for (const FamilyWork& work : work_)
      best.push_back(best_of(work.family->parts, work.ledger, work.index, 1));
    for (Group& group : groups_) {
      std::stable_sort(group.kept.begin(), group.kept.end(), [&](int a, int b) {
        if (best[a].empty() || best[b].empty()) return !best[a].empty() && best[b].empty();
        return better(best[a][0], best[b][0]);
      });
      group.kept.resize(std::min<std::size_t>(group.kept.size(), std::max(1, options_.families_kept)));
    }
  }

  void refine_best() {
    run_round(of_each_group([&](const Group& group) {
      std::vector<Task> tasks;
      for (const int index : group.kept) {
        const FamilyWork& work = work_[index];
        if (work.enumerated || work.family->ideal.axes.empty()) continue;
        for (Point& point : distinct_ideal(work, options_.refined_points_per_family))
          tasks.push_back({index, [&work, this, x = std::move(point.x)](std::uint64_t seed) {
                             return refine(work, x, options_.local_evaluations, seed, context_);
                           }});
      }
      return tasks;
    }));
  }

  void search_lattices() {
    // All starts but the last come from the continuous points ...
    const int starts = options_.lattice_starts_per_family;
    find_starts(std::max(1, starts - 1));
    run_round(of_each_group([&](const Group& group) { return from_starts(group, starts); }));
    if (starts < 2 || interrupted()) return;
    // ... the last from the best lattice point of them all, with all their knowledge.
    run_round(of_each_group([&](const Group& group) { return from_best_point(group); }));
  }

  std::vector<Task> from_starts(const Group& group, int starts) {
    std::vector<Task> tasks;
    for (const int index : group.kept) {
      const FamilyWork& work = work_[index];
      if (work.enumerated) continue;
      // A lattice no larger than the family's whole budget is judged to the last point, by one task.
      const double budget = static_cast<double>(starts) * options_.lattice_evaluations_per_start;
      const bool whole = lattice_size(work.family->parts) <= budget;
      const int evaluations = whole ? static_cast<int>(budget) : options_.lattice_evaluations_per_start;
      const std::size_t count = whole ? std::min<std::size_t>(1, work.starts.size()) : work.starts.size();
      for (std::size_t i = 0; i < count; ++i)
        tasks.push_back({index, [&work, this, i, evaluations](std::uint64_t seed) {
                           return search_lattice(work, work.starts[i], evaluations, seed, {}, context_);
                         }});
    }
    return tasks;
  }

  std::vector<Task> from_best_point(const Group& group) {
    std::vector<Task> tasks;
    for (const int index : group.kept) {
      const FamilyWork& work = work_[index];
      if (!work.enumerated && work.ledger.size() > 0)
        tasks.push_back({index, [&work, this](std::uint64_t seed) {
                           const Point best = best_of(work.family->parts, work.ledger, work.index, 1)[0];
                           return search_lattice(work, nearest_levels(work.family->parts, best.x),
                                                 options_.lattice_evaluations_per_start, seed, {}, context_);
                         }});
    }
    return tasks;
  }

  void find_starts(int most) {
    std::vector<int> kept;
    for (const Group& group : groups_) kept.insert(kept.end(), group.kept.begin(), group.kept.end());
    run_tasks(static_cast<int>(kept.size()), threads_, [&](int task) {
      if (interrupted()) return;
      FamilyWork& work = work_[kept[task]];  // this task's own
      if (!work.enumerated) work.starts = starts_of(work, most);
    });
  }

  /// Lowers the Chebyshev distance under one weighting after the other, each from the own best of the group's
  /// front.
  void widen_front() {
    if (objectives_ < 2) return;
    const std::vector<Weights> weights = directions(objectives_, options_.front_directions);
    for (std::size_t first = 0; first < weights.size() && !interrupted(); first += kWave) {
      const std::span<const Weights> wave(weights.data() + first,
                                          std::min<std::size_t>(kWave, weights.size() - first));
      std::vector<GroupTasks> round;
      for (Group& group : groups_)
        if (std::vector<Task> tasks = along(wave, group); !tasks.empty())
          round.push_back({&group, std::move(tasks)});
      if (round.empty()) return;
      run_round(std::move(round));
    }
  }

  /// A task for each weighting; none where the group's front has nothing to begin from, which stays so.
  std::vector<Task> along(std::span<const Weights> weights, const Group& group) {
    std::vector<Task> tasks;
    std::vector<Point> members = group.archive.members();
    if (members.empty()) return tasks;
    const Scale scale = scale_of(members, objectives_);
    std::erase_if(members, [&](const Point& p) { return work_[p.family].enumerated; });
    if (members.empty()) return tasks;
    for (const Weights& w : weights) {
      const Merit merit = [w, scale](const Judged& j) { return chebyshev(j, w, scale); };
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
    return tasks;
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
    out.front = spread_out(front(), objectives_, options_.front_kept);
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
  int objectives_;
  std::int64_t planned_;
  std::vector<FamilyWork> work_;
  std::vector<Group> groups_;
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

std::int64_t planned_evaluations(const std::vector<Family>& families, std::span<const SearchOptions> passes) {
  std::map<int, std::size_t> in_group;
  for (const Family& family : families) ++in_group[family.group];
  std::int64_t sum = 0;
  for (const auto& [_, count] : in_group)
    sum += planned_evaluations(count, families.front().parts.objectives, passes);
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
