#include "optimize/studies/robust_search.h"

#include <algorithm>
#include <memory>
#include <set>
#include <tuple>

#include "objectives/ranking.h"
#include "optimize/engine/lattice/steps.h"
#include "optimize/engine/order.h"
#include "optimize/engine/run_tasks.h"

namespace antiphase {
namespace {

constexpr std::size_t kBestScreened = 64, kFrontScreened = 64, kCloudScreened = 64;
constexpr int kFewBuilds = 64, kMoreBuilds = 256;
constexpr std::size_t kHalved = 4;  // of those with few builds, one in so many gets more
constexpr int kRounds = 4;
constexpr std::size_t kCentres = 4;  // of each round: designs around which it looks
constexpr std::size_t kLeastFinalists = 24, kFinalistsPerCandidate = 3;

class RobustSearch {
 public:
  RobustSearch(const DesignProblem& problem, const Demands& demands, const BuildsRequest& request,
               std::uint64_t seed, int threads, const engine::Watch& watch, const std::atomic<bool>& stop)
      : problem_(problem),
        demands_(demands),
        wish_(request),
        seed_(seed),
        threads_(threads),
        watch_(watch),
        stop_(stop) {}

  RobustOutcome run(const engine::SearchOutcome& found, int candidates) {
    gather(found);
    RobustOutcome out;
    if (known_.empty()) return out;
    std::vector<std::size_t> promising, first_of_groups;
    for (int group = 0; group < groups(); ++group) {
      const std::vector<std::size_t> of_group = promising_of(group);
      if (!of_group.empty()) first_of_groups.push_back(of_group.front());
      promising.insert(promising.end(), of_group.begin(), of_group.end());
    }
    sort(promising);
    const std::size_t finalists =
        std::max(kLeastFinalists, kFinalistsPerCandidate * static_cast<std::size_t>(candidates));
    promising = with_distinct(promising, finalists, static_cast<std::size_t>(candidates));
    first_of_groups.push_back(nominally_best());
    for (const std::size_t n : first_of_groups)
      if (std::find(promising.begin(), promising.end(), n) == promising.end()) promising.push_back(n);
    sample(promising, wish_.builds);
    sort(promising);
    number();
    out.interrupted = stop_;
    // ended early: what has not all of its builds cannot be compared
    std::erase_if(promising, [&](std::size_t n) { return known_[n].figures.builds < wish_.builds; });
    for (const std::size_t n : promising)
      out.ranked.push_back({known_[n].point, known_[n].nominal_rank, known_[n].figures});
    for (const Known& k : known_) {
      out.designs += k.sample != nullptr;
      out.builds += k.figures.builds;
    }
    return out;
  }

 private:
  struct Known {
    engine::Point point;
    int nominal_rank = 0;
    std::unique_ptr<RobustSample> sample;  // null: nothing sampled
    RobustFigures figures;
    bool looked_around = false;
  };
  using Key = std::pair<int, std::vector<double>>;

  void add(const engine::Point& p) {
    if (!p.x.empty() && p.judged.feasible() && seen_.insert({p.family, p.x}).second)
      known_.push_back({p, 0, nullptr, {}, false});
  }

  void gather(const engine::SearchOutcome& found) {
    for (const auto* list : {&found.best, &found.front, &found.cloud})
      for (const engine::Point& p : *list) add(p);
    if (groups() > 1)  // of a group that none of the best are of
      for (const engine::Point& p : found.best_by_family) add(p);
    std::sort(known_.begin(), known_.end(),
              [](const Known& a, const Known& b) { return engine::better(a.point, b.point); });
    for (const engine::Point& p : found.front)
      if (p.judged.feasible()) front_.insert({p.family, p.x});
  }

  int group_of(std::size_t n) const {
    return problem_.families()[static_cast<std::size_t>(known_[n].point.family)].group;
  }
  int groups() const {
    int most = 0;
    for (const engine::Family& family : problem_.families()) most = std::max(most, family.group + 1);
    return most;
  }

  /// Best first, with some builds each. Groups are gone through apart, so that each has its best.
  std::vector<std::size_t> promising_of(int group) {
    std::vector<std::size_t> promising = halved(screened(group));
    for (int round = 0; round < kRounds && !stop_; ++round) {
      const std::vector<std::size_t> near = halved(around(promising));
      if (near.empty()) break;
      promising.insert(promising.end(), near.begin(), near.end());
      sort(promising);
    }
    return promising;
  }

  /// The nominally best of a group, and an even choice of the front and of what else keeps every limit: what
  /// is best as drawn often leans on a limit.
  std::vector<std::size_t> screened(int group) const {
    std::vector<std::size_t> front, others, chosen;
    for (std::size_t n = 0; n < known_.size(); ++n) {
      if (group_of(n) != group) continue;
      if (chosen.size() < kBestScreened)
        chosen.push_back(n);
      else if (front_.contains({known_[n].point.family, known_[n].point.x}))
        front.push_back(n);
      else
        others.push_back(n);
    }
    const auto evenly = [&](const std::vector<std::size_t>& from, std::size_t count) {
      count = std::min(count, from.size());
      for (std::size_t k = 0; k < count; ++k) chosen.push_back(from[k * from.size() / count]);
    };
    evenly(front, kFrontScreened);
    evenly(others, kCloudScreened);
    return chosen;
  }

