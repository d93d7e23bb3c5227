/// A law's plate curves over the readings it was fitted to, as an SVG picture.
#pragma once

#include <span>
#include <string>

#include "stagemodels/tubes/fit_data.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// One curve per grid voltage of the readings, labelled at its end; readings as rings; the rated dissipation
/// dashed, where `tube` has one. Without readings: curves round the published points. Follows the reader's
/// light or dark scheme and needs no colour and no script.
std::string fit_plot(const Tube& tube, const TriodeLaw&, std::span<const CurvePoint> readings);

}  // namespace antiphase
