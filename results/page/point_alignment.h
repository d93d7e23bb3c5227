/// Numbers of a column under each other by their decimal points, without a style for it.
#pragma once

#include <string>
#include <vector>

namespace antiphase {

/// Fills cells up to as many places behind the point, with spaces of a digit's width (U+2007) and a point's
/// (U+2008). For right-aligned columns of plain numbers in digits of one width.
void align_points(std::vector<std::string>& cells);

}  // namespace antiphase
