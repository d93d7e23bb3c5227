#include "objectives/explain.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>
#include <utility>

#include "optimize/engine/lattice/levels.h"

namespace antiphase {
namespace {

constexpr double kNoGain = 1e-9;           // of a score: what is less is rounding
constexpr double kMostLoosening_pct = 50;  // beyond that it is another demand, not the same one loosened
constexpr std::size_t kMostLoosenings = 4;

/// What a neighbour is compared with.
struct Start {
  Design design;
  std::vector<std::optional<double>> figures, terms;
  std::optional<double> score;
};

std::optional<double> term(const Objective& o, const std::optional<double>& figure) {
  if (!figure || !std::isfinite(*figure)) return std::nullopt;
  return o.weight * as_cost(*o.figure, *figure) / o.scale;
}

std::optional<double> difference(const std::optional<double>& a, const std::optional<double>& b) {
  return a && b ? std::optional(*a - *b) : std::nullopt;
}

class Neighbours {
 public:
  Neighbours(const DesignProblem& problem, const engine::Point& point)
      : problem_(problem),
        lattice_(problem.families()[static_cast<std::size_t>(point.family)].parts),
        family_(point.family),
        levels_(engine::nearest_levels(lattice_, point.x)),
        x_(point.x) {
    Change none;
    look(problem_.with_capacitors(problem_.design_at(family_, x_)), start_, none);
    limits_ = check_demands(problem_.demands(), start_.design, scratch_);
  }

  std::size_t parts() const { return x_.size(); }
  const DesignField* field(std::size_t part) const { return find_design_field(lattice_.axes[part].name); }
  double value(std::size_t part) const { return x_[part]; }
  const std::vector<LimitResult>& limits() const { return limits_; }

  /// The next value down (-1) or up (+1); beyond the levels the one that would follow.
  std::optional<PartChange> next(std::size_t part, int way) const {
    const engine::Axis& axis = lattice_.axes[part];
    PartChange change{field(part), 0, false};
    if (!change.field) return std::nullopt;
    const int level = levels_[part] + way, count = static_cast<int>(axis.levels.size());
    if (level >= 0 && level < count) {
      change.value = axis.levels[static_cast<std::size_t>(level)];
      return change;
    }
    if (!open_beyond(axis.name) || count < 2) return std::nullopt;
    change.beyond = true;
    if (change.field->role == FieldRole::resistor) {
      const double here = x_[part], inside = axis.levels[static_cast<std::size_t>(way > 0 ? count - 2 : 1)];
      const auto [below, above] = engine::around(problem_.space().resistor_series, here * here / inside);
      change.value = way > 0 ? above : below;
    } else {
      const auto at = static_cast<std::size_t>(way > 0 ? count - 1 : 1);
      change.value = x_[part] + way * (axis.levels[at] - axis.levels[at - 1]);
    }
    if (change.value < change.field->low || change.value > change.field->high) return std::nullopt;
    return change;
  }

  Change with(std::vector<PartChange> parts) {
    Design design = problem_.design_at(family_, x_);
    for (const PartChange& p : parts) p.field->at(design) = p.value;
    Change change;
    change.parts = std::move(parts);
    Start there;
    look(problem_.with_capacitors(design), there, change);
    for (const LimitResult& r : check_demands(problem_.demands(), there.design, scratch_))
      if (!r.kept) change.broken.push_back(r);
    return change;
  }

 private:
  /// Only these have a range of their own in a brief; bias and tail follow from what is wished at rest.
  static bool open_beyond(std::string_view pointer) {
    return pointer == "/supply_v" || pointer == "/plate_ohm/0" || pointer == "/plate_ohm/1" ||
           pointer == "/first_stage/plate_ohm";
  }

  void look(const Design& design, Start& there, Change& change) {
    const Demands& demands = problem_.demands();
    evaluate(design, problem_.depth(), scratch_);
    there.design = design;
    for (std::size_t i = 0; i < demands.objectives.size(); ++i) {
      const Objective& o = demands.objectives[i];
      std::optional<double> figure = o.figure->measure(design, scratch_);
      if (figure && !std::isfinite(*figure)) figure.reset();
      there.figures.push_back(figure);
      there.terms.push_back(term(o, figure));
      if (start_.figures.size() <= i) continue;  // this is the start itself
      change.figures.push_back(difference(figure, start_.figures[i]));
      change.bought.push_back(difference(start_.terms[i], there.terms[i]));
    }
    there.score = score(demands, design, scratch_);
    if (there.score && !std::isfinite(*there.score)) there.score.reset();
    change.score = difference(there.score, start_.score);
    change.target = scratch_.at_target.solved;
  }

