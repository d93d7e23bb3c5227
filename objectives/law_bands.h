/// How far a design's figures depend on what is not known of its tubes' types: which credible law is right,
/// and which maker's tube it is.
#pragma once

#include <optional>
#include <vector>

#include "objectives/demands.h"
#include "objectives/figures/catalogue.h"

namespace antiphase {

struct FigureBand {
  const Figure* figure = nullptr;
  double value = 0;          ///< under the law that is used
  double low = 0, high = 0;  ///< over all draws that have the figure; value among them
  bool missing = false;      ///< some draw has no such figure (target out of reach)
};

/// One design with tubes drawn from their types' distributions, and under every credible law as it stands. A
/// draw takes the credible laws in turn, section 2 its own card's of the same place, and for each type
/// factors of current and mu that all its sections share (stagemodels/tubes/type_scatter.h); what the law
/// leaves of one figure comes on top. So many draws hold nine tenths on average between their least and
/// largest. Scores are law by law: what the draws share shifts neighbours alike.
struct LawBands {
  int laws = 1;                              ///< credible ones
  int draws = 0;                             ///< of the type; 0: there are no bands
  std::vector<FigureBand> figures;           ///< those that the law in use has, in the order of the table
  std::vector<std::optional<double>> score;  ///< #laws, against the demands
  std::vector<bool> feasible;                ///< #laws: every limit kept
};

/// Cost: one evaluation per law and one per draw (kTypeDraws), to Depth::full and as far as the demands need.
/// Allocates.
LawBands law_bands(const Design& design, const Demands& demands);

/// The band of a figure, or null: the law in use has no such figure.
const FigureBand* band_of(const LawBands& bands, const Figure& figure);

/// True if `better` ranks before `next` only under some of the laws. Designs with the same tubes are compared
/// law by law, others by their whole bands.
bool rank_in_doubt(const Design& better, const LawBands& better_bands, const Design& next,
                   const LawBands& next_bands);

}  // namespace antiphase
