/// The "stage" of a brief: one circuit, several that are compared, or "any" of them.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "configs/object_reader.h"
#include "stagemodels/design.h"

namespace antiphase {

/// What a brief says instead of a list of circuits.
inline constexpr std::string_view kAnyCircuit = "any";

struct CircuitsAsked {
  std::vector<CircuitKind>
      circuits;  ///< each once, all with as many outputs; empty: what is wrong is reported
  std::vector<CircuitKind> left_out;  ///< of "any": splitters that the brief has not enough for
  std::vector<std::string> why;       ///< a sentence for each circuit that is not among `circuits`
};

/// Reads `stage`, a member of the brief `root`: the name of a circuit, a list of such names, or "any", which
/// means every phase splitter (two outputs) for which the brief has all that it needs.
CircuitsAsked read_circuits(const Cursor& root, const Cursor& stage);

/// " (for gain_and_splitter)": which of several have something; empty if all do.
std::string for_which(const std::vector<CircuitKind>& circuits, const std::function<bool(CircuitKind)>& has);

}  // namespace antiphase