  const DesignProblem& problem_;
  const engine::Problem& lattice_;
  int family_;
  engine::Levels levels_;
  std::vector<double> x_;
  Start start_;
  std::vector<LimitResult> limits_;
  Evaluation scratch_;
};

bool goes_beyond(const Change& c) {
  return std::any_of(c.parts.begin(), c.parts.end(), [](const PartChange& p) { return p.beyond; });
}

/// By how much the worst of the broken limits would have to give; empty: one of them has no figure.
std::optional<double> loosening_pct(const Change& c) {
  double most = 0;
  for (const LimitResult& r : c.broken) {
    if (!r.known) return std::nullopt;
    most = std::max(most, 100 * excess(r));
  }
  return most;
}

/// Which limits (and ranges) stand in the way.
using InTheWay = std::vector<std::pair<std::string_view, int>>;

InTheWay in_the_way(const Change& c) {
  InTheWay names;
  for (const LimitResult& r : c.broken) names.emplace_back(r.name, 0);
  for (const PartChange& p : c.parts)
    if (p.beyond) names.emplace_back(p.field->pointer, 1);
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

double merit(const Loosening& l) {
  constexpr double kStep_pct = 2;  // so that a hair's breadth with next to nothing bought does not come first
  return -*l.change.score / (kStep_pct + l.loosen_pct);
}

}  // namespace

Explanation explain(const DesignProblem& problem, const engine::Point& point) {
  Explanation out;
  Neighbours around(problem, point);
  for (const LimitResult& r : around.limits())
    if (r.kept && r.known && r.margin_pct < kBinding_pct) out.binding.push_back(r);
  std::stable_sort(out.binding.begin(), out.binding.end(),
                   [](const LimitResult& a, const LimitResult& b) { return a.margin_pct < b.margin_pct; });
  const bool met = std::all_of(around.limits().begin(), around.limits().end(),
                               [](const LimitResult& r) { return r.kept; });

  std::map<InTheWay, Loosening> found;
  const auto weigh = [&](const Change& change) {
    ++out.neighbours;
    if (!change.score || *change.score >= -kNoGain || change.target != Solved::yes) return;
    if (change.broken.empty() && !goes_beyond(change)) {
      ++out.better_and_kept;
      return;
    }
    const std::optional<double> pct = loosening_pct(change);
    if (!pct || *pct > kMostLoosening_pct) return;
    Loosening l{change, *pct};
    const auto [at, fresh] = found.try_emplace(in_the_way(change), l);
    if (!fresh && merit(l) > merit(at->second)) at->second = std::move(l);
  };

  constexpr std::array kWays{-1, 1};
  for (std::size_t a = 0; a < around.parts(); ++a) {
    PartSteps steps{around.field(a), around.value(a), {}};
    if (!steps.field) continue;
    for (std::size_t k = 0; k < kWays.size(); ++k)
      if (const auto change = around.next(a, kWays[k])) {
        steps.step[k] = around.with({*change});
        weigh(*steps.step[k]);
      }
    out.steps.push_back(std::move(steps));
    for (std::size_t b = a + 1; b < around.parts(); ++b)
      for (const int way_a : kWays)
        for (const int way_b : kWays) {
          const auto first = around.next(a, way_a), second = around.next(b, way_b);
          if (first && second) weigh(around.with({*first, *second}));
        }
  }
  if (!met) return out;  // of a design that breaks limits itself nothing is to be bought

  // The fewest limits first: what needs two to give where one is enough tells nothing new.
  std::vector<std::pair<InTheWay, Loosening>> all(found.begin(), found.end());
  for (const auto& one : all) {
    const InTheWay& names = one.first;  // clang 14 captures no structured bindings
    const Loosening& l = one.second;
    const bool less_will_do = std::any_of(all.begin(), all.end(), [&](const auto& other) {
      return other.first.size() < names.size() &&
             std::includes(names.begin(), names.end(), other.first.begin(), other.first.end()) &&
             *other.second.change.score <= *l.change.score;
    });
    if (!less_will_do) out.loosenings.push_back(l);
  }
  std::stable_sort(out.loosenings.begin(), out.loosenings.end(), [](const Loosening& a, const Loosening& b) {
    const auto key = [](const Loosening& l) { return std::pair(in_the_way(l.change).size() > 1, -merit(l)); };
    return key(a) < key(b);
  });
  if (out.loosenings.size() > kMostLoosenings) out.loosenings.resize(kMostLoosenings);
  return out;
}

Lead lead_over(const Demands& demands, const Design& own, const Evaluation& own_figures, const Design& next,
               const Evaluation& next_figures) {
  Lead lead;
  lead.total = difference(score(demands, next, next_figures), score(demands, own, own_figures));
  for (const Objective& o : demands.objectives)
    lead.figures.push_back(difference(term(o, o.figure->measure(next, next_figures)),
                                      term(o, o.figure->measure(own, own_figures))));
  return lead;
}

}  // namespace antiphase
