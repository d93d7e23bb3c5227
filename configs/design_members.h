/// Members of designs that briefs have too.
#pragma once

#include <algorithm>
#include <span>
#include <string>
#include <vector>

#include "configs/choices.h"
#include "configs/object_reader.h"
#include "configs/tube_library.h"
#include "results/text/wording.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// The rule of a design's number: its unit and range.
NumberRule rule_of(const DesignField& field);

/// Whether a tube's place may hold a pentode.
enum class Pentodes { not_here, too };

/// The tube a text names; an unknown one is reported with the nearest names of the library, and so is a
/// pentode where none can stand.
const Tube* read_tube_name(const Cursor& cursor, const TubeLibrary& library,
                           Pentodes pentodes = Pentodes::not_here);

/// The output valve a text names; an unknown one is reported likewise.
const OutputValve* read_output_valve_name(const Cursor& cursor, const TubeLibrary& library);

/// The member "grid_clamp" of `in`. Reported where the design's circuit has no such diodes in the forms that
/// are open: `has` false.
std::optional<bool> read_grid_clamp(ObjectReader& in, bool has, const Design& design);

/// The member "bias" of an output valve: "fixed", which is meant where it is left out, or "cathode".
OutputBias read_output_bias_kind(ObjectReader& in);

/// First and second step of a field's pointer: "/bias/ohm" -> "bias", "ohm"; "/supply_v" -> "supply_v", "".
struct Steps {
  std::string_view first, second;
};
Steps steps_of(const DesignField& field);

/// What is wrong with a design that asks for overall feedback and has no resistor at whose end it can come
/// in; empty: nothing.
std::string no_place_for_feedback(const Design& design);

/// What is wrong with a design whose output valve has a fixed bias; empty: nothing.
std::string no_place_for_fixed_bias(const Design& design);

/// "long_tailed_pair or split_load stage".
std::string stage_in_words(const std::vector<CircuitKind>& circuits);

/// "has no meaning in a … stage".
std::string no_meaning_in(CircuitKind circuit);
std::string no_meaning_in(const std::vector<CircuitKind>& circuits);

/// The form that a text names, out of those that the circuits have; `what` is "bias" or "tail". Other texts
/// are reported; a form of other circuits is told as such.
template <class Form>
std::optional<Form> read_form_name(const Cursor& cursor, std::string_view what,
                                   std::span<const Form> of_circuit, std::span<const Form> of_all,
                                   const std::vector<CircuitKind>& kinds) {
  const auto index = cursor.choice(names_of(of_all), names_of(of_circuit));
  if (!index) return std::nullopt;
  const Form form = of_all[*index];
  if (std::find(of_circuit.begin(), of_circuit.end(), form) != of_circuit.end()) return form;
  cursor.error("a " + stage_in_words(kinds) + " has no " + std::string(name_of(form)) + " " +
               std::string(what) + "; it may have " + one_of(names_of(of_circuit)));
  return std::nullopt;
}

/// Why the field does not apply to the design: "has no meaning with a constant_current tail".
std::string why_not_applicable(const DesignField& field, const Design& design);

}  // namespace antiphase
