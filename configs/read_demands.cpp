#include "configs/read_demands.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "configs/design_members.h"
#include "configs/nearest_names.h"
#include "optimize/engine/problem.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

constexpr std::size_t kMostLimits = 100;
constexpr double kMostCurrent_a = 1;  // no driver takes an ampere: a larger number has lost its prefix
constexpr double kBeyondAnyFigure =
    1e12;  // in SI units: no figure of a stage comes near, and sums stay finite

struct Factor {
  std::string_view name;
  double DesignFactors::*member;
};
constexpr std::array kFactors{Factor{"plate_dissipation", &DesignFactors::plate_dissipation},
                              Factor{"plate_voltage", &DesignFactors::plate_voltage},
                              Factor{"cathode_current", &DesignFactors::cathode_current},
                              Factor{"heater_cathode", &DesignFactors::heater_cathode},
                              Factor{"resistor_power", &DesignFactors::resistor_power},
                              Factor{"resistor_voltage", &DesignFactors::resistor_voltage}};

/// A number that a figure is held against.
std::optional<double> figure_number(ObjectReader& in, std::string_view name, const NumberRule& rule) {
  const std::optional<double> value = in.number(name, rule);
  if (!value || std::fabs(*value) <= kBeyondAnyFigure) return value;
  in.error(name, "is beyond what any figure can be: " + exactly(*value, rule.unit));
  return std::nullopt;
}

/// What the brief is about, as far as figures depend on it.
struct Asked {
  const std::vector<CircuitKind>&circuits, &left_out;
  bool feedback;

  /// A figure that only circuits that are left out have.
  bool passed_over(const Figure& figure) const {
    const auto has = [&](CircuitKind kind) { return has_figure(kind, figure); };
    return std::none_of(circuits.begin(), circuits.end(), has) &&
           std::any_of(left_out.begin(), left_out.end(), has);
  }

  /// Those that have the figure.
  std::vector<CircuitKind> that_have(const Figure& figure) const {
    std::vector<CircuitKind> some = circuits;
    std::erase_if(some, [&](CircuitKind kind) { return !has_figure(kind, figure); });
    return some;
  }
};

const Figure* read_figure(ObjectReader& in, const Asked& asked, std::vector<const Figure*>& seen) {
  const auto member = in.require("figure", "the name of a figure");
  const auto name = member ? member->text() : std::nullopt;
  if (!name) return nullptr;
  const auto* figure = find_figure(*name);
  if (figure == nullptr) {
    std::vector<std::string_view> names;
    for (const auto& f : figures()) names.push_back(f.name);
    const auto near = nearest_names(*name, names, 3);
    member->error(in_quotes(*name) + " is not a figure" +
                  (near.empty() ? "; there are " + one_of(names) : did_you_mean(near)));
    return nullptr;
  }
  const bool somewhere = !asked.that_have(*figure).empty();
  if (somewhere && !asked.feedback && name->starts_with("feedback_")) {
    member->error("has no meaning without the member feedback of the brief");
    return nullptr;
  }
  if (!somewhere && !asked.passed_over(*figure)) {
    member->error("a " + stage_in_words(asked.circuits) + " has no " + std::string(figure->label));
    return nullptr;
  }
  if (std::find(seen.begin(), seen.end(), figure) != seen.end()) member->error("stands in the list twice");
  seen.push_back(figure);
  return figure;
}

/// A figure of the score has to be one of every circuit, or scores could not be set beside each other.
void check_everywhere(const Cursor& objective, const Asked& asked, const Figure& figure) {
  std::vector<CircuitKind> lack = asked.circuits;
  std::erase_if(lack, [&](CircuitKind kind) { return has_figure(kind, figure); });
  if (lack.empty()) return;
  objective.error("a " + stage_in_words(lack) + " has no " + std::string(figure.label) +
                  ", so that scores could not be set beside each other; make it a limit, which holds for "
                  "those that have it, or leave the figure or the circuit out");
}

/// Bits of the circuits that a limit on the figure is not for.
std::uint64_t without(const Asked& asked, const Figure& figure) {
  std::uint64_t bits = 0;
  for (const CircuitKind kind : asked.circuits)
    if (!has_figure(kind, figure)) bits |= bit_of(kind);
  return bits;
}

