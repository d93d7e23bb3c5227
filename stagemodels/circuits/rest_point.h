/// The rest point of any circuit, by its list of elements: DC, capacitors open, no signal. Elements may be
/// altered, so that the same walk tells what a broken part does.
#pragma once

#include <array>
#include <span>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

/// What is left between the ends of an open part: printed board, socket, air (common practice, no published
/// source).
inline constexpr double kInsulation_ohm = 1e9;

/// A leaking capacitor is taken as a resistance across it: low enough to upset a stage, high enough to be
/// overlooked (common practice, no published source).
inline constexpr double kLeakage_ohm = 10e6;

/// A short, as a drop of solder or a broken-down capacitor makes it. Not 0, so that its current can be told
/// from the voltage across it.
inline constexpr double kShort_ohm = 1e-3;

/// One element that is not as the design has it.
struct Alteration {
  enum class What {
    open,     ///< kInsulation_ohm in its place; of a sink: its current gone, its resistance stays
    shorted,  ///< kShort_ohm in its place
    leaks,    ///< kLeakage_ohm across it
    dead,     ///< of a triode: draws no current
    scaled,   ///< its value times `number`
    set,      ///< its value is `number`
    gone,     ///< nothing in its place
  };
  int element = 0;  ///< its place in the circuit's list
  What what = What::open;
  double number = 1;
};

/// A meter from a node to ground.
struct Meter {
  Node node = kGround;
  double ohm = 10e6;
};

/// Volts to ground, one per node of the circuit. A node that nothing holds, and that no current reaches,
/// stands at 0.
using NodeVolts = std::array<double, Circuit::kMostNodes>;

/// The section that a triode of the design's circuit stands for (Element::section).
TriodeSection section_of(const Design&, const Element& triode);

/// Its currents where its nodes stand at these voltages. Cost: one call of its law.
TriodeCurrents currents_of(const TriodeSection&, const Element& triode, const NodeVolts&);

/// Kirchhoff's current law at every node (Newton with dense elimination; the supplies raised from nothing in
/// steps where that does not settle). Feedback resistors play no part (Feedback in design.h), clamps are
/// blocked, and output grids draw nothing.
/// Allowed: a design within its ranges, its own circuit, alterations of elements that stand in it, a meter of
/// one of its nodes or null.
/// @return false: it did not settle; `volts` then has no meaning. So it is where a sink finds no current, as
/// with the supply cut: its Norton form then asks for voltages far beyond sense, a real one saturates.
/// Cost: 10 to 40 us; allocates nothing. Threads: safe.
bool solve_rest_point(const Circuit&, const Design&, std::span<const Alteration>, NodeVolts& volts,
                      const Meter* meter = nullptr);

/// Amperes that leave each node through the elements at these voltages: 0 at every node at rest, but for
/// those that are held (they give what is missing). For checks; allowed and left out as above.
NodeVolts currents_out_of_nodes(const Circuit&, const Design&, std::span<const Alteration>,
                                const NodeVolts& volts);

}  // namespace antiphase
