/// What the meter reads when one part is faulty: the circuit at rest, solved with the fault in it.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// A leaking capacitor is taken as a resistance across it: low enough to upset a stage, high enough to be
/// overlooked (common practice, no published source). The plate of the stage before is taken to be at half
/// this stage's supply.
inline constexpr double kLeakage_ohm = 10e6;

/// What is left between the ends of an open part: printed board, socket, air (common practice, no published
/// source).
inline constexpr double kInsulation_ohm = 1e9;

enum class FaultKind {
  none,
  plate_resistor_1_open,
  plate_resistor_2_open,
  tail_open,
  tail_shorted,
  bias_resistor_open,
  bias_resistor_shorted,
  cathode_resistor_open,
  cathode_bypass_shorted,
  section_1_dead,
  section_2_dead,
  both_sections_dead,
  input_capacitor_leaks,
  output_capacitor_1_leaks,
  output_capacitor_2_leaks,
  grid_2_to_ground,
  first_plate_resistor_open,
  first_cathode_resistor_open,
  first_cathode_bypass_shorted,
  first_section_dead,
  capacitor_between_stages_leaks,
  // seen in AC only
  output_capacitor_1_open,
  output_capacitor_2_open,
  grid_2_bypass_open,
  cathode_bypass_open,
  first_cathode_bypass_open,
  capacitor_between_stages_open,
};

struct FaultRow {
  FaultKind kind;
  std::string_view name;   ///< for files: "tail_open"
  std::string_view label;  ///< for people: "tail resistor open"
  bool (*applies)(const Design&);
};

/// All of them that a design can have, in the order in which they are told; the first is no fault at all.
std::vector<const FaultRow*> faults_of(const Design&);

/// Faults of capacitors that pass no signal any more: direct voltages stay as they are.
bool seen_in_ac_only(FaultKind);

/// Small-signal gains from the first grid to each output at mid-band, with a fault that is seen in AC only,
/// or with none. Empty: no rest point. Cost: a rest point and some us.
std::optional<Pair> gain_with_fault(const Design&, FaultKind);

/// DC of the stage with a fault. Voltages only where `point.solved` is yes; then supply_v, cathode_v,
/// leak_node_v, tail_v, tail_current_a, plate_v, grid_v, their differences, currents, supply_current_a, and
/// of a first stage the same.
struct FaultPoint {
  OperatingPoint point;
  Pair output_v{};  ///< behind the coupling capacitors
};

/// Every node by Kirchhoff's current law (Newton with dense elimination, the supplies raised from nothing
/// where that does not settle), without the simplifications of a sound stage. Cost: about 20 us; allocates
/// nothing.
FaultPoint solve_fault(const Design&, FaultKind);

}  // namespace antiphase
