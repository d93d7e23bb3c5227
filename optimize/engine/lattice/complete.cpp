#include "optimize/engine/lattice/complete.h"

#include <algorithm>
#include <cassert>
#include <iterator>
#include <mutex>
#include <optional>
#include <utility>

#include "optimize/engine/order.h"
#include "optimize/engine/run_tasks.h"

namespace antiphase::engine {
namespace {

// Fixed, so that nothing depends on the number of threads.
constexpr std::int64_t kChunk = 1 << 18;  // points, at most, unless the last axis alone has more
constexpr int kWave = 64;                 // chunks that are gone through at the same time
constexpr std::int64_t kLeaf = 8;         // points that are not halved further

bool by_better(const Point& a, const Point& b) {
  return better(a, b);
}

/// Sorts the points and keeps the first `most`.
void keep_first(std::vector<Point>& points, int most) {
  std::sort(points.begin(), points.end(), by_better);
  if (std::ssize(points) > most) points.resize(most);
}

/// The best points of each group, apart.
using ByGroup = std::vector<std::vector<Point>>;

void add_to_groups(const std::vector<Family>& families, const std::vector<Point>& points, ByGroup& groups) {
  for (const Point& point : points) {
    const auto group = static_cast<std::size_t>(families[point.family].group);
    groups.resize(std::max(groups.size(), group + 1));
    groups[group].push_back(point);
  }
}

std::vector<Point> all_of(const ByGroup& groups) {
  std::vector<Point> all;
  for (const std::vector<Point>& group : groups) all.insert(all.end(), group.begin(), group.end());
  std::sort(all.begin(), all.end(), by_better);
  return all;
}

int groups_of(const std::vector<Family>& families) {
  int most = 0;
  for (const Family& family : families) most = std::max(most, family.group + 1);
  return most;
}

/// Every second member along the first objective. Not spread_out(): it takes the square of so many.
Archive thinned(const Archive& front) {
  std::vector<Point> members = front.members();
  std::sort(members.begin(), members.end(), [](const Point& a, const Point& b) {
    if (a.judged.objective[0] != b.judged.objective[0]) return a.judged.objective[0] < b.judged.objective[0];
    return better(a, b);
  });
  Archive half(front.objectives());
  for (std::size_t i = 0; i < members.size(); i += 2) half.insert(members[i]);
  return half;
}

/// One chunk of one family's lattice.
class Sweep {
 public:
  Sweep(const Problem& lattice, int family, const CompleteOptions& options, const std::vector<Point>& best,
        const Archive& front, const std::atomic<bool>* stop)
      : lattice_(lattice),
        family_(family),
        most_(options.best_kept),
        known_front_(front),
        stop_(stop),
        x_(lattice.axes.size()),
        low_x_(x_.size()),
        high_x_(x_.size()),
        own_front_(lattice.objectives) {
    coverage_.turned_away.resize(lattice.stages.size());
    if (lattice.make_staged_judge)
      staged_ = lattice.make_staged_judge();
    else
      staged_.judge_staged = [judge = lattice.make_judge(),
                              stages = static_cast<int>(lattice.stages.size())](std::span<const double> x) {
        return StagedJudgement{stages, judge(x)};
      };
    if (static_cast<int>(best.size()) >= most_ && most_ > 0) worst_ = best.back();
  }

  /// Goes through all points with low <= levels <= high. False if it was interrupted.
  bool go_through_box(const Levels& low, const Levels& high) {
    if (stop_ && stop_->load(std::memory_order_relaxed)) return false;
    std::int64_t points = 1;
    std::size_t widest = 0;
    for (std::size_t i = 0; i < low.size(); ++i) {
      const int levels = high[i] - low[i] + 1;
      points *= levels;
      if (levels > high[widest] - low[widest] + 1) widest = i;
    }
    if (staged_.none_feasible) {
      values_of(lattice_, low, low_x_);
      values_of(lattice_, high, high_x_);
      if (staged_.none_feasible(low_x_, high_x_, static_cast<double>(points))) {
        coverage_.covered += points;
        coverage_.discarded += points;
        return true;
      }
    }
    if (points <= kLeaf) return judge_each(low, high);
    Levels low_part_end = high, high_part_start = low;
    low_part_end[widest] = low[widest] + (high[widest] - low[widest]) / 2;
    high_part_start[widest] = low_part_end[widest] + 1;
    return go_through_box(low, low_part_end) && go_through_box(high_part_start, high);
  }

