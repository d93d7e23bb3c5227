/// From the points of a search to a list of designs that a person wants to choose from.
#pragma once

#include <cstddef>
#include <vector>

#include "objectives/design_problem.h"
#include "objectives/judgement.h"
#include "objectives/sensible.h"

namespace antiphase {

/// Two designs are distinct, another one to a builder, if tube or forms differ, a resistor differs by more
/// than one step of its series and by 15 % or more (so that a fine series does not make many designs of
/// one), the stage's own supply or a sink's current differs by a fifth, or a figure of the score differs by
/// half of what counts as one unit of it (Figure::scale). Rails and grid voltages count by what they do to
/// figures. Both judged.
bool distinct(const DesignProblem& problem, const engine::Point& a, const engine::Point& b);

/// One of a list of designs and what counts as the same design; indices into the points it was made of.
struct Chosen {
  std::size_t index = 0;
  std::vector<std::size_t> same;  ///< not distinct from it, though from every better one that was chosen
};

/// At most `count` of `points` (best first), in order, every two of them distinct.
std::vector<Chosen> choose_distinct(const DesignProblem& problem, const std::vector<engine::Point>& points,
                                    std::size_t count);

/// How near a design comes to a brief that it misses: in every demand.
struct Nearness {
  bool within_bounds = true;  ///< sensible.h
  double worst = 0;           ///< largest relative excess; a target out of reach is one above 1
  int broken = 0;             ///< demands broken, the target among them
  double sum = 0;             ///< of relative excesses
};
/// Allowed: judged to Depth::full.
Nearness nearness(const DesignProblem&, const SensibleBounds&, const Judgement&);

/// A strict weak order: designs within the bounds first; then by the worst excess, where what lies within one
/// of ten steps a decade counts as equal; then by how many demands are broken, the worst excess itself, and
/// the sum.
bool nearer(const Nearness& a, const Nearness& b);

}  // namespace antiphase
