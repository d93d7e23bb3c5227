#include "stagemodels/linear/transfer.h"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

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

std::complex<double> Transfer::at(double frequency_hz) const {
  const double omega = 2 * std::numbers::pi * frequency_hz;
  // Elimination of the diagonal below, the larger of two neighbours as pivot; real and imaginary parts
  // apart, as std::complex looks for NaN after every product.
  double re[kMost][kMost], im[kMost][kMost], x_re[kMost], x_im[kMost];
  const int n = n_;
  for (int r = 0; r < n; ++r) {
    x_re[r] = right_[r];
    x_im[r] = 0;
    for (int c = r > 0 ? r - 1 : 0; c < n; ++c) {
      re[r][c] = r == c ? 1.0 : 0.0;
      im[r][c] = omega * h_[r][c];
    }
  }
  for (int p = 0; p + 1 < n; ++p) {
    const int q = p + 1;
    const double here = re[p][p] * re[p][p] + im[p][p] * im[p][p];
    const double below = re[q][p] * re[q][p] + im[q][p] * im[q][p];
    if (below > here) {
      for (int c = p; c < n; ++c) {
        std::swap(re[p][c], re[q][c]);
        std::swap(im[p][c], im[q][c]);
      }
      std::swap(x_re[p], x_re[q]);
      std::swap(x_im[p], x_im[q]);
    }
    const double size = below > here ? below : here;
    const double f_re = (re[q][p] * re[p][p] + im[q][p] * im[p][p]) / size;
    const double f_im = (im[q][p] * re[p][p] - re[q][p] * im[p][p]) / size;
    for (int c = q; c < n; ++c) {
      re[q][c] -= f_re * re[p][c] - f_im * im[p][c];
      im[q][c] -= f_re * im[p][c] + f_im * re[p][c];
    }
    const double p_re = x_re[p], p_im = x_im[p];
    x_re[q] -= f_re * p_re - f_im * p_im;
    x_im[q] -= f_re * p_im + f_im * p_re;
  }
  double out_re = 0, out_im = 0;
  for (int p = n - 1; p >= 0; --p) {
    double a = x_re[p], b = x_im[p];
    for (int c = p + 1; c < n; ++c) {
      a -= re[p][c] * x_re[c] - im[p][c] * x_im[c];
      b -= re[p][c] * x_im[c] + im[p][c] * x_re[c];
    }
    const double size = re[p][p] * re[p][p] + im[p][p] * im[p][p];
    x_re[p] = (a * re[p][p] + b * im[p][p]) / size;
    x_im[p] = (b * re[p][p] - a * im[p][p]) / size;
    out_re += left_[p] * x_re[p];
    out_im += left_[p] * x_im[p];
  }
  return {out_re, out_im};
}

}  // namespace antiphase