  Coverage& coverage() { return coverage_; }
  std::vector<Point> take_best() {
    keep_first(best_, most_);
    return std::move(best_);
  }
  std::vector<Point> take_front() const { return own_front_.members(); }

 private:
  bool judge_each(const Levels& low, const Levels& high) {
    Levels levels = low;
    for (bool more = true; more;) {
      values_of(lattice_, levels, x_);
      count_and_keep(staged_.judge_staged(x_));
      more = false;
      for (std::size_t i = levels.size(); i-- > 0 && !more;) {
        more = ++levels[i] <= high[i];
        if (!more) levels[i] = low[i];
      }
    }
    return true;
  }

  void count_and_keep(const StagedJudgement& staged) {
    ++coverage_.covered;
    if (staged.stage < static_cast<int>(lattice_.stages.size())) {
      ++coverage_.turned_away[staged.stage];
      return;
    }
    ++coverage_.judged_whole;
    if (!staged.judged.feasible()) return;
    ++coverage_.feasible;
    const bool may_rank = worst_.x.empty() || !better(worst_.judged, staged.judged);
    const bool may_stand = !known_front_.dominated(staged.judged);
    if (!may_rank && !may_stand) return;
    Point point{x_, staged.judged, family_};
    if (may_stand) own_front_.insert(point);
    if (may_rank && (worst_.x.empty() || better(point, worst_))) {
      best_.push_back(std::move(point));
      if (std::ssize(best_) >= std::int64_t{2} * most_) {
        keep_first(best_, most_);
        if (most_ > 0) worst_ = best_.back();
      }
    }
  }