std::vector<Objective> read_objectives(const Cursor& cursor, const Asked& asked) {
  std::vector<Objective> objectives;
  std::vector<const Figure*> seen;
  const auto items = cursor.items(1, engine::kMaxObjectives);
  if (!items) return {};
  for (const auto& item : *items) {
    ObjectReader in(item);
    Objective o;
    o.figure = read_figure(in, asked, seen);
    if (o.figure) check_everywhere(item, asked, *o.figure);
    const auto unit = o.figure ? o.figure->unit : "1";
    o.weight = in.number("weight", {"1", 0, 1e6, true}).value_or(1);
    if (!o.figure) {
      in.know("scale");  // in a unit that is not known
      continue;
    }
    o.scale = figure_number(in, "scale", {unit, 0, std::numeric_limits<double>::infinity(), true})
                  .value_or(o.figure->scale);
    objectives.push_back(o);
  }
  return objectives;
}

}  // namespace

std::vector<Objective> default_objectives(const std::vector<CircuitKind>& circuits) {
  std::vector<Objective> objectives;
  for (const Figure& figure : figures())
    if (figure.default_weight > 0 && std::all_of(circuits.begin(), circuits.end(),
                                                 [&](CircuitKind kind) { return has_figure(kind, figure); }))
      objectives.push_back({&figure, figure.default_weight, figure.scale});
  return objectives;
}

namespace {

std::vector<FigureLimit> read_limits(const Cursor& cursor, const Asked& asked) {
  std::vector<FigureLimit> limits;
  std::vector<const Figure*> seen;
  const auto items = cursor.items(0, kMostLimits);
  if (!items) return {};
  for (const auto& item : *items) {
    ObjectReader in(item);
    FigureLimit l;
    l.figure = read_figure(in, asked, seen);
    if (!l.figure) {
      for (const auto side : {"at_most", "at_least"}) in.know(side);
      continue;
    }
    l.not_for = without(asked, *l.figure);
    NumberRule rule{l.figure->unit};
    if (rule.unit == "A") rule.usual_high = kMostCurrent_a;
    if (l.figure->direction == Direction::nearer_zero) rule.low = 0;  // held against the size
    const bool most = in.find("at_most").has_value(), least = in.find("at_least").has_value();
    if (in.is_object() && !most && !least)
      in.error("at_most", "is missing: a limit has at_most, at_least or both");
    l.at_most = figure_number(in, "at_most", rule);
    l.at_least = figure_number(in, "at_least", rule);
    if (l.at_most && l.at_least && *l.at_least > *l.at_most)
      in.error("at_least", "must not be above at_most, " + exactly(*l.at_most, rule.unit) + ", is " +
                               exactly(*l.at_least, rule.unit));
    if (!asked.passed_over(*l.figure)) limits.push_back(l);
  }
  return limits;
}

DesignFactors read_factors(const Cursor& cursor) {
  ObjectReader in(cursor);
  DesignFactors factors;
  for (const auto& f : kFactors)
    if (const auto value = in.number(f.name, {"1", 0, 1, true})) factors.*f.member = *value;
  return factors;
}

/// A delayed supply is told of as the builder builds it.
constexpr std::array<std::string_view, 2> kWarmUps{"together", "sequenced"};

}  // namespace

void read_sensible(const Cursor& cursor, SensibleBounds& bounds, DesignFactors& factors) {
  constexpr double kMostOfAFigure = 100, kMostOhm = 1e6, kMostFarad = 1;
  ObjectReader in(cursor);
  for (const SensibleFigure& row : kSensibleFigures) {
    const double low = row.figure->unit == "%" ? 0 : -kMostOfAFigure;
    if (const auto v = in.number(row.figure->name, {row.figure->unit, low, kMostOfAFigure}))
      bounds.*row.bound = *v;
  }
  for (const SensiblePart& part : kSensibleParts)
    if (const auto v = in.number(part.name, {part.unit, 0, part.unit == "F" ? kMostFarad : kMostOhm}))
      bounds.*part.bound = *v;
  if (const auto v = in.number("plate_current_a", {"A", 0, 1})) factors.least_plate_current_a = *v;
}

Demands read_demands(ObjectReader& in, const DesignSpace& space, bool feedback) {
  const Asked asked{space.circuits, space.left_out, feedback};
  Demands demands;
  const auto objectives = in.find("objectives");
  demands.objectives = objectives ? read_objectives(*objectives, asked) : default_objectives(space.circuits);
  if (const auto member = in.find("limits")) demands.limits = read_limits(*member, asked);
  if (const auto member = in.find("design_factors")) demands.factors = read_factors(*member);
  if (const auto member = in.find("warm_up"))
    if (const auto way = member->choice({kWarmUps.begin(), kWarmUps.end()}))
      demands.factors.supply_waits = kWarmUps[*way] == "sequenced";
  return demands;
}

}  // namespace antiphase
