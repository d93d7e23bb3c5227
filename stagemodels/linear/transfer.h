/// One transfer of a linear network against frequency, prepared so that many frequencies are cheap.
#pragma once

#include <array>
#include <complex>
#include <span>

namespace antiphase {

/// left^T (G + j omega C)^-1 right. With M = G^-1 C = Q H Q^T, H of Hessenberg form (one diagonal below the
/// main one), each frequency is the solution of a matrix I + j omega H that is nearly a triangle.
/// Sources: Laub, "Efficient multivariable frequency response computations", IEEE Trans. Automatic Control
/// AC-26 (1981) 407-408; Golub & Van Loan, Matrix Computations, 4th ed., 7.4.
class Transfer {
 public:
  static constexpr int kMost = 25;

  /// `g`, `c`: square, columns one after another. Allowed: G regular; at most kMost unknowns, as many as
  /// `right` and `left` have. Cost: about 5 us. Allocates nothing.
  Transfer(std::span<const double> g, std::span<const double> c, std::span<const double> right,
           std::span<const double> left);

  /// Cost: about 0.3 us. Allocates nothing.
  std::complex<double> at(double frequency_hz) const;
  /// Each as the other `at` gives it. Allowed: as many as `out` has. Cost: some 0.08 us each, eight side by
  /// side. Allocates nothing.
  void at(std::span<const double> frequency_hz, std::span<std::complex<double>> out) const;

 private:
  template <int W>
  void solve(const double* frequency_hz, std::complex<double>* out) const;
  void solve_eight(const double* frequency_hz, std::complex<double>* out) const;

  int n_;
  std::array<std::array<double, kMost>, kMost> h_{};  // rows
  std::array<double, kMost> right_{}, left_{};
};

}  // namespace antiphase
