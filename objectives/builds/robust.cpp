#include "objectives/builds/robust.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace antiphase {

RobustFigures robust_of(const Design& design, const Tolerances& tolerances, const Demands& demands,
                        const RobustAsk& ask) {
  const BuildModel model(design, tolerances);
  const std::size_t properties = model.varied().size();
  const engine::SobolPoints points(std::max(1, static_cast<int>(properties)), ask.seed);
  const Depth depth = std::max(Depth::full, needed_depth(demands));
  std::array<double, engine::SobolPoints::kMostDimensions> unit{};
  std::vector<double> scores;
  RobustFigures out;
  Evaluation e;
  int kept = 0;
  for (int k = 0; k < ask.builds; ++k) {
    points.point(static_cast<std::uint32_t>(k), {unit.data(), static_cast<std::size_t>(points.dimensions())});
    const Design build = model.build({unit.data(), properties});
    evaluate(build, depth, e);
    ++out.builds;
    kept += build_keeps(demands, build, e);
    const std::optional<double> s = score(demands, build, e);
    if (s && std::isfinite(*s)) scores.push_back(*s);
    if (out.builds % RobustAsk::kBlock == 0 &&
        static_cast<double>(kept + ask.builds - out.builds) / ask.builds < ask.worth_having) {
      out.given_up = true;
      break;
    }
  }
  if (out.builds == 0) return out;
  out.yield = static_cast<double>(kept) / out.builds;
  out.yield_95 = engine::wilson_interval(kept, out.builds, 0.95);
  std::sort(scores.begin(), scores.end());
  // type 7 as engine::quantile has it, builds without a score at the far end
  const double at = ask.percentile * (out.builds - 1);
  const auto low = static_cast<std::size_t>(at);
  const double part = at - static_cast<double>(low);
  if (low < scores.size() && part == 0)
    out.score = scores[low];
  else if (low + 1 < scores.size())
    out.score = scores[low] + part * (scores[low + 1] - scores[low]);
  return out;
}

}  // namespace antiphase
