#include "objectives/givens.h"

#include "objectives/design_problem.h"
#include "stagemodels/circuits/places.h"

namespace antiphase {
namespace {

/// The designs of a family at the low ends of all axes, and with each axis at its high end.
std::vector<Design> ends_of(const DesignProblem& problem, int family) {
  const std::vector<engine::Axis>& axes = problem.families()[family].parts.axes;
  std::vector<double> low;
  for (const engine::Axis& axis : axes) low.push_back(axis.low);
  std::vector<Design> ends{problem.design_at(family, low)};
  for (std::size_t a = 0; a < axes.size(); ++a) {
    std::vector<double> moved = low;
    moved[a] = axes[a].high;
    ends.push_back(problem.design_at(family, moved));
  }
  return ends;
}

/// What the limit says of a section in all of the designs alike, if it is broken; else nothing.
std::optional<LimitResult> broken_alike(const Limit& limit, int section, const std::vector<Design>& designs,
                                        const DesignFactors& factors) {
  const Evaluation unsolved{};
  const auto first = limit.check(designs.front(), unsolved, factors, section);
  if (!first || first->kept) return std::nullopt;
  for (const Design& design : designs) {
    const auto other = limit.check(design, unsolved, factors, section);
    if (!other || other->value != first->value || other->limit != first->limit) return std::nullopt;
  }
  return first;
}

/// The same of the first section that breaks it.
std::optional<LimitResult> broken_alike(const Limit& limit, const std::vector<Design>& designs,
                                        const DesignFactors& factors) {
  for (int s = 0; s < Circuit::kMostSections; ++s) {
    if (limit.per_section ? !has_section(designs.front(), s) : s > 0) continue;
    std::optional<LimitResult> broken = broken_alike(limit, s, designs, factors);
    if (!broken) continue;
    broken->section = limit.per_section ? section_number(s) : 0;
    return broken;
  }
  return std::nullopt;
}

}  // namespace

std::vector<LimitResult> broken_by_givens(const DesignProblem& problem) {
  const DesignFactors& factors = problem.demands().factors;
  std::vector<std::vector<Design>> ends;
  for (int f = 0; f < static_cast<int>(problem.families().size()); ++f) ends.push_back(ends_of(problem, f));
  std::vector<LimitResult> all;
  for (const Limit& limit : limits()) {
    if (left_out(limit, factors)) continue;
    std::optional<LimitResult> first;
    bool everywhere = !ends.empty();
    for (const std::vector<Design>& designs : ends) {
      const std::optional<LimitResult> broken = broken_alike(limit, designs, factors);
      everywhere = everywhere && broken;
      if (!first) first = broken;
    }
    if (!everywhere) continue;
    first->name = limit.name;
    first->label = limit.label;
    first->unit = limit.unit;
    first->remedy = limit.remedy;
    all.push_back(*first);
  }
  return all;
}

}  // namespace antiphase
