#include "results/page/point_alignment.h"

#include <algorithm>

namespace antiphase {

void align_points(std::vector<std::string>& cells) {
  const auto places = [](const std::string& cell) {
    const auto point = cell.find('.');
    return point == std::string::npos ? 0 : cell.size() - point - 1;
  };
  std::size_t most = 0;
  for (const std::string& cell : cells) most = std::max(most, places(cell));
  for (std::string& cell : cells) {
    const std::size_t missing = most - places(cell);
    if (most > 0 && cell.find('.') == std::string::npos) cell += "\u2008";
    for (std::size_t i = 0; i < missing; ++i) cell += "\u2007";
  }
}

}  // namespace antiphase
