/// exp, log and ln(1 + e^x) that a compiler may use for several instants at once.
///
/// Include only in sources that are compiled with -fno-math-errno -fno-trapping-math (see
/// CMakeLists.txt): then loops over these call the vector versions of the C library (glibc's libmvec,
/// within 4 units in the last place). NaN and infinity keep their meaning.
#pragma once

#include <cmath>

#include "stagemodels/wide.h"

#if ANTIPHASE_VECTOR_MATH
extern "C" {
__attribute__((simd("notinbranch"), const)) double exp(double) noexcept;
__attribute__((simd("notinbranch"), const)) double log(double) noexcept;
}
#endif

namespace antiphase {

/// Smallest base that is raised to a power: its powers stay finite, and no meter shows its current.
inline constexpr double kLeastBase = 1e-150;

struct Softplus {
  double value, slope;
};

/// value = ln(1 + e^x), slope = 1 / (1 + e^-x), for every x.
/// Evaluated as max(x, 0) + ln(1 + e) with e = e^-|x|; ln(1 + e) without cancellation as in W. Kahan's
/// ln(u) e / (u - 1), u = 1 + e rounded (N. J. Higham, Accuracy and Stability of Numerical Algorithms,
/// 2nd ed., section 1.14.1).
inline Softplus softplus(double x) {
  const double e = ::exp(-std::fabs(x));
  const double u = 1 + e, d = u - 1;
  const double ln = d > 0 ? ::log(u) * (e / (d > 0 ? d : 1.0)) : e;
  return {(x > 0 ? x : 0.0) + ln, (x >= 0 ? 1.0 : e) / u};
}

/// base^exponent for base >= kLeastBase.
inline double power(double base, double exponent) { return ::exp(exponent * ::log(base)); }

}  // namespace antiphase