  const Problem& lattice_;
  int family_, most_;
  const Archive& known_front_;
  const std::atomic<bool>* stop_;
  StagedJudge staged_;
  std::vector<double> x_, low_x_, high_x_;
  Point worst_;  // what a point must beat to be kept for ranking; empty x: nothing
  Coverage coverage_;
  std::vector<Point> best_;
  Archive own_front_;
};

}  // namespace

Coverage& Coverage::operator+=(const Coverage& other) {
  covered += other.covered;
  discarded += other.discarded;
  turned_away.resize(std::max(turned_away.size(), other.turned_away.size()));
  for (std::size_t i = 0; i < other.turned_away.size(); ++i) turned_away[i] += other.turned_away[i];
  judged_whole += other.judged_whole;
  feasible += other.feasible;
  return *this;
}

double combinations(const std::vector<Family>& families) {
  double all = 0;
  for (const Family& family : families) all += lattice_size(family.parts);
  return all;
}

CompleteRun::CompleteRun(const std::vector<Family>& families, const CompleteOptions& options,
                         CompleteFindings earlier)
    : families_(&families),
      options_(options),
      done_(earlier.chunks_done),
      coverage_(std::move(earlier.coverage)),
      best_(static_cast<std::size_t>(groups_of(families))),
      archive_(families.empty() ? 1 : families[0].parts.objectives),
      front_whole_(earlier.front_whole) {
  assert(options.slice >= 1 && options.slice <= options.slices);
  add_to_groups(families, earlier.best, best_);
  std::int64_t all = 0;
  for (const Family& family : families) {
    assert(family.parts.objectives == archive_.objectives());
    Plan plan;
    plan.first = all;
    if (lattice_size(family.parts) > 0) {
      plan.inner = 1;
      plan.outer = static_cast<int>(family.parts.axes.size());
      while (plan.outer > 0) {
        const auto levels = static_cast<std::int64_t>(family.parts.axes[plan.outer - 1].levels.size());
        if (plan.inner > 1 && plan.inner * levels > kChunk) break;
        plan.inner *= levels;
        --plan.outer;
      }
      plan.chunks = 1;
      for (int i = 0; i < plan.outer; ++i)
        plan.chunks *= static_cast<std::int64_t>(family.parts.axes[i].levels.size());
    }
    all += plan.chunks;
    plans_.push_back(plan);
    coverage_.turned_away.resize(std::max(coverage_.turned_away.size(), family.parts.stages.size()));
  }
  chunks_ = all / options.slices + (options.slice - 1 < all % options.slices ? 1 : 0);
  for (const Plan& plan : plans_) {  // chunks of this family with slice - 1 as remainder
    const auto below = [&](std::int64_t n) {
      return n / options.slices + (options.slice - 1 < n % options.slices ? 1 : 0);
    };
    points_ += plan.inner * (below(plan.first + plan.chunks) - below(plan.first));
  }
  for (const Point& point : earlier.front) archive_.insert(point);
}

std::pair<const CompleteRun::Plan*, std::int64_t> CompleteRun::plan_of(std::int64_t nth) const {
  const std::int64_t number = nth * options_.slices + options_.slice - 1;
  const auto after = std::upper_bound(plans_.begin(), plans_.end(), number,
                                      [](std::int64_t n, const Plan& plan) { return n < plan.first; });
  // families without a lattice have no chunks: the last plan that begins at or before the number has it
  return {&*std::prev(after), number};
}

CompleteRun::TaskResult CompleteRun::go_through(std::int64_t nth, const std::atomic<bool>* stop) const {
  const auto [plan, number] = plan_of(nth);
  const int family = static_cast<int>(plan - plans_.data());
  const Problem& lattice = (*families_)[family].parts;
  Levels low(lattice.axes.size(), 0), high(low.size());
  std::int64_t rest = number - plan->first;
  for (std::size_t i = low.size(); i-- > 0;) {
    const int levels = static_cast<int>(lattice.axes[i].levels.size());
    if (static_cast<int>(i) < plan->outer) {
      low[i] = high[i] = static_cast<int>(rest % levels);
      rest /= levels;
    } else {
      high[i] = levels - 1;
    }
  }
  Sweep sweep(lattice, family, options_, best_[static_cast<std::size_t>((*families_)[family].group)],
              archive_, stop);
  TaskResult result;
  result.whole = sweep.go_through_box(low, high);
  if (!result.whole) return result;
  result.coverage = std::move(sweep.coverage());
  result.best = sweep.take_best();
  result.front = sweep.take_front();
  return result;
}

void CompleteRun::advance(const Resources& resources, const Watch& watch, const std::atomic<bool>* stop) {
  const auto count = static_cast<int>(std::min<std::int64_t>(kWave, chunks_ - done_));
  std::vector<TaskResult> results(std::max(0, count));
  std::mutex watch_mutex;
  std::int64_t covered = coverage_.covered;
  std::optional<double> best_cost;
  for (const std::vector<Point>& group : best_)
    if (!group.empty()) best_cost = std::min(best_cost.value_or(group[0].judged.cost), group[0].judged.cost);
  run_tasks(count, std::max(1, resources.threads), [&](int task) {
    TaskResult& result = results[task];
    result = go_through(done_ + task, stop);
    if (!watch || !result.whole) return;
    const std::lock_guard lock(watch_mutex);
    covered += result.coverage.covered;
    if (!result.best.empty()) {
      const double cost = result.best[0].judged.cost;
      best_cost = std::min(best_cost.value_or(cost), cost);
    }
    watch({"every combination", covered, points_, best_cost});
  });
  for (TaskResult& result : results) {
    if (!result.whole) break;
    ++done_;
    coverage_ += result.coverage;
    add_to_groups(*families_, result.best, best_);
    for (std::vector<Point>& group : best_) keep_first(group, options_.best_kept);
    for (const Point& point : result.front) archive_.insert(point);
    if (archive_.size() > options_.front_most) {
      front_whole_ = false;
      archive_ = thinned(archive_);
    }
  }
}

CompleteFindings CompleteRun::findings() const {
  return {done_, coverage_, all_of(best_), archive_.members(), front_whole_};
}

CompleteFindings merge(const std::vector<CompleteFindings>& slices, const std::vector<Family>& families,
                       const CompleteOptions& options) {
  CompleteFindings all;
  Archive archive(families.empty() ? 1 : families[0].parts.objectives);
  ByGroup best;
  for (const CompleteFindings& slice : slices) {
    all.chunks_done += slice.chunks_done;
    all.coverage += slice.coverage;
    all.front_whole &= slice.front_whole;
    add_to_groups(families, slice.best, best);
    for (const Point& point : slice.front) archive.insert(point);
  }
  for (std::vector<Point>& group : best) keep_first(group, options.best_kept);
  all.best = all_of(best);
  all.front = archive.members();
  return all;
}

}  // namespace antiphase::engine
