#include "optimize/studies/fit/readings.h"

#include <algorithm>
#include <span>

namespace antiphase {

Readings::Readings(std::vector<PlacedPoint> placed, const std::vector<PublishedPoint>& published)
    : placed_(std::move(placed)), published_points_(published) {
  observe();
}

std::vector<CurvePoint> Readings::curve() const {
  std::vector<CurvePoint> points;
  for (const PlacedPoint& p : placed_) points.push_back(p.point);
  return points;
}

void Readings::observe() {
  const std::vector<CurvePoint> points = curve();
  typical_a_ = typical_current_a(published_points_, points);
  observations_ = observations_of(published_points_, points);
  of_curves_ = static_cast<std::size_t>(
      std::count_if(points.begin(), points.end(), [](const CurvePoint& p) { return p.plate_current_a > 0; }));
}

bool Readings::leave_out_strays(const FitOutcome& fit) {
  std::vector<PlacedPoint> with_current;  // as the observations stand
  std::vector<std::size_t> place;         // of each in placed_
  for (std::size_t k = 0; k < placed_.size(); ++k) {
    if (!(placed_[k].point.plate_current_a > 0)) continue;
    with_current.push_back(placed_[k]);
    place.push_back(k);
  }
  const Strays found = strays(with_current, std::span(fit.modelled).first(of_curves_), typical_a_);
  for (auto k = found.which.rbegin(); k != found.which.rend(); ++k)
    placed_.erase(placed_.begin() + static_cast<std::ptrdiff_t>(place[*k]));
  strays_ = found.words;
  if (found.which.empty()) return false;
  observe();
  return true;
}

}  // namespace antiphase
