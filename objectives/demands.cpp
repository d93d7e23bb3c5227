#include "objectives/demands.h"

#include <algorithm>
#include <cmath>

#include "objectives/figures/supply.h"
#include "objectives/limits/result.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

std::uint64_t bit_of(const Figure& figure) {
  return std::uint64_t{1} << (&figure - figures().data());
}

bool left_out(const Figure& figure, const Demands& demands) {
  return (demands.figures_left_out & bit_of(figure)) != 0;
}

/// A split load has its second resistor in the cathode.
std::string_view label_in(const Design& design, const Figure& figure) {
  const bool of_loads = figure.name == kPlateOhmRatio.name && has_role(design, Role::cathode_load);
  return of_loads ? "cathode load over plate load" : figure.label;
}

/// Both sides of the figure limits that need no more than `solved`, in order; `use` gets each as a row.
template <class Use>
void for_each_figure_limit(const Demands& demands, const Design& design, const Evaluation& evaluation,
                           Depth solved, Use&& use) {
  if (demands.parts.on_hand && !demands.parts_left_out) {
    LimitResult r = at_most(pieces_missing(demands.parts, design), 0, 1.0);
    r.name = kPartsOnHand;
    r.label = "pieces of parts that are not on hand";
    r.unit = "1";
    r.remedy = "Get the pieces that are missing, or list more values.";
    use(r);
  }
  for (const FigureLimit& limit : demands.limits) {
    if (limit.figure->needs > solved || left_out(*limit.figure, demands)) continue;
    if (!is_held(limit, design.circuit)) continue;
    const std::optional<double> measured = limit.figure->measure(design, evaluation);
    const auto row = [&](LimitResult r) {
      r.name = limit.figure->name;
      r.label = label_in(design, *limit.figure);
      r.unit = limit.figure->unit;
      use(r);
    };
    if (!measured) {  // no such figure: the demand is not met
      LimitResult r;
      r.limit = limit.at_most ? *limit.at_most : limit.at_least ? *limit.at_least : limit.one_of.front();
      r.at_least = !limit.at_most;
      r.known = r.kept = false;
      row(r);
      continue;
    }
    const double value = limit.figure->direction == Direction::nearer_zero ? std::fabs(*measured) : *measured;
    if (limit.at_most) row(at_most(value, *limit.at_most, 1.0));
    if (limit.at_least) row(at_least(value, *limit.at_least));
    if (!limit.one_of.empty()) {
      double nearest = limit.one_of.front();
      for (double v : limit.one_of)
        if (std::fabs(v - value) < std::fabs(nearest - value)) nearest = v;
      const double room = limit.near_share * std::fabs(nearest);
      row(value >= nearest ? at_most(value, nearest + room, 1.0) : at_least(value, nearest - room));
    }
  }
}

}  // namespace

bool has_figure(CircuitKind circuit, const Figure& figure) {
  // A figure is empty where nothing was solved or where the circuit has none of the kind; so one of
  // an evaluation that counts as solved throughout tells the second from the first.
  Design design;
  design.circuit = circuit;
  Evaluation solved;
  solved.operating_point.solved = solved.at_target.solved = solved.clean.solved = Solved::yes;
  solved.clean.swing_peak_v = 1;
  solved.frequency_known = true;
  solved.feedback.known = solved.feedback.reached = has_role(circuit, Role::feedback);
  solved.feedback.distortion_pct = 1;
  return figure.measure(design, solved).has_value();
}

Demands demands_on(CircuitKind kind, Demands demands) {
  std::erase_if(demands.limits, [kind](const FigureLimit& limit) { return !is_held(limit, kind); });
  return demands;
}

void leave_out(const Figure& figure, Demands& demands) {
  demands.figures_left_out |= bit_of(figure);
}

bool leaves_something_out(const Demands& demands) {
  return demands.factors.left_out != 0 || demands.figures_left_out != 0 || demands.parts_left_out;
}

Depth needed_depth(const Demands& demands) {
  Depth depth = Depth::rest;
  for (const Objective& o : demands.objectives) depth = std::max(depth, o.figure->needs);
  for (const FigureLimit& l : demands.limits) depth = std::max(depth, l.figure->needs);
  for (const Limit& l : limits()) depth = std::max(depth, l.needs);
  return depth;
}

FrequencyParts needed_parts(const Demands& demands) {
  FrequencyParts parts = 0;
  for (const Objective& o : demands.objectives) parts |= o.figure->parts;
  for (const FigureLimit& l : demands.limits) parts |= l.figure->parts;
  return parts;
}

std::optional<double> score(const Demands& demands, const Design& design, const Evaluation& evaluation) {
  double sum = 0;
  for (const Objective& o : demands.objectives) {
    const std::optional<double> value = o.figure->measure(design, evaluation);
    if (!value) return std::nullopt;
    sum += o.weight * as_cost(*o.figure, *value) / o.scale;
  }
  return sum;
}

std::vector<LimitResult> check_demands(const Demands& demands, const Design& design,
                                       const Evaluation& evaluation) {
  std::vector<LimitResult> all = check_limits(design, evaluation, demands.factors);
  for_each_figure_limit(demands, design, evaluation, Depth::everything,
                        [&](const LimitResult& r) { all.push_back(r); });
  return all;
}

double demand_violation(const Demands& demands, const Design& design, const Evaluation& evaluation,
                        Depth solved) {
  double sum = total_violation(design, evaluation, demands.factors);
  for_each_figure_limit(demands, design, evaluation, solved, [&](const LimitResult& r) { sum += excess(r); });
  return sum;
}

bool may_be_met(const Demands& demands, const Design& design, const Evaluation& evaluation, Depth solved) {
  bool met = kept_so_far(design, evaluation, demands.factors, solved);
  for_each_figure_limit(demands, design, evaluation, solved, [&](const LimitResult& r) { met &= r.kept; });
  return met;
}

}  // namespace antiphase
