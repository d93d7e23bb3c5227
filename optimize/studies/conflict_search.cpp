#include "optimize/studies/conflict_search.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "objectives/sensible.h"
#include "results/describe/conflict.h"
#include "results/make_record.h"

namespace antiphase {
namespace {

constexpr double kLeastSwing = 0.1;      // of the target: a demand left out, though figures need some swing
constexpr int kSwingHalvings = 5;        // of the way from there to the target: to 2.8 % of it
constexpr std::size_t kMostLooked = 60;  // misses whose broken limits are looked at
constexpr std::string_view kTargetSwing = "target swing";

enum class Kind { swing, figure, rating, parts };

struct Demand {
  Kind kind;
  const Figure* figure = nullptr;  // of a limit or range
  const Limit* rating = nullptr;
  std::string_view row;  // its name in the table of limits
};

/// Short searches, in which only the lattice's keeping of limits counts.
engine::SearchOptions short_search(std::uint64_t seed) {
  engine::SearchOptions o;
  o.seed = seed;
  o.global_evaluations_per_family = 200;
  o.screening_evaluations_per_family = 300;
  o.refined_points_per_family = 1;
  o.local_evaluations = 100;
  o.lattice_starts_per_family = 2;
  o.lattice_evaluations_per_start = 500;
  o.front_directions = 0;
  o.families_kept = 4;
  o.best_kept = 1;
  o.front_kept = o.cloud_kept = 0;
  return o;
}

class Conflicts {
 public:
  Conflicts(const Brief& brief, const DesignProblem& problem, const std::vector<engine::Point>& misses,
            int threads, const engine::Watch& watch, const std::atomic<bool>& stop)
      : brief_(brief),
        problem_(problem),
        misses_(misses.begin(),
                misses.begin() + static_cast<std::ptrdiff_t>(std::min(kMostLooked, misses.size()))),
        threads_(threads),
        watch_(watch),
        stop_(stop) {
    constexpr int kUsual = 10;  // searches that are not ended early
    const engine::SearchOptions options = short_search(brief.seed);
    expected_ = kUsual * engine::planned_evaluations(problem.families(), {&options, 1});
  }

  /// All of them; those first that a designer would soonest do without: ranges, ratings, limits, the swing.
  std::vector<Demand> demands() const {
    std::vector<Demand> all;
    const auto asked = [&](const Figure* f) {
      return std::any_of(brief_.demands.limits.begin(), brief_.demands.limits.end(),
                         [&](const FigureLimit& l) { return l.figure == f; });
    };
    const auto add_figures = [&](bool of_brief) {
      for (const FigureLimit& l : problem_.demands().limits)
        if (asked(l.figure) == of_brief &&
            std::none_of(all.begin(), all.end(), [&](const Demand& d) { return d.figure == l.figure; }))
          all.push_back({Kind::figure, l.figure, nullptr, l.figure->name});
    };
    add_figures(false);
    for (const Limit& l : limits()) all.push_back({Kind::rating, nullptr, &l, l.name});
    if (problem_.demands().parts.on_hand) all.push_back({Kind::parts, nullptr, nullptr, kPartsOnHand});
    add_figures(true);
    all.push_back({Kind::swing, nullptr, nullptr, kTargetSwing});
    return all;
  }

  /// Whether a short search finds a design that keeps all demands but those left out.
  bool met_without(const std::vector<Demand>& left_out) { return met(relaxed(left_out, kLeastSwing)); }

  /// The nearest design that keeps all demands but one.
  std::optional<Record> nearest_without(const Demand& demand) {
    return demand.kind == Kind::swing ? most_swing() : least_excess(demand);
  }

  bool interrupted() const { return stop_.load(std::memory_order_relaxed); }
  int searches() const { return searches_; }
  std::int64_t evaluations() const { return evaluations_; }
  void kept_out(std::vector<Demand> dropped) { dropped_ = std::move(dropped); }

