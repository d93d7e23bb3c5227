/// What a brief asks for: figures with weights, limits on figures, and design factors.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "objectives/figures/catalogue.h"
#include "objectives/limits/catalogue.h"
#include "objectives/part_supply.h"

namespace antiphase {

struct Objective {
  const Figure* figure = nullptr;
  double weight = 1;  ///< > 0
  double scale = 1;   ///< figure->scale unless the brief says otherwise; > 0
};

/// Standard parts come in steps: a current asked for or share counts as met this near (half a step of E24).
inline constexpr double kNearShare = 0.05;

/// A demand on one figure (on its size where nearer zero is better). At least one part of it is set.
struct FigureLimit {
  const Figure* figure = nullptr;
  std::optional<double> at_most = std::nullopt, at_least = std::nullopt;
  std::vector<double> one_of = {};  ///< the figure has to be near one of these, …
  double near_share = kNearShare;   ///< … within this share of it
  /// Circuits that are not held to it, a bit for each CircuitKind: of several that are compared, those that
  /// do not have the figure.
  std::uint64_t not_for = 0;
};

constexpr std::uint64_t bit_of(CircuitKind kind) {
  return std::uint64_t{1} << static_cast<int>(kind);
}
constexpr bool is_held(const FigureLimit& limit, CircuitKind kind) {
  return (limit.not_for & bit_of(kind)) == 0;
}

struct Demands {
  std::vector<Objective> objectives;  ///< 1 … engine::kMaxObjectives
  std::vector<FigureLimit> limits;
  DesignFactors factors;
  PartSupply parts;  ///< what of it is on hand, held as a limit
  /// Figures whose limits are not held, a bit for each place in figures(), and whether the parts on hand are
  /// not: see DesignFactors::left_out.
  std::uint64_t figures_left_out = 0;
  bool parts_left_out = false;
};

/// True if designs of the circuit have such a figure.
bool has_figure(CircuitKind, const Figure&);

/// The demands on one circuit: without the limits that it is not held to.
Demands demands_on(CircuitKind, Demands);

/// Leaves the limits on a figure out.
void leave_out(const Figure&, Demands&);

/// Whether any limit is left out.
bool leaves_something_out(const Demands&);

/// Names of the row that holds the parts on hand.
inline constexpr std::string_view kPartsOnHand = "parts_on_hand";

/// Score = sum of weight * as_cost(figure) / scale. Empty if a figure is missing.
std::optional<double> score(const Demands&, const Design&, const Evaluation&);

/// How far an evaluation has to go for every objective and limit, those of tubes and parts too.
Depth needed_depth(const Demands&);
/// What of Depth::with_frequency they take.
FrequencyParts needed_parts(const Demands&);

/// Every tube, part and brief limit held against the design.
std::vector<LimitResult> check_demands(const Demands&, const Design&, const Evaluation&);

/// Sum of relative excesses over all of them; of the brief's own only those that need no more than `solved`.
/// Allocates nothing.
double demand_violation(const Demands&, const Design&, const Evaluation&, Depth solved = Depth::everything);

/// False only if a limit that needs no more than `solved` is broken: solving further mends none of them,
/// since what is known of the target is held against a limit together with what is known at rest.
bool may_be_met(const Demands&, const Design&, const Evaluation&, Depth solved);

}  // namespace antiphase
