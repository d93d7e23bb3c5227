/// How far a design's figures depend on which of its tube's credible laws is right.
#pragma once

#include <optional>
#include <vector>

#include "objectives/demands.h"
#include "objectives/figures/catalogue.h"

namespace antiphase {

struct FigureBand {
  const Figure* figure = nullptr;
  double value = 0;          ///< under the law that is used
  double low = 0, high = 0;  ///< over all credible laws that have the figure; value among them
  bool missing = false;      ///< some credible law has no such figure (target out of reach)
};

/// One design under every credible law of its tubes. Section 2 follows its own card's law of the same place.
struct LawBands {
  int laws = 1;                              ///< how many there are; with 1 there is no band
  std::vector<FigureBand> figures;           ///< those that the law in use has, in the order of the table
  std::vector<std::optional<double>> score;  ///< #laws, against the demands
  std::vector<bool> feasible;                ///< #laws: every limit kept
};

/// Cost: one evaluation per law, to Depth::full and as far as the demands need. Allocates.
LawBands law_bands(const Design& design, const Demands& demands);

/// The band of a figure, or null: the law in use has no such figure.
const FigureBand* band_of(const LawBands& bands, const Figure& figure);

/// True if `better` ranks before `next` only under some of the laws. Designs with the same tubes are compared
/// law by law, others by their whole bands.
bool rank_in_doubt(const Design& better, const LawBands& better_bands, const Design& next,
                   const LawBands& next_bands);

}  // namespace antiphase
