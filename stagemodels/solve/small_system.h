/// A handful of linear equations with several right sides.
#pragma once

#include <cmath>
#include <utility>

namespace antiphase {

/// Elimination with partial pivoting. `m`: n rows; the first n columns the matrix, then `rights` right sides,
/// which become the solutions. A singular matrix gives numbers that are not finite.
/// Not Eigen's: for sizes known at run time only its factorisation takes three times as long here.
/// Source: Golub & Van Loan, Matrix Computations, 4th ed., section 3.4.
template <int kColumns>
void solve_small(int n, int rights, double (*m)[kColumns]) {
  const int columns = n + rights;
  for (int p = 0; p < n; ++p) {
    int best = p;
    for (int r = p + 1; r < n; ++r)
      if (std::fabs(m[r][p]) > std::fabs(m[best][p])) best = r;
    if (best != p)
      for (int c = p; c < columns; ++c) std::swap(m[p][c], m[best][c]);
    const double inverse = 1 / m[p][p];
    for (int r = p + 1; r < n; ++r) {
      const double factor = m[r][p] * inverse;
      if (factor == 0) continue;
      for (int c = p + 1; c < columns; ++c) m[r][c] -= factor * m[p][c];
    }
  }
  for (int p = n - 1; p >= 0; --p)
    for (int c = n; c < columns; ++c) {
      double v = m[p][c];
      for (int j = p + 1; j < n; ++j) v -= m[p][j] * m[j][c];
      m[p][c] = v / m[p][p];
    }
}

}  // namespace antiphase
