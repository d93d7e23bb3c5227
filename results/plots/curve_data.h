/// What the plate-curve picture of one section shows, as numbers.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Plate to cathode volts and amperes.
struct PicturePoint {
  double plate_v = 0, current_a = 0;
};
using CurveLine = std::array<PicturePoint, 2>;  ///< first its end at zero current, then the end at zero volts

struct SectionPicture {
  double plate_v_end = 0, current_a_end = 0;  ///< the axes begin at zero
  std::vector<double> grid_v;                 ///< one plate curve each, highest first
  std::vector<std::vector<double>>
      curve_a;  ///< [curve][k] at plate_v_end k / kCurveSteps; ends above the picture
  PicturePoint rest;
  CurveLine dc_line{}, ac_line{};
  std::optional<CurveLine> supply_line;  ///< the pencil's AC line from the supply end
  std::optional<PicturePoint> supply_line_rest;
  std::vector<PicturePoint> path;  ///< half a cycle at the target, first at the highest drive; may be empty
  std::optional<double> plate_w_max;  ///< the published rating
};

inline constexpr int kCurveSteps = 80;

/// Allowed: a design whose rest point is solved; section 0 or 1 of those it has.
/// The DC line: for the pair with the cathodes held at their rest voltage (slope -1/plate resistor), for
/// a gain stage with plate and cathode resistor in series; both go through the rest point. The AC line goes
/// through the rest point with the load in parallel.
SectionPicture section_picture(const Design&, const Evaluation&, int section);

}  // namespace antiphase
