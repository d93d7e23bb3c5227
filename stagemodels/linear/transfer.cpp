#include "stagemodels/linear/transfer.h"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "stagemodels/solve/cycle.h"
#include "stagemodels/wide.h"

namespace antiphase {
namespace {

constexpr int kMost = Transfer::kMost;
using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor, kMost, kMost>;
using Vector = Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, kMost, 1>;

}  // namespace

Transfer::Transfer(std::span<const double> g, std::span<const double> c, std::span<const double> right,
                   std::span<const double> left)
    : n_(static_cast<int>(right.size())) {
  const Eigen::PartialPivLU<Matrix> siemens(Matrix(Eigen::Map<const Matrix>(g.data(), n_, n_)));
  const Matrix seconds = siemens.solve(Matrix(Eigen::Map<const Matrix>(c.data(), n_, n_)));
  const Vector excited = siemens.solve(Vector(Eigen::Map<const Vector>(right.data(), n_)));
  // The longest time constants first: the reduction then rounds most rows by their own size. In another order
  // it rounds all by the longest, and loses the fast ones at high frequencies. So the accuracy does not hang
  // on the order in which a circuit's nodes are listed. Source: graded matrices, e.g. Stewart, Matrix
  // Algorithms, vol. II (2001), chapter 2 (from memory).
  std::array<int, kMost> order{};
  std::iota(order.begin(), order.begin() + n_, 0);
  std::sort(order.begin(), order.begin() + n_,
            [&seconds](int p, int q) { return seconds.row(p).squaredNorm() > seconds.row(q).squaredNorm(); });
  Matrix h(n_, n_);
  Vector b(n_), l(n_);
  for (int r = 0; r < n_; ++r) {
    for (int k = 0; k < n_; ++k) h(r, k) = seconds(order[r], order[k]);
    b(r) = excited(order[r]);
    l(r) = left[order[r]];
  }
  if (n_ > 2) {
    const Eigen::HessenbergDecomposition<Matrix> reduced(h);
    h = reduced.matrixH();
    const Matrix q = reduced.matrixQ();
    b = Vector(q.transpose() * b);
    l = Vector(q.transpose() * l);
  }
  for (int r = 0; r < n_; ++r) {
    right_[r] = b(r);
    left_[r] = l(r);
    for (int k = 0; k < n_; ++k) h_[r][k] = h(r, k);
  }
}

/// Elimination of the diagonal below, the larger of two neighbours as pivot; W frequencies side by side, real
/// and imaginary parts apart, as std::complex looks for NaN after every product.
template <int W>
ANTIPHASE_INLINE void Transfer::solve(const double* frequency_hz, std::complex<double>* out) const {
  using Lanes = double[W];
  alignas(64) Lanes re[kMost * kMost], im[kMost * kMost], x_re[kMost], x_im[kMost], omega;
  const int n = n_;
  const auto each = [](auto use) ANTIPHASE_INTO_CALLER {
    for (int l = 0; l < W; ++l) use(l);
  };
  each([&](int l) ANTIPHASE_INTO_CALLER { omega[l] = 2 * std::numbers::pi * frequency_hz[l]; });
  for (int r = 0; r < n; ++r) {
    each([&](int l) ANTIPHASE_INTO_CALLER {
      x_re[r][l] = right_[r];
      x_im[r][l] = 0;
    });
    for (int c = r > 0 ? r - 1 : 0; c < n; ++c)
      each([&](int l) ANTIPHASE_INTO_CALLER {
        re[r * n + c][l] = r == c ? 1.0 : 0.0;
        im[r * n + c][l] = omega[l] * h_[r][c];
      });
  }
  for (int p = 0; p + 1 < n; ++p) {
    const int q = p + 1;
    Lanes *p_re = &re[p * n], *p_im = &im[p * n], *q_re = &re[q * n], *q_im = &im[q * n];
    alignas(64) Lanes below, f_re, f_im;  // below: the lower one is the pivot
    each([&](int l) ANTIPHASE_INTO_CALLER {
      const double here = p_re[p][l] * p_re[p][l] + p_im[p][l] * p_im[p][l];
      const double lower = q_re[p][l] * q_re[p][l] + q_im[p][l] * q_im[p][l];
      below[l] = lower > here ? 1.0 : 0.0;
    });
    const auto exchange = [&](Lanes& a, Lanes& b) ANTIPHASE_INTO_CALLER {
      each([&](int l) ANTIPHASE_INTO_CALLER {
        const double up = a[l], down = b[l];
        a[l] = below[l] != 0 ? down : up;
        b[l] = below[l] != 0 ? up : down;
      });
    };
    for (int c = p; c < n; ++c) {
      exchange(p_re[c], q_re[c]);
      exchange(p_im[c], q_im[c]);
    }
    exchange(x_re[p], x_re[q]);
    exchange(x_im[p], x_im[q]);
    each([&](int l) ANTIPHASE_INTO_CALLER {
      const double size = p_re[p][l] * p_re[p][l] + p_im[p][l] * p_im[p][l];
      f_re[l] = (q_re[p][l] * p_re[p][l] + q_im[p][l] * p_im[p][l]) / size;
      f_im[l] = (q_im[p][l] * p_re[p][l] - q_re[p][l] * p_im[p][l]) / size;
    });
    for (int c = q; c < n; ++c)
      each([&](int l) ANTIPHASE_INTO_CALLER {
        q_re[c][l] -= f_re[l] * p_re[c][l] - f_im[l] * p_im[c][l];
        q_im[c][l] -= f_re[l] * p_im[c][l] + f_im[l] * p_re[c][l];
      });
    each([&](int l) ANTIPHASE_INTO_CALLER {
      x_re[q][l] -= f_re[l] * x_re[p][l] - f_im[l] * x_im[p][l];
      x_im[q][l] -= f_re[l] * x_im[p][l] + f_im[l] * x_re[p][l];
    });
  }
  alignas(64) Lanes out_re{}, out_im{};
  for (int p = n - 1; p >= 0; --p) {
    const Lanes *p_re = &re[p * n], *p_im = &im[p * n];
    for (int c = p + 1; c < n; ++c)
      each([&](int l) ANTIPHASE_INTO_CALLER {
        x_re[p][l] -= p_re[c][l] * x_re[c][l] - p_im[c][l] * x_im[c][l];
        x_im[p][l] -= p_re[c][l] * x_im[c][l] + p_im[c][l] * x_re[c][l];
      });
    each([&](int l) ANTIPHASE_INTO_CALLER {
      const double a = x_re[p][l], b = x_im[p][l];
      const double size = p_re[p][l] * p_re[p][l] + p_im[p][l] * p_im[p][l];
      x_re[p][l] = (a * p_re[p][l] + b * p_im[p][l]) / size;
      x_im[p][l] = (b * p_re[p][l] - a * p_im[p][l]) / size;
      out_re[l] += left_[p] * x_re[p][l];
      out_im[l] += left_[p] * x_im[p][l];
    });
  }
  each([&](int l) ANTIPHASE_INTO_CALLER { out[l] = {out_re[l], out_im[l]}; });
}

ANTIPHASE_WIDE void Transfer::solve_eight(const double* frequency_hz, std::complex<double>* out) const {
  solve<8>(frequency_hz, out);
}

std::complex<double> Transfer::at(double frequency_hz) const {
  std::complex<double> out;
  solve<1>(&frequency_hz, &out);
  return out;
}

void Transfer::at(std::span<const double> frequency_hz, std::span<std::complex<double>> out) const {
  constexpr std::size_t kTogether = 8;
  std::size_t n = 0;
  for (; n + kTogether <= frequency_hz.size(); n += kTogether) solve_eight(&frequency_hz[n], &out[n]);
  for (; n < frequency_hz.size(); ++n) out[n] = at(frequency_hz[n]);
}

}  // namespace antiphase
