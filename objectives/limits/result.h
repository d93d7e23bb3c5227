/// How a limit's row is filled: the one place that knows what "kept" and "margin" mean.
#pragma once

#include <cmath>
#include <optional>

#include "objectives/limits/limit.h"

namespace antiphase {

/// value against rating * factor, not above it.
inline LimitResult at_most(double value, double rating, double factor) {
  LimitResult r;
  r.value = value;
  r.design_factor = factor;
  r.limit = rating * factor;
  r.margin_pct = r.limit != 0 ? 100 * (r.limit - value) / std::abs(r.limit) : (value <= 0 ? 100.0 : -100.0);
  r.kept = value <= r.limit;
  return r;
}

/// value against a floor, not below it.
inline LimitResult at_least(double value, double floor) {
  LimitResult r;
  r.value = value;
  r.limit = floor;
  r.at_least = true;
  r.margin_pct = floor != 0 ? 100 * (value - floor) / std::abs(floor) : (value >= 0 ? 100.0 : -100.0);
  r.kept = value >= floor;
  return r;
}

/// The same against a rating that may not be published.
inline std::optional<LimitResult> at_most(double value, const std::optional<Sourced>& rating, double factor) {
  if (!rating) return std::nullopt;
  return at_most(value, rating->value, factor);
}

inline bool rest_known(const Evaluation& e) {
  return e.operating_point.solved == Solved::yes;
}
inline bool target_known(const Evaluation& e) {
  return e.at_target.solved == Solved::yes;
}

}  // namespace antiphase
