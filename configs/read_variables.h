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

/// The names of all members of "variables" that are sizing inputs.
std::vector<std::string_view> variable_names();

/// A variable that a brief has to give, since there is no default for it.
bool needs_variable(CircuitKind circuit, std::string_view name);

/// What a member of a design is called among the variables of a brief: its place in a design file with
/// underscores, but "first_" for a first stage's, a voltage of "bias" by itself, a number of a list before
/// the unit, and a resistor by its unit alone: tail_ohm, grid_v, rail_v, first_cathode_ohm, plate_2_ohm,
/// feedback_ohm.
std::string_view name_in_brief(const DesignField& field);

/// The member that a brief may fix, list or range under a name, or null: may_have_own_range() of some
/// circuit.
const DesignField* own_variable_named(std::string_view name);

/// Checks the parts' own ranges when all else of the space has been read: that each part is there in some
/// form, that something has its choice, and that the parts leave room for what is asked for at rest.
void check_own_ranges(const Cursor& variables, const DesignSpace& space);

/// Reads `cursor` into the ranges and forms of `space`, whose circuits are set already; what is left
/// out gets its default (tail_fraction 0.05 to 0.4, plate_ohm_ratio 0.9 to 1.5, each circuit's first forms).
/// Parts that are not named have no range of their own. What none of the circuits has is reported, and what
/// one of them needs and is missing.
void read_variables(const Cursor& cursor, DesignSpace& space);

}  // namespace antiphase
