/// Proves that whole blocks of designs break a limit at rest, from the rest points of their corners.
#pragma once

#include "objectives/demands.h"

namespace antiphase {

/// Two designs that differ in numbers only span a block: every number of a design in it lies between theirs.
///
/// Why corners are enough: the current of each plate and grid rises with grid and plate voltage, and the rest
/// is resistors. From that it is proved, from the list of a circuit's elements, which quantities go one way
/// with which parts (rest_ways.h); the corner at the favourable end of every part bounds the whole block
/// (theory: stagemodels/README.md, "Bounds over a block of parts"). A quantity that may go either way with a
/// part of the block has no bounds. Laws that take the grid's current out of the plate's (has_grid_current)
/// are not of this kind: for them nothing is proved by corners. A circuit of two stages is taken apart as its
/// entry in the catalogue says; one whose entry does not say how is not bounded at rest.
class BlockTest {
 public:
  /// `demands` must outlive this.
  explicit BlockTest(const Demands& demands) : demands_(demands) {}

  enum class Corners {
    left_out,  ///< only what needs no solution is looked at: some comparisons
    solved     ///< for their rest points too: up to 14 (2 us each), of a chain up to 25
  };

  /// True only if no design of the block keeps every limit. `low`, `high`: the same but for their numbers,
  /// low's not above high's. Allocates nothing.
  bool none_feasible(const Design& low, const Design& high, Corners corners, Evaluation& scratch) const;

 private:
  bool parts_alone(const Design& low, const Design& high, const Evaluation& scratch) const;
  bool cold_breaks(const Design& mildest, const Evaluation& scratch) const;
  bool at_rest(const Design& low, const Design& high, Evaluation& scratch) const;

  const Demands& demands_;
};

}  // namespace antiphase
