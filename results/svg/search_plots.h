/// The main plots of a search as SVG files of their own, for use elsewhere.
#pragma once

#include <vector>

#include "results/report.h"
#include "results/save.h"

namespace antiphase {

/// trade_off.svg: the first two figures of the brief against each other, with its limits as lines; of the
/// best candidate plate_curves.svg (…_1 and …_2 of a pair), distortion_by_level.svg and
/// gain_by_frequency.svg, as far as each is known. The same numbers as on the page. Empty without a design.
std::vector<FileToSave> search_plots(const Report&);

}  // namespace antiphase
