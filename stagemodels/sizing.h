/// From what a designer asks for (current, share of the supply) to part values: the inverse of solving.
#pragma once

#include <cstdint>
#include <span>

#include "stagemodels/design.h"

namespace antiphase {

struct DesignField;

/// What is asked for at rest. Sections are taken as equal here; the solved design tells the rest. A circuit
/// has the sizing inputs that its Sizing lists; the others have no meaning in it.
struct SizingInputs {
  double supply_v = 0;               ///< of the stage itself
  double tail_fraction = 0;          ///< share of the supply that stands on the tail
  double plate_current_a = 0;        ///< of each section of the output stage
  double plate_ohm = 0;              ///< of section 1
  double plate_ohm_ratio = 1;        ///< section 2 over section 1
  double first_plate_ohm = 0;        ///< of a stage ahead of the output stage
  double first_plate_current_a = 0;  ///< the same
};

/// The members of SizingInputs, by name.
enum class SizingInput : std::uint8_t {
  supply_v,
  tail_fraction,
  plate_current_a,
  plate_ohm,
  plate_ohm_ratio,
  first_plate_ohm,
  first_plate_current_a,
};

/// A sizing input that a circuit has.
struct CircuitSizingInput {
  SizingInput input{};
  /// At how many values of its range sizing is tried, to see what part values it leads to: spread over the
  /// range with both ends, or 1, in the middle.
  int samples = 5;
  /// True in forms where it follows from the other sizing inputs, and is not free; null: it is free in all.
  bool (*follows)(const Design&) = nullptr;
};

/// How a circuit is sized. Each circuit's folder has one.
struct Sizing {
  std::span<const CircuitSizingInput> inputs;
  /// The members of a design that `size` fills, of all forms together, in the order in which a search varies
  /// them. In a form those of them apply that an element of the circuit stands for (DesignField::applies).
  std::span<const DesignField* const> fills;
  /// See size_stage().
  double (*size)(const SizingInputs&, Design&) = nullptr;
  /// Of a circuit with a stage ahead: how its output stage alone is sized. Null: there is none ahead.
  const Sizing* output_stage = nullptr;

  /// The sizing input as this circuit has it, or null.
  constexpr const CircuitSizingInput* find(SizingInput input) const {
    for (const CircuitSizingInput& own : inputs)
      if (own.input == input) return &own;
    return nullptr;
  }
};

/// How the circuit is sized: catalogue.h's entry.
const Sizing& sizing_of(CircuitKind circuit);

/// True if a designer has a say in this quantity of the circuit.
inline bool has_sizing_input(CircuitKind circuit, SizingInput input) {
  return sizing_of(circuit).find(input) != nullptr;
}

/// What all sections of a circuit draw together if they pass the currents asked for; a current that is not
/// asked for because it follows is left out.
double asked_current_a(const SizingInputs& inputs, CircuitKind circuit);

/// Fills the members of `design` that its circuit's Sizing lists. Its circuit, forms, tubes and conditions
/// are set. With a main supply (> 0) it fills the dropping resistor in place of the supply. A negative rail
/// that is already set (< 0) is kept, and the share of the tail follows from it; one of 0 is chosen to suit
/// the share asked for.
/// @return volts that are missing between supply and what plate resistor, tube and tail need, or between main
/// supply and the one asked for; 0 if it fits.
/// The cathode resistor of a stage ahead is filled too, so that its plate stands where a directly coupled
/// output stage needs its grids, or passes the current asked for. Cost: about 1 us. Allocates nothing.
double size_stage(const SizingInputs& inputs, Design& design);

/// Followers: sets driver.bias_v so that both cathodes stand at output_valve_bias_v on the mean, as a builder
/// does it at the bench. Left as it is where no output valve is named, where the follower cannot, and with
/// other drivers or none. Allowed: a design within its ranges. Cost: some 2 us, and a rest point more behind
/// a dropping resistor. Allocates nothing.
void set_driver_bias(Design& design);

}  // namespace antiphase
