/// The "objectives", "limits", "design_factors", "warm_up" and "sensible" of a brief.
#pragma once

#include "configs/object_reader.h"
#include "objectives/demands.h"
#include "objectives/sensible.h"

namespace antiphase {

/// True if stages of this circuit have the figure at all: a gain stage has no balance.
bool has_figure(CircuitKind circuit, const Figure& figure);

/// What counts when a brief has no objectives: distortion_pct 2, output_impedance_ohm 1, balance_pct 1,
/// headroom_db 1, those of them that the circuit has.
std::vector<Objective> default_objectives(CircuitKind circuit);

/// Reads the first four members out of the brief `in`. Objectives left out: default_objectives.
/// `feedback`: the brief has a budget of overall feedback, whose figures then have a meaning.
Demands read_demands(ObjectReader& in, CircuitKind circuit, bool feedback = false);

/// Reads "sensible": bounds for the named designs of the front and for near misses, and the least rest
/// current of a section, which is a limit of the demands. What is left out keeps its default.
void read_sensible(const Cursor&, SensibleBounds&, DesignFactors&);

}  // namespace antiphase
