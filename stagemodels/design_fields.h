/// The members of a design, listed once: name and place in a file, unit, range, default,
/// and the circuits and forms they belong to. Readers, writers, parts lists and messages use it.
#pragma once

#include <span>
#include <string_view>

#include "stagemodels/design.h"

namespace antiphase {

/// What a number of a design is to the person who builds it.
enum class FieldRole {
  condition,  ///< given by what stands around the stage: supply, load, heater
  resistor,   ///< a part to buy, taken from a resistor series
  capacitor,  ///< a part to buy, taken from a capacitor series
  setting,    ///< set by another circuit or an adjustment: a grid voltage, a sink's current
  demand,     ///< what is asked: swing, distortion limit
};

struct DesignField {
  std::string_view pointer;  ///< JSON pointer in a design file, e.g. "/bias/ohm", "/plate_ohm/0"
  std::string_view label;    ///< for people, e.g. "bias resistor"
  std::string_view unit;     ///< "V", "ohm", "F", "A", "%"
  FieldRole role;
  double low, high;  ///< allowed range, ends included
  bool required;     ///< where it applies
  double& (*at)(Design&);

  /// True if the design's circuit, in the forms that the design chooses, has an element with this member.
  bool applies(const Design& design) const;
  double value(const Design& design) const { return at(const_cast<Design&>(design)); }
};

/// All of them, in the order in which files are written.
std::span<const DesignField> design_fields();

/// The field at a JSON pointer, or null.
const DesignField* find_design_field(std::string_view pointer);

/// Names as they stand in files, and back (null/empty optional if unknown).
std::string_view name_of(CircuitKind);
std::string_view name_of(BiasForm);
std::string_view name_of(TailForm);
std::string_view name_of(OutputBias);
std::string_view name_of(DriverForm);
std::string_view name_of(GainForm);
std::optional<CircuitKind> circuit_named(std::string_view);
std::optional<BiasForm> bias_form_named(std::string_view);
std::optional<TailForm> tail_form_named(std::string_view);

}  // namespace antiphase