 private:
  std::unique_ptr<DesignProblem> relaxed(const std::vector<Demand>& left_out, double swing_share) const {
    DesignSpace space = brief_.space;
    Demands demands = brief_.demands;
    // One figure that every design has: what counts is whether limits are kept.
    demands.objectives = {{find_figure("supply_v"), 1, 100}};
    for (const Demand& d : left_out) {
      if (d.kind == Kind::swing) space.given.swing_peak_v *= swing_share;
      if (d.kind == Kind::figure) leave_out(*d.figure, demands);
      if (d.kind == Kind::rating) leave_out(*d.rating, demands.factors);
      if (d.kind == Kind::parts) demands.parts_left_out = true;
    }
    return std::make_unique<DesignProblem>(std::move(space), std::move(demands));
  }

  /// `until_met`: the first feasible design ends it, which one of the near misses may be already; whether
  /// there is one does not depend on when.
  engine::SearchOutcome search(const std::vector<engine::Family>& families, bool until_met) {
    std::atomic<bool> enough = false;
    const engine::Watch look = [&](const engine::Snapshot& s) {
      if (stop_.load(std::memory_order_relaxed) || (until_met && s.best_cost)) enough = true;
      engine::Snapshot all = s;
      all.stage = "looking for what conflicts";
      all.evaluations += evaluations_;
      all.evaluations_expected = expected_;
      all.best_cost.reset();
      if (watch_) watch_(all);
    };
    const engine::SearchOptions options = short_search(brief_.seed);
    const engine::SearchOutcome found =
        engine::search(families, {&options, 1}, until_met ? misses_ : std::vector<engine::Point>{},
                       {.threads = threads_}, look, &enough);
    ++searches_;
    if (!until_met || found.best.empty() || !found.best.front().judged.feasible())
      evaluations_ += found.evaluations_ideal + found.evaluations_parts;
    return found;
  }

  bool met(const std::unique_ptr<DesignProblem>& problem) {
    const engine::SearchOutcome found = search(problem->families(), true);
    return !found.best.empty() && found.best.front().judged.feasible();
  }

  /// So that a witness is what a builder could want, if there is one: any such design comes before all
  /// others.
  engine::Judged preferring_sensible(engine::Judged judged, const Design& design,
                                     const Evaluation& evaluation) const {
    constexpr double kFarther = 1e7;  // more than any cost here
    if (judged.feasible() && !within_bounds(brief_.sensible, problem_.demands(),
                                            problem_.given(design.circuit), design, evaluation))
      judged.cost += kFarther;
    return judged;
  }

  Record record_of(const DesignProblem& problem, const engine::Point& point) const {
    const Design design = problem.with_capacitors(problem.design_at(point.family, point.x));
    return make_record(design, problem_.demands(), Depth::with_hand);
  }

  std::optional<Record> most_swing() {
    const Demand swing{Kind::swing, nullptr, nullptr, kTargetSwing};
    std::vector<Demand> out = dropped_;
    out.push_back(swing);
    double low = kLeastSwing, high = 1;
    if (!met(relaxed(out, low))) return std::nullopt;
    for (int n = 0; n < kSwingHalvings && !interrupted(); ++n) {
      const double share = 0.5 * (low + high);
      (met(relaxed(out, share)) ? low : high) = share;
    }
    // The whole search once more: where it ends early the design depends on when.
    const auto problem = relaxed(out, low);
    std::vector<engine::Family> families = problem->families();
    for (std::size_t f = 0; f < families.size(); ++f)
      families[f].parts.make_judge = [&, f]() -> engine::Judge {
        return [&, f, scratch = Evaluation{}](std::span<const double> x) mutable {
          const Design design = problem->with_capacitors(problem->design_at(static_cast<int>(f), x));
          const engine::Judged judged = problem->judge(design, scratch);
          if (judged.feasible() && problem->depth() < Depth::full) evaluate(design, Depth::full, scratch);
          return preferring_sensible(judged, design, scratch);
        };
      };
    const engine::SearchOutcome found = search(families, false);
    if (found.best.empty() || !found.best.front().judged.feasible()) return std::nullopt;
    return record_of(*problem, found.best.front());
  }

