/// ln(1 + e^x) and its slope, safe for every x.
#pragma once

#include <cmath>

namespace antiphase {

struct Softplus {
  double value, slope;
};

/// value = ln(1 + e^x), slope = 1 / (1 + e^-x). Evaluated as max(x, 0) + ln(1 + e^-|x|).
inline Softplus softplus(double x) {
  const double e = std::exp(-std::abs(x));
  const double slope = (x >= 0 ? 1.0 : e) / (1 + e);
  return {std::fmax(x, 0.0) + std::log1p(e), slope};
}

}  // namespace antiphase
