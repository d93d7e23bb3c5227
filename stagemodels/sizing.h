/// From a designer's wishes (current, share of the supply) to part values: the inverse of solving.
#pragma once

#include <cstdint>
#include <span>

#include "stagemodels/design.h"

namespace antiphase {

struct DesignField;

/// What is wished at rest. Sections are taken as equal here; the solved design tells the rest. A circuit has
/// the wishes that its Sizing lists; the others have no meaning in it.
struct Wishes {
  double supply_v = 0;               ///< of the stage itself
  double tail_fraction = 0;          ///< share of the supply that stands on the tail
  double plate_current_a = 0;        ///< of each section of the output stage
  double plate_ohm = 0;              ///< of section 1
  double plate_ohm_ratio = 1;        ///< section 2 over section 1
  double first_plate_ohm = 0;        ///< of a stage ahead of the output stage
  double first_plate_current_a = 0;  ///< the same
};

/// The members of Wishes, by name.
enum class Wish : std::uint8_t {
  supply_v,
  tail_fraction,
  plate_current_a,
  plate_ohm,
  plate_ohm_ratio,
  first_plate_ohm,
  first_plate_current_a,
};

/// A wish that a circuit has.
struct CircuitWish {
  Wish wish{};
  /// At how many values of its range sizing is tried, to see what part values it leads to: spread over the
  /// range with both ends, or 1, in the middle.
  int samples = 5;
  /// True in forms where it follows from the other wishes, and is not free; null: it is free in all.
  bool (*follows)(const Design&) = nullptr;
};

/// How a circuit is sized. Each circuit's folder has one.
struct Sizing {
  std::span<const CircuitWish> wishes;
  /// The members of a design that `size` fills, of all forms together, in the order in which a search varies
  /// them. In a form those of them apply that an element of the circuit stands for (DesignField::applies).
  std::span<const DesignField* const> fills;
  /// See size_stage().
  double (*size)(const Wishes&, Design&) = nullptr;
  /// Of a circuit with a stage ahead: how its output stage alone is sized. Null: there is none ahead.
  const Sizing* output_stage = nullptr;

  /// The wish as this circuit has it, or null.
  constexpr const CircuitWish* find(Wish wish) const {
    for (const CircuitWish& own : wishes)
      if (own.wish == wish) return &own;
    return nullptr;
  }
};

/// How the circuit is sized: catalogue.h's entry.
const Sizing& sizing_of(CircuitKind circuit);

/// True if a designer has a say in this quantity of the circuit.
inline bool has_wish(CircuitKind circuit, Wish wish) {
  return sizing_of(circuit).find(wish) != nullptr;
}

/// What all sections of a circuit draw together if they pass the wished currents; a current that is not
/// wished because it follows is left out.
double wished_current_a(const Wishes& wishes, CircuitKind circuit);

/// Fills the members of `design` that its circuit's Sizing lists. Its circuit, forms, tubes and conditions
/// are set. With a main supply (> 0) it fills the dropping resistor in place of the supply. A negative rail
/// that is already set (< 0) is kept, and the share of the tail follows from it; one of 0 is chosen to suit
/// the wished share.
/// @return volts that are missing between supply and what plate resistor, tube and tail need, or between main
/// supply and the wished one; 0 if it fits.
/// The cathode resistor of a stage ahead is filled too, so that its plate stands where a directly coupled
/// output stage needs its grids, or passes the wished current. Cost: about 1 us. Allocates nothing.
double size_stage(const Wishes& wishes, Design& design);

}  // namespace antiphase
