// Complex equations of a few unknowns against an independent library's.
#include "stagemodels/linear/nodal_equations.h"

#include <doctest/doctest.h>

#include <Eigen/LU>
#include <cmath>
#include <random>

#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

using Complex = std::complex<double>;
using Matrix = Eigen::MatrixXcd;
using Vector = Eigen::VectorXcd;

/// Some entries are zero, as between nodes that no branch joins. With `weak_diagonal` no pivot can be taken
/// where it stands.
NodalMatrix drawn(RandomNumbers& random, int unknowns, bool weak_diagonal) {
  NodalMatrix m;
  m.unknowns = unknowns;
  for (auto& row : m.siemens) row.fill(0);
  for (auto& row : m.farad) row.fill(0);
  const auto first = static_cast<std::size_t>(NodalMatrix::kFixed);
  for (std::size_t r = 0; r < static_cast<std::size_t>(unknowns); ++r)
    for (std::size_t c = 0; c < static_cast<std::size_t>(unknowns); ++c) {
      const double size = r == c && weak_diagonal ? 0 : 1;
      if (r != c && random.below(3) == 0) continue;
      m.siemens[first + r][first + c] = size * random.between(-1e-3, 1e-3);
      m.farad[first + r][first + c] = size * random.between(-1e-9, 1e-9);
    }
  return m;
}
Matrix dense(const NodalMatrix& m, double omega) {
  Matrix y(m.unknowns, m.unknowns);
  for (int r = 0; r < m.unknowns; ++r)
    for (int c = 0; c < m.unknowns; ++c) {
      const auto row = static_cast<std::size_t>(NodalMatrix::kFixed + r),
                 column = static_cast<std::size_t>(NodalMatrix::kFixed + c);
      y(r, c) = Complex(m.siemens[row][column], omega * m.farad[row][column]);
    }
  return y;
}

}  // namespace

TEST_CASE("a few complex equations and their transposed ones are solved as an independent library does") {
  // Both pivot: each is off by a few units in the last place, times the condition of the matrix (Golub & Van
  // Loan, Matrix Computations, 4th ed., 3.4 and 3.5), which is found with the library's inverse.
  RandomNumbers random{std::mt19937_64(41)};
  int swapped = 0;
  for (int n = 0; n < 2000; ++n) {
    const int unknowns = 1 + n % NodalMatrix::kMost;
    const bool weak = unknowns > 2 && n % 3 == 0;
    const NodalMatrix m = drawn(random, unknowns, weak);
    const double omega = random.log_between(1e4, 1e8);
    const Matrix y = dense(m, omega);
    const Eigen::FullPivLU<Matrix> independent(y);
    if (!independent.isInvertible()) continue;
    const double condition = y.norm() * independent.inverse().norm();
    if (condition > 1e6) continue;
    swapped += weak ? 1 : 0;
    std::array<NodalVector, 2> right{};
    Vector b[2] = {Vector(unknowns), Vector(unknowns)};
    for (std::size_t s = 0; s < 2; ++s)
      for (int r = 0; r < unknowns; ++r)
        b[s](r) = right[s][static_cast<std::size_t>(r)] =
            Complex(random.between(-1, 1), random.between(-1, 1));

    NodalVector x = right[0];
    solve(m, omega, x);
    std::array<NodalVector, 2> adjoint = right;
    solve_transposed(m, omega, adjoint);
    const Vector want = independent.solve(b[0]);
    const double most = 1e-14 * condition;
    for (int r = 0; r < unknowns; ++r)
      CHECK(std::abs(x[static_cast<std::size_t>(r)] - want(r)) <= most * want.norm());
    for (std::size_t s = 0; s < 2; ++s) {
      const Vector across = Matrix(y.transpose()).fullPivLu().solve(b[s]);
      for (int r = 0; r < unknowns; ++r)
        CHECK(std::abs(adjoint[s][static_cast<std::size_t>(r)] - across(r)) <= most * across.norm());
    }
  }
  CHECK(swapped > 300);
}
