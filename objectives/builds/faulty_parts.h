/// What the meter reads when one part is broken: the circuit at rest, solved with the defect in it. Which
/// defects a circuit can have follows from its list of elements.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// One thing that is wrong in a design.
struct Defect {
  std::string name;   ///< for files: "tail_open"
  std::string label;  ///< for people: "tail resistor open"
  /// A part that passes no signal any more and carried no direct current: direct voltages stay as they are.
  bool seen_in_ac_only = false;
  int element = -1;  ///< its place in the circuit's list; -1: no single one

  bool none() const { return altered_count_ == 0 && !seen_in_ac_only; }
  /// What is not as the design has it, for solve_rest_point.
  std::span<const Alteration> altered() const { return {altered_.data(), altered_count_}; }
  void alter(const Alteration& a) { altered_[altered_count_++] = a; }

 private:
  std::array<Alteration, 3> altered_{};
  std::size_t altered_count_ = 0;
};

/// All that a design can have, in the order in which they are told; the first is none at all. Names are
/// unique. Behind a leaking input capacitor the plate of the stage before is taken to be at half this stage's
/// supply.
std::vector<Defect> defects_of(const Design&);

/// The one of that name, or nothing if the design cannot have it.
std::optional<Defect> defect_named(const Design&, std::string_view name);

/// Small-signal gains from the first grid to each output at mid-band, with a defect that is seen in AC only,
/// or with none. Allowed: a defect of this design. Empty: no rest point. Cost: a rest point and some us.
std::optional<Pair> gain_with_defect(const Design&, const Defect&);

/// DC of the stage with a defect. Voltages only where `point.solved` is yes; then supply_v, cathode_v,
/// leak_node_v, tail_v, tail_current_a, plate_v, grid_v, their differences, currents, supply_current_a, and
/// of a first stage the same.
struct DefectPoint {
  OperatingPoint point;
  Pair output_v{};  ///< behind the coupling capacitors
};

/// Without the simplifications of a sound stage. Allowed: a defect of this design. Cost: as
/// solve_rest_point; allocates nothing.
DefectPoint solve_defect(const Design&, const Defect&);

}  // namespace antiphase
