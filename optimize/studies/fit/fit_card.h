/// A triode law fitted to readings, and the card that carries it.
#pragma once

#include <string>
#include <vector>

#include "configs/tube_library.h"
#include "optimize/studies/fit/fit_checks.h"
#include "optimize/studies/trouble.h"
#include "stagemodels/tubes/law.h"

namespace antiphase {

struct FitRequest {
  std::string tube;                 ///< type number or alias; need not have a card
  TriodeLaw form;                   ///< its parameters do not count
  std::string towards;              ///< name of a card of the library whose law the fit leans on; empty: none
  std::string like;                 ///< card that a type without one takes its ratings from; empty: none
  std::vector<PlacedPoint> points;  ///< readings of curves; may be empty
  std::string made_by;              ///< how to make the fit again, for the law's source
};

struct FittedCard {
  Tube tube;
  TriodeLaw law;                  ///< that was fitted, as the card carries it
  std::vector<CurvePoint> curve;  ///< readings that were used, and those of no current
  std::string card;               ///< text of the card
  std::string report;             ///< what the fit came to, in lines
};

/// Fits and puts the law on the card of the tube as its first model; an earlier own fit of the same form,
/// with the same law to lean on, is replaced where it stands; everything else stays. measured_surface: the
/// form under it is fitted first, then the smooth correction (surface_fit.h). For a type without a
/// card a whole one, with what own_card.h puts into it. Trouble: the readings contradict themselves, are too
/// few, or there is nothing to lean on; its words hold a line for each thing that is wrong. Cost: that of
/// fit_law, twice where readings are left out.
OrTrouble<FittedCard> fit_card(const FitRequest&, const TubeLibrary& cards);

}  // namespace antiphase
