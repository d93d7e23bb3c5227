#include "optimize/engine/pareto/spread_out.h"

#include <algorithm>
#include <iterator>
#include <limits>
#include <span>

#include "optimize/engine/order.h"
#include "optimize/engine/pareto/knee.h"
#include "optimize/engine/pareto/scale.h"

namespace antiphase::engine {

std::vector<Point> spread_out(std::vector<Point> front, int objectives, int most) {
  // One order first, so that ties in distance are settled by better().
  std::sort(front.begin(), front.end(), [](const Point& a, const Point& b) { return better(a, b); });
  if (most <= 0) return {};
  if (std::ssize(front) <= most) return front;

  const Scale scale = scale_of(front, objectives);
  std::vector<double> gap(front.size(), std::numeric_limits<double>::max());  // squared; -1: kept
  int kept = 0;
  const auto keep = [&](std::size_t chosen) {
    if (gap[chosen] < 0 || kept >= most) return;
    ++kept;
    gap[chosen] = -1;
    for (std::size_t i = 0; i < front.size(); ++i) {
      if (gap[i] < 0) continue;
      double square = 0;
      for (int k = 0; k < objectives; ++k) {
        const double d = scale(front[i].judged, k) - scale(front[chosen].judged, k);
        square += d * d;
      }
      gap[i] = std::min(gap[i], square);
    }
  };
  keep(0);
  const auto extreme = extremes(front, objectives);
  for (int k = 0; k < objectives; ++k) keep(extreme[k]);
  keep(knee(front, objectives));
  while (kept < most) keep(std::max_element(gap.begin(), gap.end()) - gap.begin());

  std::vector<Point> thinned;
  for (std::size_t i = 0; i < front.size(); ++i)
    if (gap[i] < 0) thinned.push_back(std::move(front[i]));
  return thinned;
}

}  // namespace antiphase::engine
