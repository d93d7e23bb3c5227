/// Nodal equations (G + j omega C) v = i of a few unknowns, solved at one frequency at a time.
#pragma once

#include <array>
#include <complex>

namespace antiphase {

/// Square, at most kMost unknowns, with room beside them for what the network knows: rows and columns of
/// nodes that stand still or are driven. Rows one after another, a fixed stride apart.
struct NodalMatrix {
  static constexpr int kMost = 24;    ///< unknowns
  static constexpr int kFixed = 4;    ///< rows and columns ahead of them
  static constexpr int kStride = 28;  ///< doubles a row: all columns, up to whole vectors of four
  static_assert(kStride >= kFixed + kMost && kStride % 4 == 0 && kFixed % 4 == 0);
  using Rows = std::array<std::array<double, kStride>, kFixed + kMost>;

  int unknowns = 0;
  alignas(32) Rows siemens{}, farad{};  ///< zero beyond the unknowns, too
};

/// By unknowns, counted without the fixed rows.
using NodalVector = std::array<std::complex<double>, NodalMatrix::kMost>;

/// In: the right side; out: the solution. Allowed: a regular matrix. Partial pivoting (Golub & Van Loan,
/// Matrix Computations, 4th ed., 3.4). Cost: 0.1 us with four unknowns, 0.6 us with ten. Allocates nothing.
void solve(const NodalMatrix& matrix, double omega, NodalVector& x);
/// The same with the transposed matrix, for two right sides.
void solve_transposed(const NodalMatrix& matrix, double omega, std::array<NodalVector, 2>& x);

}  // namespace antiphase
