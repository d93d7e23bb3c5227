#include "optimize/engine/pareto/scale.h"

#include <algorithm>
#include <cassert>

#include "optimize/engine/order.h"

namespace antiphase::engine {

Scale scale_of(std::span<const Point> points, int objectives) {
  assert(!points.empty());
  Scale scale;
  scale.objectives = objectives;
  for (int k = 0; k < objectives; ++k) {
    double low = points[0].judged.objective[k], high = low;
    for (const Point& p : points) {
      low = std::min(low, p.judged.objective[k]);
      high = std::max(high, p.judged.objective[k]);
    }
    scale.ideal[k] = low;
    scale.width[k] = high > low ? high - low : 1;
  }
  return scale;
}

std::array<std::size_t, kMaxObjectives> extremes(std::span<const Point> points, int objectives) {
  assert(!points.empty());
  std::array<std::size_t, kMaxObjectives> index{};
  for (int k = 0; k < objectives; ++k)
    for (std::size_t i = 1; i < points.size(); ++i) {
      const double mine = points[i].judged.objective[k], least = points[index[k]].judged.objective[k];
      if (mine < least || (mine == least && better(points[i], points[index[k]]))) index[k] = i;
    }
  return index;
}

}  // namespace antiphase::engine
