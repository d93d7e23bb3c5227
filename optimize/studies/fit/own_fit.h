/// Laws that this program fitted, as they stand on cards.
#pragma once

#include <string>

#include "optimize/studies/fit/readings.h"
#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// Whether a fit made it: the next one of the same kind takes its place.
bool is_own_fit(const TubeModel&);

/// Rounds the parameters to what a card can carry, so that what is told is of the law that is written and not
/// of its neighbour.
void round_parameters(FitOutcome& fit, const std::vector<FitObservation>& observations);

/// The source that stands beside the law: what it was fitted to, how well, and how to make it again.
/// `towards`: what it was pulled towards, in words, or empty.
std::string source_text(const Readings&, const FitOutcome&, const std::string& towards,
                        const std::string& made_by);

/// Puts a law that was fitted on the card. Its place: that of an earlier own fit of the same form and with
/// the same card to lean on (`towards`: its name as given, or empty), else the first.
void put_on_card(Tube& tube, TubeModel model, const std::string& towards);

}  // namespace antiphase
