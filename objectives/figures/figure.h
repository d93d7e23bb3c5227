/// A figure: one number that a designer asks of a stage, and which way is good.
#pragma once

#include <optional>
#include <string_view>

#include "stagemodels/design.h"
#include "stagemodels/evaluate.h"

namespace antiphase {

enum class Direction { smaller, larger, nearer_zero };

/// Members are constant text and plain functions, so that a table of them needs no set-up.
struct Figure {
  std::string_view name;         ///< as in briefs and files, with its unit: "output_impedance_ohm"
  std::string_view label;        ///< for people: "output impedance"
  std::string_view unit;         ///< SI or "%" or "dB"; "1" for a pure number
  std::string_view description;  ///< one sentence
  Direction direction;
  double scale;  ///< what counts as one unit in a score; a brief may give its own
  Depth needs;   ///< how far an evaluation has to go
  /// Empty if the design has no such figure (target out of reach, one output only).
  std::optional<double> (*measure)(const Design&, const Evaluation&);
};

/// The figure as a number to be made small: itself, minus itself, or its size.
double as_cost(const Figure&, double value);

}  // namespace antiphase
