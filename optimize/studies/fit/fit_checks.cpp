#include "optimize/studies/fit/fit_checks.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "results/text/formatted.h"
namespace antiphase {
namespace {

/// A unit mistaken is a factor of a thousand; half the root of that is far from any tube's spread.
constexpr double kOtherUnit = 15;
/// Curves are read to a few per cent: less than that is no fall.
constexpr double kFall = 0.95, kApart = 1.02;
constexpr int kLeastPairs = 4;       // before falls are held against a file
constexpr double kMostFalls = 0.34;  // share of pairs: a tetrode's kink or a slip makes some, never a third
constexpr std::size_t kListed = 8;

std::string place(const PlacedPoint& p) {
  return p.file + ":" + std::to_string(p.line) + ": ";
}

struct Pairs {
  int pairs = 0;
  std::vector<const PlacedPoint*> falls;
};

/// Neighbours along one curve of one file.
Pairs neighbours(std::span<const PlacedPoint> points) {
  std::map<std::pair<std::string, double>, std::vector<const PlacedPoint*>> curves;
  for (const PlacedPoint& p : points) curves[{p.file, p.point.grid_v}].push_back(&p);
  Pairs found;
  for (auto& [of, curve] : curves) {
    std::stable_sort(curve.begin(), curve.end(), [](const PlacedPoint* a, const PlacedPoint* b) {
      return a->point.plate_v < b->point.plate_v;
    });
    for (std::size_t k = 1; k < curve.size(); ++k) {
      const CurvePoint &low = curve[k - 1]->point, &high = curve[k]->point;
      if (high.plate_v < kApart * low.plate_v) continue;
      ++found.pairs;
      if (high.plate_current_a < kFall * low.plate_current_a) found.falls.push_back(curve[k]);
    }
  }
  return found;
}

}  // namespace

std::string contradictions(std::span<const PlacedPoint> points, const Tube* card) {
  std::string text;
  if (points.empty()) return text;
  const auto positive = [](const PlacedPoint& p) { return p.point.grid_v > 0; };
  if (std::all_of(points.begin(), points.end(), positive))
    text += points.front().file +
            ": every grid voltage is above 0: has a sign been lost, or have vg_v and va_v changed places?\n";
  const Pairs found = neighbours(points);
  if (found.pairs >= kLeastPairs && static_cast<double>(found.falls.size()) > kMostFalls * found.pairs)
    text += place(*found.falls.front()) +
            formatted(
                "in %zu of %d pairs of neighbours on one curve the current falls as the plate rises: are the "
                "columns named as they stand?\n",
                found.falls.size(), found.pairs);
  const double typical_a = card ? typical_current_a(card->published_points, {}) : 0;
  double largest_a = 0;
  for (const PlacedPoint& p : points) largest_a = std::max(largest_a, p.point.plate_current_a);
  if (typical_a > 0 && largest_a > 0 &&
      (largest_a > kOtherUnit * typical_a || kOtherUnit * largest_a < typical_a))
    text += points.front().file +
            formatted(
                ": the largest current is %.3g mA, and the %s is run at %.3g mA: is the column in "
                "milliamperes (ia_ma) or in amperes (ia_a)?\n",
                1e3 * largest_a, card->name.c_str(), 1e3 * typical_a);
  return text;
}

std::string oddities(std::span<const PlacedPoint> points, const Tube* card) {
  std::string text;
  if (card && card->ratings.plate_v_max && card->ratings.plate_w_max) {
    const double most_v = card->ratings.plate_v_max->value, most_w = card->ratings.plate_w_max->value;
    int volts = 0, watts = 0;
    for (const PlacedPoint& p : points) {
      volts += p.point.plate_v > most_v;
      watts += p.point.plate_v * p.point.plate_current_a > most_w;
    }
    if (volts > 0 || watts > 0)
      text += formatted(
          "  beyond the ratings, and used: %d readings above %.4g V, %d above %.3g W; a law has to "
          "hold for peaks too\n",
          volts, most_v, watts, most_w);
  }
  const Pairs found = neighbours(points);
  for (std::size_t k = 0; k < std::min(kListed, found.falls.size()); ++k)
    text +=
        "  " + place(*found.falls[k]) + "less current than its neighbour at a lower plate voltage; used\n";
  return text;
}

Strays strays(std::span<const PlacedPoint> points, std::span<const std::optional<double>> modelled,
              double typical_a) {
  constexpr double kFar = 5, kShare = 0.1, kMostOfAll = 0.1;
  Strays found;
  for (std::size_t k = 0; k < points.size(); ++k) {
    const double read = points[k].point.plate_current_a, law = modelled[k].value_or(0);
    if (std::max(read, law) < kShare * typical_a) continue;
    if (read < kFar * law && law < kFar * read) continue;
    found.which.push_back(k);
    const double factor = law > 0 && read > 0 ? std::max(read / law, law / read) : 0;
    found.words +=
        "  " + place(points[k]) +
        formatted("reads %.3g mA where the law gives %.3g mA; left out of the fit", 1e3 * read, 1e3 * law) +
        (factor > 200 && factor < 5000 ? ": another unit?\n" : "\n");
  }
  if (static_cast<double>(found.which.size()) > kMostOfAll * static_cast<double>(points.size())) return {};
  return found;
}

}  // namespace antiphase