  std::optional<Record> least_excess(const Demand& demand) {
    std::vector<Demand> out = dropped_;
    out.push_back(demand);
    const auto problem = relaxed(out, 1);
    std::vector<engine::Family> families = problem->families();
    for (std::size_t f = 0; f < families.size(); ++f)
      families[f].parts.make_judge = [&, f]() -> engine::Judge {
        return [&, f, scratch = Evaluation{}](std::span<const double> x) mutable {
          Design design = problem->design_at(static_cast<int>(f), x);
          engine::Judged judged = problem->judge(design, scratch);  // with the parts that are chosen for it
          // What the choice of parts settles by itself the problem need not solve for.
          const bool further = judged.feasible() && std::max(needs(demand), Depth::full) > problem->depth();
          // The parts themselves matter only to what counts them and to figures against frequency.
          if (demand.kind == Kind::parts || needs(demand) >= Depth::with_frequency)
            design = problem->with_capacitors(design);
          // the bounds look at the headroom
          if (further) evaluate(design, std::max(needs(demand), Depth::full), scratch);
          judged.cost = excess_of(demand, design, scratch);
          judged = preferring_sensible(judged, design, scratch);
          judged.objective[0] = judged.cost;
          return judged;
        };
      };
    const engine::SearchOutcome found = search(families, false);
    if (found.best.empty() || !found.best.front().judged.feasible()) return std::nullopt;
    return record_of(*problem, found.best.front());
  }

  /// How far a design has to be solved to hold it against a demand.
  static Depth needs(const Demand& demand) {
    return demand.figure ? demand.figure->needs : demand.rating ? demand.rating->needs : Depth::at_target;
  }

  double excess_of(const Demand& demand, const Design& design, const Evaluation& evaluation) const {
    constexpr double kMost = 1e6;
    double sum = 0;
    for (const LimitResult& r : check_demands(problem_.demands(), design, evaluation))
      if (r.name == demand.row) sum += excess(r);
    return std::isfinite(sum) ? std::min(sum, kMost) : kMost;
  }

  const Brief& brief_;
  const DesignProblem& problem_;
  std::vector<engine::Point> misses_;  // near misses of the brief, nearest first
  int threads_;
  const engine::Watch& watch_;
  const std::atomic<bool>& stop_;
  std::vector<Demand> dropped_;  // by the filter: they play no part in the conflict
  int searches_ = 0;
  std::int64_t evaluations_ = 0;  // of searches that were not ended early: when that is depends on time
  std::int64_t expected_ = 0;     // an estimate
};

/// Demands that some near miss breaks; the others are left out all at once first.
bool broken_somewhere(const Demand& demand, const std::vector<Record>& misses) {
  if (demand.kind == Kind::swing) return true;
  return std::any_of(misses.begin(), misses.end(), [&](const Record& r) {
    return std::any_of(r.limits.begin(), r.limits.end(),
                       [&](const LimitResult& l) { return !l.kept && l.name == demand.row; });
  });
}

/// Whether a design proves that doing without one demand is enough: it breaks no other limit.
bool keeps_all_but(const Demand& demand, const Record& record) {
  return std::all_of(record.limits.begin(), record.limits.end(),
                     [&](const LimitResult& r) { return r.kept || r.name == demand.row; });
}

std::vector<Record> records_of(const DesignProblem& problem, const std::vector<engine::Point>& misses) {
  std::vector<Record> records;
  for (std::size_t n = 0; n < std::min(kMostLooked, misses.size()); ++n)
    records.push_back(make_record(problem, problem.design_at(misses[n].family, misses[n].x), Depth::full));
  return records;
}

/// Which demands conflict, and which play no part in it.
struct NarrowedDown {
  std::vector<Demand> needed, dropped;
};

class Narrowing {
 public:
  Narrowing(Conflicts& conflicts, const std::atomic<bool>& stop) : conflicts_(conflicts), stop_(stop) {}

