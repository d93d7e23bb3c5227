/// A figure: one number that a designer asks of a stage, and which way is good.
#pragma once

#include <optional>
#include <string_view>

#include "stagemodels/design.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/frequency_figures.h"

namespace antiphase {

enum class Direction { smaller, larger, nearer_zero };

/// The tables that show some of the figures. A number is the place in the table, from 1; 0: not shown there.
struct FigurePlaces {
  int law_bands = 0;     ///< what is not known of the tubes makes of one design
  int ranked_bands = 0;  ///< the same of all ranked candidates, a column each
  int band_columns = 0;  ///< the same in candidates.csv, lowest and highest
  bool spread = false;   ///< how builds scatter, in the order of the catalogue
  bool defects = false;  ///< of a reading: it may be named as what tells most of a faulty part
};

/// Members are constant text and plain functions, so that a table of them needs no set-up.
struct Figure {
  std::string_view name;         ///< as in briefs and files, with its unit: "output_impedance_ohm"
  std::string_view label;        ///< for people: "output impedance"
  std::string_view unit;         ///< SI or "%" or "dB"; "1" for a pure number
  std::string_view description;  ///< one sentence
  Direction direction;
  double scale;              ///< what counts as one unit in a score; a brief may give its own
  Depth needs;               ///< how far an evaluation has to go
  FrequencyParts parts = 0;  ///< what of Depth::with_frequency it takes
  /// In the score of a brief that names no objectives, and shown beside those of any brief; 0: neither.
  double default_weight = 0;
  FigurePlaces shown = {};
  /// Empty if the design has no such figure (target out of reach, one output only).
  std::optional<double> (*measure)(const Design&, const Evaluation&);
};

/// The figure as a number to be made small: itself, minus itself, or its size.
double as_cost(const Figure&, double value);

}  // namespace antiphase