  void sample(const std::vector<std::size_t>& designs, int builds) {
    engine::run_tasks(static_cast<int>(designs.size()), threads_, [&](int task) {
      if (stop_) return;
      Known& k = known_[designs[static_cast<std::size_t>(task)]];
      if (!k.sample)
        k.sample = std::make_unique<RobustSample>(
            problem_.with_capacitors(problem_.design_at(k.point.family, k.point.x)), wish_.tolerances,
            demands_, seed_);
      k.sample->extend(builds);
      k.figures = k.sample->figures(wish_.percentile);
    });
    sampled_ += static_cast<std::int64_t>(designs.size());
    constexpr int kUsual = 900;  // in all, of designs times rounds
    if (watch_) watch_({"builds of what was found", sampled_, kUsual, known_.front().point.judged.cost});
  }

  /// Best first; all of them with equally many builds.
  void sort(std::vector<std::size_t>& designs) const {
    std::sort(designs.begin(), designs.end(), [&](std::size_t a, std::size_t b) {
      const Known &x = known_[a], &y = known_[b];
      if (better_builds(wish_.rank_by, x.figures, y.figures)) return true;
      if (better_builds(wish_.rank_by, y.figures, x.figures)) return false;
      return engine::better(x.point, y.point);
    });
  }

  /// The better part of them, with more builds, in order.
  std::vector<std::size_t> halved(std::vector<std::size_t> designs) {
    sample(designs, std::min(kFewBuilds, wish_.builds));
    sort(designs);
    designs.resize((designs.size() + kHalved - 1) / kHalved);
    sample(designs, std::min(kMoreBuilds, wish_.builds));
    sort(designs);
    return designs;
  }

  /// Designs a step away from the best of them that were not looked at yet and keep every limit as drawn.
  std::vector<std::size_t> around(const std::vector<std::size_t>& promising) {
    std::vector<engine::Point> near;
    std::size_t centres = 0;
    for (const std::size_t n : promising) {
      if (centres == kCentres) break;
      if (known_[n].looked_around) continue;
      ++centres;
      known_[n].looked_around = true;
      const engine::Point centre = known_[n].point;
      const engine::Problem& lattice = problem_.families()[static_cast<std::size_t>(centre.family)].parts;
      const engine::Levels at = engine::nearest_levels(lattice, centre.x);
      for (const engine::Levels& move : engine::steps_of(lattice).near) {
        engine::Levels to = at;
        bool inside = true;
        for (std::size_t a = 0; a < to.size(); ++a) {
          to[a] += move[a];
          inside &= to[a] >= 0 && to[a] < static_cast<int>(lattice.axes[a].levels.size());
        }
        if (!inside) continue;
        engine::Point p{std::vector<double>(to.size()), {}, centre.family};
        engine::values_of(lattice, to, p.x);
        if (!seen_.contains({p.family, p.x})) near.push_back(std::move(p));
      }
    }
    constexpr int kPiece = 32;
    engine::run_tasks((static_cast<int>(near.size()) + kPiece - 1) / kPiece, threads_, [&](int piece) {
      Evaluation scratch;
      const auto last = std::min(near.size(), static_cast<std::size_t>(piece + 1) * kPiece);
      for (std::size_t k = static_cast<std::size_t>(piece) * kPiece; k < last; ++k)
        near[k].judged = problem_.judge(problem_.design_at(near[k].family, near[k].x), scratch);
    });
    const std::size_t before = known_.size();
    for (const engine::Point& p : near) add(p);
    std::vector<std::size_t> fresh;
    for (std::size_t n = before; n < known_.size(); ++n) fresh.push_back(n);
    return fresh;
  }

  /// The first of them, and those further back that are needed for so many candidates that are other designs.
  std::vector<std::size_t> with_distinct(const std::vector<std::size_t>& sorted, std::size_t first,
                                         std::size_t candidates) const {
    std::vector<engine::Point> points;
    for (const std::size_t n : sorted) points.push_back(known_[n].point);
    std::vector<std::size_t> chosen(
        sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(std::min(first, sorted.size())));
    for (const Chosen& c : choose_distinct(problem_, points, candidates))
      if (c.index >= first) chosen.push_back(sorted[c.index]);
    return chosen;
  }

  std::size_t nominally_best() const {
    std::size_t best = 0;
    for (std::size_t n = 1; n < known_.size(); ++n)
      if (engine::better(known_[n].point, known_[best].point)) best = n;
    return best;
  }

  void number() {
    std::vector<Known*> all;
    for (Known& k : known_) all.push_back(&k);
    std::sort(all.begin(), all.end(),
              [](const Known* a, const Known* b) { return engine::better(a->point, b->point); });
    for (std::size_t n = 0; n < all.size(); ++n) all[n]->nominal_rank = static_cast<int>(n) + 1;
  }

  const DesignProblem& problem_;
  const Demands& demands_;
  const BuildsRequest& wish_;
  std::uint64_t seed_;
  int threads_;
  const engine::Watch& watch_;
  const std::atomic<bool>& stop_;
  std::vector<Known> known_;
  std::set<Key> seen_, front_;
  std::int64_t sampled_ = 0;
};

}  // namespace

RobustOutcome rank_by_builds(const DesignProblem& problem, const Demands& demands,
                             const BuildsRequest& request, const engine::SearchOutcome& found, int candidates,
                             std::uint64_t seed, int threads, const engine::Watch& watch,
                             const std::atomic<bool>& stop) {
  return RobustSearch(problem, demands, request, seed, threads, watch, stop).run(found, candidates);
}

}  // namespace antiphase
