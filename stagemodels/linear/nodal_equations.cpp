#include "stagemodels/linear/nodal_equations.h"

#include "stagemodels/wide.h"

namespace antiphase {
namespace {

constexpr int kMost = NodalMatrix::kMost, kFixed = NodalMatrix::kFixed;
constexpr int kVector = 4;  // doubles that are taken at once
constexpr int kWidth = 28;  // a row: the unknowns and two right sides
static_assert(kWidth % kVector == 0 && kWidth >= kMost + 2);

/// Real and imaginary parts apart: std::complex looks for NaN after every product, and parts side by side
/// would have to be shuffled before they can be multiplied. The right sides stand behind the matrix.
struct Work {
  alignas(64) double re[kMost][kWidth], im[kMost][kWidth];
};

/// Gauss's elimination and the way back, for `right` right sides; their solutions go to `x`.
///
/// Nodes have few neighbours, so most factors are zero: their rows are passed over, which saves more than
/// sizes known to the compiler would. Columns left of the pivot are of no more use, so that whole vectors may
/// start there. Inlined by force, so that it is compiled for the vectors of the function that calls it.
inline __attribute__((always_inline)) void eliminate(Work& w, int n, int right, NodalVector* x) {
  int row[kMost];
  for (int r = 0; r < n; ++r) row[r] = r;
  double inverse_re[kMost], inverse_im[kMost];
  const int end = n + right;
  for (int p = 0; p < n; ++p) {
    int best = p;
    double most = -1;
    for (int r = p; r < n; ++r) {
      const double a = w.re[row[r]][p], b = w.im[row[r]][p], size = a * a + b * b;
      if (size > most) {
        most = size;
        best = r;
      }
    }
    const int pivot = row[best];
    row[best] = row[p];
    row[p] = pivot;
    const double* p_re = w.re[pivot];
    const double* p_im = w.im[pivot];
    const double i_re = p_re[p] / most, i_im = -p_im[p] / most;
    inverse_re[p] = i_re;
    inverse_im[p] = i_im;
    for (int k = p + 1; k < n; ++k) {
      double* r_re = w.re[row[k]];
      double* r_im = w.im[row[k]];
      const double a = r_re[p], b = r_im[p];
      if (a == 0 && b == 0) continue;
      const double f_re = a * i_re - b * i_im, f_im = a * i_im + b * i_re;
      for (int c = (p + 1) / kVector * kVector; c < end; c += kVector)
        for (int l = c; l < c + kVector; ++l) {
          r_re[l] -= f_re * p_re[l] - f_im * p_im[l];
          r_im[l] -= f_re * p_im[l] + f_im * p_re[l];
        }
    }
  }
  for (int s = 0; s < right; ++s)
    for (int p = n - 1; p >= 0; --p) {
      const double a = w.re[row[p]][n + s], b = w.im[row[p]][n + s];
      const double v_re = a * inverse_re[p] - b * inverse_im[p], v_im = a * inverse_im[p] + b * inverse_re[p];
      x[s][p] = {v_re, v_im};
      for (int k = 0; k < p; ++k) {
        const double u_re = w.re[row[k]][p], u_im = w.im[row[k]][p];
        w.re[row[k]][n + s] -= u_re * v_re - u_im * v_im;
        w.im[row[k]][n + s] -= u_re * v_im + u_im * v_re;
      }
    }
}

}  // namespace

ANTIPHASE_WIDE void solve(const NodalMatrix& m, double omega, NodalVector& x) {
  Work w;
  const int n = m.unknowns,
            width = (n + kVector) / kVector * kVector;  // whole vectors, the right side in them
  for (int r = 0; r < n; ++r) {
    const double* g = &m.siemens[kFixed + r][kFixed];
    const double* c = &m.farad[kFixed + r][kFixed];
    for (int k = 0; k < width; ++k) {
      w.re[r][k] = g[k];
      w.im[r][k] = omega * c[k];
    }
    w.re[r][n] = x[r].real();
    w.im[r][n] = x[r].imag();
  }
  eliminate(w, n, 1, &x);
}

ANTIPHASE_WIDE void solve_transposed(const NodalMatrix& m, double omega, std::array<NodalVector, 2>& x) {
  Work w;
  const int n = m.unknowns;
  for (int r = 0; r < n; ++r) {
    const double* g = &m.siemens[kFixed + r][kFixed];
    const double* c = &m.farad[kFixed + r][kFixed];
    for (int k = 0; k < n; ++k) {
      w.re[k][r] = g[k];
      w.im[k][r] = omega * c[k];
    }
    for (int s = 0; s < 2; ++s) {
      w.re[r][n + s] = x[s][r].real();
      w.im[r][n + s] = x[s][r].imag();
    }
    for (int k = n + 2; k < (n + 1 + kVector) / kVector * kVector; ++k) w.re[r][k] = w.im[r][k] = 0;
  }
  eliminate(w, n, 2, x.data());
}

}  // namespace antiphase