  /// Without use if `stop` was set before the end.
  NarrowedDown narrow_down(const std::vector<Record>& misses) {
    std::vector<Demand> kept = conflicts_.demands(), never_broken;
    for (const Demand& d : kept)
      if (!broken_somewhere(d, misses)) never_broken.push_back(d);
    if (!conflicts_.met_without(never_broken)) {
      std::erase_if(kept, [&](const Demand& d) { return !broken_somewhere(d, misses); });
      narrowed_.dropped = std::move(never_broken);
    }
    narrow(kept);
    return std::move(narrowed_);
  }

 private:
  /// In order, as many at once as can go: a search that finds nothing takes the longest, and so one of them
  /// does for all that play no part.
  void narrow(std::span<const Demand> some) {
    if (stop_ || some.empty()) return;
    std::vector<Demand> left_out = narrowed_.dropped;
    left_out.insert(left_out.end(), some.begin(), some.end());
    if (!conflicts_.met_without(left_out)) {
      narrowed_.dropped = std::move(left_out);
    } else if (some.size() == 1) {
      narrowed_.needed.push_back(some.front());
    } else {
      narrow(some.first(some.size() / 2));
      narrow(some.last(some.size() - some.size() / 2));
    }
  }

  Conflicts& conflicts_;
  const std::atomic<bool>& stop_;
  NarrowedDown narrowed_;
};

struct Nearest {
  std::optional<Record> record;
  bool others_too = false;  // it keeps those outside the conflict as well
};

/// How far the nearest design falls short of one demand, all others kept, those outside the conflict too
/// where that can be.
Nearest nearest_without(const Demand& demand, const std::vector<Demand>& dropped, Conflicts& conflicts) {
  conflicts.kept_out({});
  if (auto record = conflicts.nearest_without(demand)) return {std::move(record), true};
  conflicts.kept_out(dropped);
  return {conflicts.nearest_without(demand), false};
}

/// `proved`: of each side, that doing without it alone is enough.
std::string how_sure(const Conflict& conflict, bool proved) {
  const bool one = conflict.sides.size() == 1;
  const std::string found =
      std::to_string(conflict.searches) + " short searches tell: a search that finds nothing proves nothing.";
  if (proved)
    return (one ? "Doing without it is enough, as the design named here proves. That it has to give is what "
                : "Doing without any one of them is enough, as the designs named here prove. That one of "
                  "them "
                  "has to give is what ") +
           found;
  return std::string(one ? "That it" : "That one of them") + " has to give is what " + found +
         " Nor is it proved that this would be enough, where no design named here keeps all the other "
         "limits.";
}

}  // namespace

std::optional<Conflict> find_conflict(const Brief& brief, const DesignProblem& problem,
                                      const std::vector<engine::Point>& misses, int threads,
                                      const engine::Watch& watch, const std::atomic<bool>& stop) {
  Conflict conflict;
  if (problem.families().empty()) return conflict;  // its own words stand in left_out()
  Conflicts conflicts(brief, problem, misses, threads, watch, stop);
  const bool met_by_some = conflicts.met_without(conflicts.demands());
  if (stop) return std::nullopt;
  bool proved = true;
  if (met_by_some) {
    const NarrowedDown narrowed = Narrowing(conflicts, stop).narrow_down(records_of(problem, misses));
    for (const Demand& demand : narrowed.needed) {
      if (stop) return std::nullopt;
      auto [nearest, others_too] = nearest_without(demand, narrowed.dropped, conflicts);
      proved = proved && nearest && keeps_all_but(demand, *nearest);
      conflict.sides.push_back(conflict_side(problem.demands(), demand.row, demand.kind == Kind::swing,
                                             brief.space.given.swing_peak_v, std::move(nearest), others_too));
    }
    if (stop) return std::nullopt;
  }
  conflict.searches = conflicts.searches();
  conflict.evaluations = conflicts.evaluations();
  conflict.note = met_by_some
                      ? how_sure(conflict, proved)
                      : "No demand in particular is to blame: even with every limit left out and a tenth of "
                        "the swing no design was found.";
  return conflict;
}

}  // namespace antiphase
