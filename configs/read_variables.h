/// The "variables" of a brief: which designs it leaves open.
#pragma once

#include "configs/object_reader.h"
#include "objectives/design_space.h"

namespace antiphase {

/// A number (one fixed value), {"from", "to"[, "step"]}, or a list of values.
/// Gives nothing after reporting what is wrong.
std::optional<Range> read_range(const Cursor& cursor, const NumberRule& rule);

/// True if the circuit leaves this member of "variables" open: "tail_fraction".
bool has_variable(CircuitKind circuit, std::string_view name);

/// A variable that a brief has to give, since there is no default for it.
bool needs_variable(CircuitKind circuit, std::string_view name);

/// Reads `cursor` into the ranges and forms of `space`, whose circuit is set already; what is left
/// out gets its default (tail_fraction 0.05 to 0.4, plate_ohm_ratio 0.9 to 1.5, the circuit's first forms).
void read_variables(const Cursor& cursor, DesignSpace& space);

}  // namespace antiphase
