/// A law's plate curves over the readings and published points of a tube, as an SVG picture.
#pragma once

#include <span>
#include <string>

#include "stagemodels/tubes/fit_data.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// Plate current in mA over plate voltage in V. One curve per grid voltage of the readings, or without
/// readings in the round steps of plate_currents(), named at its end unless the name would cover another;
/// readings are rings, published points with a bias diamonds, the rated plate dissipation a dashed line, all
/// three named in the legend. Has a title and a description; follows the reader's light or dark scheme and
/// needs no colour and no script. Of very many curves every second or third is drawn; all readings are.
std::string plate_curves_svg(const Tube& tube, const TriodeLaw&, std::span<const CurvePoint> readings);

}  // namespace antiphase
