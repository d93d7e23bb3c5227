#include "objectives/builds/robust.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace antiphase {

bool better_builds(RankBy by, const RobustFigures& a, const RobustFigures& b) {
  const auto by_score = [&] {
    return a.score && b.score ? *a.score < *b.score : a.score.has_value() && !b.score.has_value();
  };
  switch (by) {
    case RankBy::nominal:
      return false;
    case RankBy::yield:  // among equals the one whose builds are better
      return a.kept != b.kept ? a.kept > b.kept : by_score();
    case RankBy::percentile:
      return a.score || b.score ? by_score() : a.kept > b.kept;
  }
  return false;
}

RobustSample::RobustSample(const Design& design, const Tolerances& tolerances, const Demands& demands,
                           std::uint64_t seed)
    : model_(design, tolerances),
      demands_(demands_on_builds(demands)),
      depth_(needed_depth(demands_)),
      points_(engine::SobolPoints::kMostDimensions, seed) {}

void RobustSample::extend(int builds) {
  std::array<double, engine::SobolPoints::kMostDimensions> unit{};
  Design build;
  Evaluation e;
  const GoOn go_on = [&](Depth reached) {
    return (reached < Depth::at_target || e.at_target.solved == Solved::yes) &&
           may_be_met(demands_, build, e, reached);
  };
  for (; builds_ < builds; ++builds_) {
    model_.draw(points_, static_cast<std::uint32_t>(builds_), unit);
    build = model_.build({unit.data(), model_.varied().size()});
    evaluate(build, depth_, e, go_on);
    if (e.at_target.solved != Solved::yes || !may_be_met(demands_, build, e, Depth::everything)) continue;
    const std::optional<double> s = score(demands_, build, e);
    ++kept_;
    if (s && std::isfinite(*s)) score_.push_back(*s);
  }
}

RobustFigures RobustSample::figures(double percentile) const {
  RobustFigures out;
  out.builds = builds_;
  out.kept = kept_;
  if (builds_ == 0) return out;
  out.yield = static_cast<double>(kept_) / builds_;
  out.yield_95 = engine::wilson_interval(kept_, builds_, 0.95);
  std::vector<double> sorted = score_;
  std::sort(sorted.begin(), sorted.end());
  // type 7 as engine::quantile has it, builds that are not kept at the far end
  const double at = percentile * (builds_ - 1);
  const auto low = static_cast<std::size_t>(at);
  const double part = at - static_cast<double>(low);
  if (low < sorted.size() && part == 0)
    out.score = sorted[low];
  else if (low + 1 < sorted.size())
    out.score = sorted[low] + part * (sorted[low + 1] - sorted[low]);
  return out;
}

RobustFigures robust_of(const Design& design, const Tolerances& tolerances, const Demands& demands,
                        int builds, std::uint64_t seed, double percentile) {
  RobustSample sample(design, tolerances, demands, seed);
  sample.extend(builds);
  return sample.figures(percentile);
}

}  // namespace antiphase
