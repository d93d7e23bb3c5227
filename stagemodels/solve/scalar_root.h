/// Root of a falling or rising function of one unknown inside a bracket.
#pragma once

#include <cmath>

namespace antiphase {

struct ScalarRoot {
  bool found = false;
  double x = 0;
};

/// Regula falsi with the Illinois change of weight, closed by bisection steps when it stalls.
/// Allowed: f finite on [low, high], f(low) and f(high) of different sign (or one of them zero).
/// Stops when the bracket is below `tolerance` or f is exactly zero.
/// Source: Dowell & Jarratt, "A modified regula falsi method", BIT 11 (1971) 168-174.
template <class F>
ScalarRoot find_root(F&& f, double low, double high, double tolerance) {
  constexpr int kMostSteps = 200;
  double f_low = f(low), f_high = f(high);
  if (f_low == 0) return {true, low};
  if (f_high == 0) return {true, high};
  if (!(f_low * f_high < 0)) return {};
  int kept = 0;  // how often in a row the same end stayed
  for (int n = 0; n < kMostSteps && std::abs(high - low) > tolerance; ++n) {
    double x = (low * f_high - high * f_low) / (f_high - f_low);
    if (!(x > std::fmin(low, high) && x < std::fmax(low, high)) || std::abs(kept) > 3) {
      x = 0.5 * (low + high);
      kept = 0;
    }
    const double f_x = f(x);
    if (f_x == 0) return {true, x};
    if (f_x * f_high < 0) {
      low = high;
      f_low = f_high;
      kept = 0;
    } else {
      f_low *= 0.5;
      ++kept;
    }
    // `high` is always the newest point
    if (std::abs(x - high) < 0.25 * tolerance && kept > 1) {
      high = x;
      f_high = f_x;
      break;
    }
    high = x;
    f_high = f_x;
  }
  return {true, high};
}

}  // namespace antiphase
