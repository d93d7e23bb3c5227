/// Why a design of a lattice is what it is: which limits bind, what a step of each part does, why it outranks
/// another, and which limit would have to give for a better one.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "objectives/judgement.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// A limit binds if it is kept with less than this margin in hand, about one step of E24, and its value hangs
/// on some part or setting that the search may change. What a brief or a default fixes is given, not bound.
inline constexpr double kBinding_pct = 5;

/// A part at another value, all else as it is.
struct PartChange {
  const DesignField* field = nullptr;
  double value = 0;     ///< the new one
  bool beyond = false;  ///< outside the brief's range (or list) of the part: the next value that could be had
};

/// What became of a design with one or two parts changed.
struct Change {
  std::vector<PartChange> parts;               ///< one or two
  std::optional<double> score;                 ///< its score minus that of the design; empty: no such score
  std::vector<std::optional<double>> figures;  ///< of the objectives, in order: new minus old, with sign
  std::vector<std::optional<double>> bought;   ///< of the objectives: by how much its part of the score falls
  std::vector<LimitResult> broken;             ///< limits that it breaks
  Solved target = Solved::not_run;             ///< whether it reaches the target swing
};

/// A part of the design one value down and one up; empty where there is no such value.
struct PartSteps {
  const DesignField* field = nullptr;
  double value = 0;
  std::array<std::optional<Change>, 2> step;
};

/// A better design that the limits forbid.
struct Loosening {
  Change change;          ///< `score` < 0; `broken` may be empty if it only goes beyond a range
  double loosen_pct = 0;  ///< the largest share by which one of the limits would have to be loosened
};

struct Explanation {
  std::vector<LimitResult> binding;   ///< see kBinding_pct; tightest first
  std::vector<PartSteps> steps;       ///< of each part that the search may change
  std::vector<Loosening> loosenings;  ///< one per set of limits in the way, most bought per share first
  int neighbours = 0;                 ///< designs tried, one or two parts away
  int better_and_kept = 0;  ///< of them those that are better and keep every limit: 0 if it is a local best
};

/// Of a point of one of the problem's lattices.
/// Cost: one full judgement for each neighbour: 50 with 5 parts, 2 ms, behind a low frequency 7 ms; of a
/// chain 100, 5 ms, behind a low frequency or with feedback 20 to 35 ms. Allocates.
Explanation explain(const DesignProblem& problem, const engine::Point& point);

}  // namespace antiphase
