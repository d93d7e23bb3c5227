/// What may be wrong in a box that was built: defects of parts, parts of a wrong value, tubes that are not
/// what they should be. Each is what it alters in the circuit at rest, with at most two sizes that nobody
/// knows.
#pragma once

#include <array>
#include <span>
#include <string>
#include <vector>

#include "stagemodels/circuits/rest_circuit.h"

namespace antiphase {

/// A size that a fault may have: anything from `low` to `high`, even on a logarithmic scale.
struct Magnitude {
  enum class Kind {
    scaled,   ///< the element's value times this
    leak,     ///< a resistance between two nodes, ohm
    current,  ///< plate current of sections at fixed voltages, times this
  };
  Kind kind = Kind::scaled;
  int element = -1;       ///< of `scaled`
  Bridge leak;            ///< of `leak`, but for its resistance
  unsigned sections = 0;  ///< of `current`: a bit for each Element::section
  double low = 1, high = 1;
};

struct Fault {
  std::string name;   ///< for files: "plate_resistor_1_ten_times"; "none"
  std::string label;  ///< for people: "plate resistor 1 ten times its value"
  std::string look;   ///< what to do about it: "switch off, discharge, and measure plate resistor 1"
  double rate = 0;    ///< how often, against the others
  int element = -1;   ///< the part at fault in the circuit's list; -1: no single one
  bool pair = false;  ///< two at once

  bool none() const { return altered_count == 0 && magnitudes == 0; }
  std::span<const Alteration> alterations() const { return {altered.data(), altered_count}; }

  static constexpr std::size_t kMostAltered = 8;
  std::array<Alteration, kMostAltered> altered{};
  std::size_t altered_count = 0;
  std::array<Magnitude, 2> magnitude{};
  int magnitudes = 0;
};

/// The first is "only scatter"; the others have rates, which are common practice (no published source): what
/// people build wrong or what fails, part by part. with_signals: capacitors that pass no signal too, which
/// direct voltages cannot show.
std::vector<Fault> faults_of(const Design&, bool with_signals = false);

/// Both at once; `rate` is the product. Allowed: two that can_be_together().
Fault both_of(const Fault&, const Fault&);
/// False where they alter the same part or the same section.
bool can_be_together(const Fault&, const Fault&);

}  // namespace antiphase
