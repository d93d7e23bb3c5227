#include "objectives/sensible.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

bool figure_within(const SensibleFigure& row, const SensibleBounds& bounds, const Design& design,
                   const Evaluation& evaluation) {
  if (row.figure == &kBalancePct && outputs(design.circuit) < 2) return true;
  const std::optional<double> measured = row.figure->measure(design, evaluation);
  if (!measured || !std::isfinite(*measured)) return false;
  const double value = row.figure->direction == Direction::nearer_zero ? std::fabs(*measured) : *measured;
  return row.at_least ? value >= bounds.*row.bound : value <= bounds.*row.bound;
}

/// The least value of such a part; 0: nothing is asked of it.
double least_value(const SensibleBounds& bounds, Role role) {
  for (const SensiblePart& part : kSensibleParts)
    if (role != Role::none && std::find(part.roles.begin(), part.roles.end(), role) != part.roles.end())
      return bounds.*part.bound;
  return 0;
}

bool part_within(const Element& e, const SensibleBounds& bounds, const Design& given, const Design& design) {
  if (!e.member || !e.stands(design)) return true;
  const double value = e.value(design);
  if (!(value > 0)) return true;  // a capacitor that is not chosen is not a small one
  return value >= least_value(bounds, e.role) || e.member->value(given) == e.member->value(design);
}

}  // namespace

bool has_own_limit(const Demands& demands, const Figure& figure, CircuitKind kind) {
  return std::any_of(demands.limits.begin(), demands.limits.end(),
                     [&](const FigureLimit& l) { return l.figure->name == figure.name && is_held(l, kind); });
}

bool within_bounds(const SensibleBounds& bounds, const Demands& demands, const Design& given,
                   const Design& design, const Evaluation& evaluation) {
  for (const SensibleFigure& row : kSensibleFigures)
    if (!has_own_limit(demands, *row.figure, design.circuit) &&
        !figure_within(row, bounds, design, evaluation))
      return false;
  const Circuit& list = circuit_of(design);
  return std::all_of(list.begin(), list.end(),
                     [&](const Element& e) { return part_within(e, bounds, given, design); });
}

}  // namespace antiphase
