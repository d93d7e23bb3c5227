#include "tests/rivals/front/cube_places.h"

#include <algorithm>
#include <cmath>

namespace antiphase::engine::rivals::front {
namespace {

constexpr double kSmallestStep = 1e-5;  // of the unit cube

}  // namespace

Places::Places(const Problem& problem, RandomNumbers& random) : cube_(problem), dice_(random) {
  for (const Axis& axis : problem.axes)
    if (axis.low < axis.high) levels_.push_back(static_cast<int>(axis.levels.size()));
}

void Places::snap(std::vector<double>& u, const std::vector<double>& from) {
  for (std::size_t k = 0; k < u.size(); ++k) {
    u[k] = std::clamp(u[k], 0.0, 1.0);
    if (levels_[k] > 0) u[k] = centre(k, std::min(levels_[k] - 1, static_cast<int>(u[k] * levels_[k])));
  }
  if (u == from) nudge(u);
}

void Places::nudge(std::vector<double>& u) {
  const std::size_t k = static_cast<std::size_t>(dice_.below(cube_.size()));
  double length = std::pow(kSmallestStep, dice_.unit());
  if (dice_.below(2)) length = -length;
  if (levels_[k] > 0) {
    const int levels = static_cast<int>(std::round(length * length * std::copysign(levels_[k], length)));
    const int by = levels != 0 ? levels : (length > 0 ? 1 : -1);
    const int at = std::min(levels_[k] - 1, static_cast<int>(u[k] * levels_[k]));
    u[k] = centre(k, std::clamp(at + by, 0, levels_[k] - 1));
  } else {
    u[k] = std::clamp(u[k] + length, 0.0, 1.0);
  }
}

}  // namespace antiphase::engine::rivals::front
