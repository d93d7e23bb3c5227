/// Points that fill the unit cube more evenly than random ones: Sobol's sequence, scrambled by a seed.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace antiphase::engine {

/// Sobol's sequence, scrambled. Source of polynomials and direction numbers: S. Joe & F. Y. Kuo,
/// "Constructing Sobol sequences with better two-dimensional projections", SIAM J. Sci. Comput. 30 (2008)
/// 2635, doi 10.1137/070709359. Every coordinate's bits are scrambled by Owen's nested permutations from the
/// seed, made by hashing: B. Burley, "Practical hash-based Owen scrambling", J. Computer Graphics Techniques
/// 9 (2020) no. 4. So each point is uniform by itself and errors do not gather, and the evenness stays. Any
/// point may be asked for by its number, from any number of threads; a coordinate costs some ten nanoseconds.
class SobolPoints {
 public:
  static constexpr int kMostDimensions = 60;

  /// dimensions: 1 … kMostDimensions (asserted).
  SobolPoints(int dimensions, std::uint64_t seed);

  int dimensions() const { return static_cast<int>(scramble_.size()); }
  /// out: as many numbers as dimensions, each strictly between 0 and 1. `number` counts from 0.
  void point(std::uint32_t number, std::span<double> out) const;
  /// One coordinate of it. dimension: 0 … dimensions() - 1.
  double coordinate(std::uint32_t number, int dimension) const;
  /// A coordinate before it is scrambled, as a share of 2^32.
  std::uint32_t unscrambled(std::uint32_t number, int dimension) const;

 private:
  static constexpr int kBits = 32;
  std::vector<std::uint32_t> direction_;  // [dimension][bit]
  std::vector<std::uint32_t> scramble_;
};

}  // namespace antiphase::engine
