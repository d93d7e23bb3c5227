/// Short names of a design's parts: R1, C2, V1a. Drawing, parts list, measuring sheet and netlist print the
/// same.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

/// True if the element is a part that the builder of this stage gets: a resistor or capacitor that the design
/// chooses, a triode, a clamp diode, a sink; and it stands in this design. The signal source, supplies, loads
/// and stray capacitances are not, nor is the resistance across a sink, which is a property of it. A feedback
/// resistor counts even where the design leaves its value open.
bool bought(const Element&, const Design&);

/// True if the triode is one of the output stage, false if it is that of a stage ahead.
bool in_output_stage(const Element& triode);

/// Section of a triode element as it stands in the design: its tube, law and spread.
TriodeSection section_of(const Element& triode, const Design&);

/// R1, R2 … for resistors, C1 … for capacitors, D1 … for diodes, I1 … for sinks, each in the order of the
/// circuit's list over what stands in this design. V1, V2 … for bottles, V1a and V1b for their sections where
/// a bottle has several. The two sections of an output stage are one bottle if they are of one type and it
/// has two sections. A stage ahead takes a section that these leave over, if it is of its type; otherwise it
/// has a bottle of its own.
class Designators {
 public:
  /// Cost: one walk over the list; no allocation.
  explicit Designators(const Design&);

  /// Of an element of circuit_of(design), by reference into it; empty if it is not bought. It lives as long
  /// as this object.
  std::string_view of(const Element&) const;
  /// Of the element's bottle, without the section's letter: "V1"; empty if it is no triode.
  std::string_view bottle_of(const Element&) const;
  int bottles() const { return bottles_; }
  int spare_sections() const { return spare_sections_; }  ///< of those bottles, that nothing uses
  /// The circuit's list, whose elements `of` takes.
  const Circuit& circuit() const { return *circuit_; }

 private:
  struct Text {
    std::array<char, 6> letters{};
    std::uint8_t size = 0, bottle_size = 0;
  };
  const Text& at(const Element&) const;

  const Circuit* circuit_;
  std::array<Text, Circuit::kMostElements> text_{};
  int bottles_ = 0, spare_sections_ = 0;
};

}  // namespace antiphase
