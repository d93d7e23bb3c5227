#include "objectives/design_problem.h"

#include <algorithm>

#include "objectives/figures/supply.h"
#include "objectives/givens.h"
#include "objectives/sizing_inputs.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase {
namespace {

constexpr double kExactly = 1e-9;  // two values that differ by rounding only

/// SizingInputs that the parts meet only nearly, so that they become limits on the solved figures.
constexpr std::array kSolvedSizingInputs{SizingInput::tail_fraction, SizingInput::plate_ohm_ratio,
                                         SizingInput::first_plate_current_a, SizingInput::plate_current_a};

/// What a brief asks for of a solved quantity, as a limit on the figure of that name of the real
/// parts. `not_for`: circuits that do not have it.
void limit_to_range(Demands& demands, std::string_view figure, const Range& range, std::uint64_t not_for) {
  FigureLimit limit;
  limit.not_for = not_for;
  limit.figure = find_figure(figure);
  if (range.fixed())
    limit.one_of = {range.low};
  else if (!range.values.empty())
    limit.one_of = range.values;
  else if (range.step > 0)
    for (double v = range.low; v <= range.high + 1e-9 * range.step; v += range.step)
      limit.one_of.push_back(v);
  if (limit.one_of.empty()) {
    limit.at_most = range.high;
    limit.at_least = range.low;
  }
  // Equal plate resistors can be had exactly.
  if (figure == row_of(SizingInput::plate_ohm_ratio).name && range.fixed() && range.low == 1)
    limit.near_share = kExactly;
  demands.limits.push_back(std::move(limit));
}

/// Ranges of what is solved for, as limits on the circuits that have it.
void add_ranges(const DesignSpace& space, Demands& demands) {
  const auto limit_if = [&](std::string_view figure, const Range& range, auto has) {
    std::uint64_t not_for = 0;
    for (const CircuitKind kind : space.circuits)
      if (!has(kind)) not_for |= bit_of(kind);
    if (space.some_circuit(has)) limit_to_range(demands, figure, range, not_for);
  };
  const auto limit_solved = [&](SizingInput input) {
    limit_if(row_of(input).name, space.*row_of(input).range,
             [&](CircuitKind kind) { return has_sizing_input(kind, input); });
  };
  for (const SizingInput input : kSolvedSizingInputs) limit_solved(input);
  if (space.given.main_supply_v > 0) limit_solved(SizingInput::supply_v);
  if (space.first_plate_v)
    limit_if(kFirstPlateV.name, *space.first_plate_v, [](CircuitKind kind) { return has_first_stage(kind); });
}

/// "split-load phase splitter: 12AU7, self_biased", where there are several circuits.
std::string name_among(const DesignSpace& space, CircuitKind kind, const std::string& family) {
  return space.circuits.size() == 1 ? family : std::string(circuit(kind).label) + ": " + family;
}

}  // namespace

Demands with_low_frequency(const DesignSpace& space, Demands demands) {
  if (space.low_frequency_hz) demands.limits.push_back(low_corner_limit(*space.low_frequency_hz));
  return demands;
}

DesignProblem::DesignProblem(DesignSpace space, Demands demands)
    : space_(std::move(space)), demands_(std::move(demands)) {
  add_ranges(space_, demands_);
  std::vector<Compared> groups;
  for (const CircuitKind kind : space_.circuits) add_circuit(kind, groups);
  demands_.parts = of(space_.circuits.front()).demands().parts;
  for (const CircuitKind kind : space_.circuits)
    if (const PartSupply& parts = of(kind).demands().parts; !parts.plate_2.empty()) demands_.parts = parts;
  demands_ = with_low_frequency(space_, std::move(demands_));
  outside_as_given_ = broken_by_givens(*this);
  for (const LimitResult& broken : outside_as_given_) {
    take_as_given(*find_limit(broken.name), demands_.factors);
    for (const auto& own : circuits_)
      if (own) own->take_as_given(*find_limit(broken.name));
  }
}

void DesignProblem::add_circuit(CircuitKind kind, std::vector<Compared>& groups) {
  auto& own = circuits_[static_cast<std::size_t>(kind)];
  own = std::make_unique<CircuitProblem>(space_of(space_, kind), demands_on(kind, demands_));
  for (const engine::Family& family : own->families()) {
    places_.push_back({own.get(), static_cast<int>(&family - own->families().data())});
    families_.push_back(family);
    const Compared compared = Compared::of(own->base_of(places_.back().family));
    auto group = std::find(groups.begin(), groups.end(), compared);
    if (group == groups.end()) group = groups.insert(group, compared);
    families_.back().group = static_cast<int>(group - groups.begin());
    families_.back().name = name_among(space_, kind, family.name);
  }
  for (const std::string& words : own->left_out()) left_out_.push_back(name_among(space_, kind, words));
}

Depth DesignProblem::depth() const {
  Depth farthest{};
  for (const auto& own : circuits_)
    if (own) farthest = std::max(farthest, own->depth());
  return farthest;
}

Design DesignProblem::design_at(int family, std::span<const double> parts_x) const {
  return place(family).circuit->design_at(place(family).family, parts_x);
}

std::span<const DesignField* const> DesignProblem::part_fields(int family) const {
  return place(family).circuit->part_fields(place(family).family);
}

std::optional<engine::Point> DesignProblem::lattice_point(const Design& design) const {
  const auto& own = circuits_[static_cast<std::size_t>(design.circuit)];
  std::optional<engine::Point> point = own ? own->lattice_point(design) : std::nullopt;
  if (!point) return point;
  const auto at = std::find_if(places_.begin(), places_.end(), [&](const Place& p) {
    return p.circuit == own.get() && p.family == point->family;
  });
  point->family = static_cast<int>(at - places_.begin());
  return point;
}

bool DesignProblem::none_feasible(int family, std::span<const double> low, std::span<const double> high,
                                  double points, Evaluation& scratch) const {
  return place(family).circuit->none_feasible(place(family).family, low, high, points, scratch);
}

}  // namespace antiphase
