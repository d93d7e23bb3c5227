/// The parameters that a fit searches for, each mapped to the whole real line. Private to the fit.
#pragma once

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "stagemodels/tubes/fit.h"

namespace antiphase {

/// Widths of the pull towards the law given (one standard deviation): parameters of one type differ
/// between published sets by about this much.
inline constexpr double kPullLogarithm = 0.3;  // of a logarithmic axis, e-folds
inline constexpr double kPullShare = 0.2;      // of a linear axis, share of its range
/// Share of a range that counts as its end.
inline constexpr double kEdge = 1e-3;

/// One parameter that is searched for, mapped to the whole real line by u = logit of its place.
struct Axis {
  int index = 0;  // in the law's fields()
  double low = 0, high = 1;
  bool logarithmic = false, pulled = true;

  double width() const { return logarithmic ? std::log(high / low) : high - low; }
  /// Where in the range a value stands, 0 to 1, kept off the ends, where the logit is infinite.
  double place(double v) const {
    const double inside = std::clamp(v, low, high);
    const double t = (logarithmic ? std::log(inside / low) : inside - low) / width();
    return std::clamp(t, kEdge, 1 - kEdge);
  }
  double value(double t) const { return logarithmic ? low * std::exp(t * width()) : low + t * width(); }
  double pull_width() const { return logarithmic ? kPullLogarithm / width() : kPullShare; }
};

inline double logit(double t) {
  return std::log(t / (1 - t));
}
inline double logistic(double u) {
  return u >= 0 ? 1 / (1 + std::exp(-u)) : std::exp(u) / (1 + std::exp(u));
}

/// visit(index, field, value) for every parameter of the law, in the order of its fields().
template <class Visit>
void each_parameter(TriodeLaw& law, Visit visit) {
  std::visit(
      [&](auto& l) {
        int index = 0;
        for (const auto& field : l.fields()) visit(index++, field, l.*field.member);
      },
      law);
}

/// One axis per parameter that is not held.
inline std::vector<Axis> axes_of(TriodeLaw law, std::span<const FitRange> ranges) {
  std::vector<Axis> axes;
  each_parameter(law, [&](int index, const auto& field, double) {
    const auto given = std::find_if(ranges.begin(), ranges.end(),
                                    [&](const FitRange& r) { return r.parameter == field.name; });
    if (given != ranges.end() && given->held) return;
    const double low = given == ranges.end() ? field.low : given->low;
    const double high = given == ranges.end() ? field.high : given->high;
    axes.push_back({index, low, high, low > 0 && high >= 10 * low, given == ranges.end() || given->pulled});
  });
  return axes;
}

}  // namespace antiphase
