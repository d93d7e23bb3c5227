#include "objectives/explain.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>
#include <utility>

#include "objectives/part_levels.h"
#include "objectives/sizing_inputs.h"
#include "optimize/engine/lattice/levels.h"

namespace antiphase {
namespace {

constexpr double kNoGain = 1e-9;           // of a score: what is less is rounding
constexpr double kSameValue = 1e-9;        // relative: what is less is rounding
constexpr double kMostLoosening_pct = 50;  // beyond that it is another demand, not the same one loosened
constexpr std::size_t kMostLoosenings = 4;

class Neighbours {
 public:
  Neighbours(const DesignProblem& problem, const engine::Point& point)
      : problem_(problem),
        lattice_(problem.families()[static_cast<std::size_t>(point.family)].parts),
        family_(point.family),
        levels_(engine::nearest_levels(lattice_, point.x)),
        x_(point.x),
        start_(judge_fully(problem, problem.design_at(family_, x_))) {}

  std::size_t parts() const { return x_.size(); }
  const DesignField& field(std::size_t part) const { return *problem_.part_fields(family_)[part]; }
  double value(std::size_t part) const { return x_[part]; }
  const Judgement& start() const { return start_; }
  const Judgement& last() const { return changed_; }  ///< of the change that was judged last

  /// The next value down (-1) or up (+1); beyond the levels the one that would follow.
  std::optional<PartChange> next(std::size_t part, int way) const {
    const engine::Axis& axis = lattice_.axes[part];
    PartChange change{&field(part), 0, false};
    const int level = levels_[part] + way, count = static_cast<int>(axis.levels.size());
    if (level >= 0 && level < count) {
      change.value = axis.levels[static_cast<std::size_t>(level)];
      return change;
    }
    if (!has_own_range(*change.field) || count < 2) return std::nullopt;
    change.beyond = true;
    const Range* own = problem_.space().own_range(*change.field);
    if (own && own->values.empty() && !(own->step > 0)) {
      const auto value = beyond_range(*own, *change.field, way);
      if (!value) return std::nullopt;
      change.value = *value;
    } else if (change.field->role == FieldRole::resistor) {
      const double here = x_[part], inside = axis.levels[static_cast<std::size_t>(way > 0 ? count - 2 : 1)];
      const auto [below, above] = engine::around(problem_.space().resistor_series, here * here / inside);
      change.value = way > 0 ? above : below;
    } else {
      const auto outer = static_cast<std::size_t>(way > 0 ? count - 1 : 1);
      change.value = x_[part] + way * (axis.levels[outer] - axis.levels[outer - 1]);
    }
    if (change.value < change.field->low || change.value > change.field->high) return std::nullopt;
    return change;
  }

  Change with(std::vector<PartChange> parts) {
    Design design = problem_.design_at(family_, x_);
    for (const PartChange& p : parts) p.field->at(design) = p.value;
    judge_fully(problem_, design, Depth::at_target, changed_);
    Change change;
    change.parts = std::move(parts);
    change.score = difference(changed_.score, start_.score);
    for (std::size_t i = 0; i < changed_.figures.size(); ++i) {
      change.figures.push_back(difference(changed_.figures[i], start_.figures[i]));
      change.bought.push_back(difference(start_.terms[i], changed_.terms[i]));
    }
    for (const LimitResult& r : changed_.limits)
      if (!r.kept) change.broken.push_back(r);
    change.target = changed_.evaluation.at_target.solved;
    return change;
  }

 private:
  /// The first value that could be had below (-1) or above (+1) a part's own range; empty: none.
  std::optional<double> beyond_range(const Range& own, const DesignField& part, int way) const {
    const Range wider{own.low - 0.5 * std::fabs(own.low), own.high + std::fabs(own.high), 0, {}};
    std::optional<double> next;
    for (const double v : own_levels(problem_.space(), wider, part, start_.design)) {
      const bool outside = way > 0 ? v > own.high + kSameValue * std::fabs(own.high)
                                   : v < own.low - kSameValue * std::fabs(own.low);
      if (outside && (way < 0 || !next)) next = v;
    }
    return next;
  }

  /// Others follow from what is asked for at rest, and no range of the brief ends them.
  bool has_own_range(const DesignField& part) const {
    return row_that_gives(part) != nullptr || problem_.space().own_range(part) != nullptr;
  }

  const DesignProblem& problem_;
  const engine::Problem& lattice_;
  int family_;
  engine::Levels levels_;
  std::vector<double> x_;
  Judgement start_, changed_;
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

/// Whether a row is found among `others` with the same value against the same limit.
bool stays(const LimitResult& row, const std::vector<LimitResult>& others) {
  const auto same = [](double a, double b) { return std::fabs(a - b) <= kSameValue * std::fabs(a); };
  return std::any_of(others.begin(), others.end(), [&](const LimitResult& r) {
    return r.name == row.name && r.section == row.section && r.at_least == row.at_least &&
           r.known == row.known && same(row.value, r.value) && same(row.limit, r.limit);
  });
}

/// Whether a row holds a figure at the one value that the brief fixes: no design has anything in hand there.
bool pinned(const LimitResult& r, const Demands& demands) {
  return std::any_of(demands.limits.begin(), demands.limits.end(), [&](const FigureLimit& l) {
    if (l.figure->name != r.name || l.one_of.size() != 1) return false;
    const double fixed = std::fabs(l.one_of.front()), room = l.near_share * fixed;
    return std::fabs(r.limit - fixed) <= room * (1 + kSameValue);
  });
}

double merit(const Loosening& l) {
  constexpr double kStep_pct = 2;  // so that a tiny loosening that buys next to nothing does not come first
  return -*l.change.score / (kStep_pct + l.loosen_pct);
}

}  // namespace

Explanation explain(const DesignProblem& problem, const engine::Point& point) {
  Explanation out;
  Neighbours around(problem, point);
  const std::vector<LimitResult> limits = around.start().limits;
  const bool met = std::all_of(limits.begin(), limits.end(), [](const LimitResult& r) { return r.kept; });
  std::vector<bool> moves(limits.size());  // some step changes the value, or what it is held against

  std::map<InTheWay, Loosening> found;
  const auto weigh = [&](const Change& change) {
    ++out.neighbours;
    for (std::size_t i = 0; i < limits.size(); ++i)
      moves[i] = moves[i] || !stays(limits[i], around.last().limits);
    if (!change.score || *change.score >= -kNoGain || change.target != Solved::yes) return;
    if (change.broken.empty() && !goes_beyond(change)) {
      ++out.better_and_kept;
      return;
    }
    const std::optional<double> pct = loosening_pct(change);
    if (!pct || *pct > kMostLoosening_pct) return;
    Loosening l{change, *pct};
    const auto [best, fresh] = found.try_emplace(in_the_way(change), l);
    if (!fresh && merit(l) > merit(best->second)) best->second = std::move(l);
  };

  constexpr std::array kWays{-1, 1};
  for (std::size_t a = 0; a < around.parts(); ++a) {
    PartSteps steps{&around.field(a), around.value(a), {}};
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
  for (std::size_t i = 0; i < limits.size(); ++i)
    if (limits[i].kept && limits[i].known && limits[i].margin_pct < kBinding_pct && moves[i] &&
        !pinned(limits[i], problem.demands()))
      out.binding.push_back(limits[i]);
  std::stable_sort(out.binding.begin(), out.binding.end(),
                   [](const LimitResult& a, const LimitResult& b) { return a.margin_pct < b.margin_pct; });
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

}  // namespace antiphase
