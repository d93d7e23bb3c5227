/// The "objectives", "limits", "design_factors", "warm_up" and "sensible" of a brief.
#pragma once

#include "configs/object_reader.h"
#include "objectives/demands.h"
#include "objectives/design_space.h"
#include "objectives/sensible.h"

namespace antiphase {

/// What counts when a brief has no objectives: distortion_pct 2, output_impedance_ohm 1, balance_pct 1,
/// headroom_db 1, those of them that all the circuits have.
std::vector<Objective> default_objectives(const std::vector<CircuitKind>& circuits);

/// Reads the first four members out of the brief `in`. Objectives left out: default_objectives.
/// Every circuit of the space has to have the figures of the score; a limit counts for those that have its
/// figure.
/// `feedback`: the brief has a budget of overall feedback, whose figures then have a meaning.
Demands read_demands(ObjectReader& in, const DesignSpace& space, bool feedback = false);

/// Reads "sensible": bounds for the named designs of the front and for near misses, and the least rest
/// current of a section, which is a limit of the demands. What is left out keeps its default.
void read_sensible(const Cursor&, SensibleBounds&, DesignFactors&);

}  // namespace antiphase
