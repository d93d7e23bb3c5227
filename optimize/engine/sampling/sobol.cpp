#include "optimize/engine/sampling/sobol.h"

#include <array>
#include <bit>
#include <cassert>

#include "optimize/engine/task_seeds.h"

namespace antiphase::engine {
namespace {

/// A primitive polynomial over GF(2), its bits from the highest power down, and the first numbers m of its
/// dimension (Joe & Kuo's table, dimensions 2 to 48).
struct Row {
  std::uint32_t polynomial;
  std::array<std::uint32_t, 9> m;
};
constexpr std::array<Row, SobolPoints::kMostDimensions - 1> kRows{{
    {3, {1}},
    {7, {1, 3}},
    {11, {1, 3, 1}},
    {13, {1, 1, 1}},
    {19, {1, 1, 3, 3}},
    {25, {1, 3, 5, 13}},
    {37, {1, 1, 5, 5, 17}},
    {41, {1, 1, 5, 5, 5}},
    {47, {1, 1, 7, 11, 19}},
    {55, {1, 1, 5, 1, 1}},
    {59, {1, 1, 1, 3, 11}},
    {61, {1, 3, 5, 5, 31}},
    {67, {1, 3, 3, 9, 7, 49}},
    {91, {1, 1, 1, 15, 21, 21}},
    {97, {1, 3, 1, 13, 27, 49}},
    {103, {1, 1, 1, 15, 7, 5}},
    {109, {1, 3, 1, 15, 13, 25}},
    {115, {1, 1, 5, 5, 19, 61}},
    {131, {1, 3, 7, 11, 23, 15, 103}},
    {137, {1, 3, 7, 13, 13, 15, 69}},
    {143, {1, 1, 3, 13, 7, 35, 63}},
    {145, {1, 3, 5, 9, 1, 25, 53}},
    {157, {1, 3, 1, 13, 9, 35, 107}},
    {167, {1, 3, 1, 5, 27, 61, 31}},
    {171, {1, 1, 5, 11, 19, 41, 61}},
    {185, {1, 3, 5, 3, 3, 13, 69}},
    {191, {1, 1, 7, 13, 1, 19, 1}},
    {193, {1, 3, 7, 5, 13, 19, 59}},
    {203, {1, 1, 3, 9, 25, 29, 41}},
    {211, {1, 3, 5, 13, 23, 1, 55}},
    {213, {1, 3, 7, 3, 13, 59, 17}},
    {229, {1, 3, 1, 3, 5, 53, 69}},
    {239, {1, 1, 5, 5, 23, 33, 13}},
    {241, {1, 1, 7, 7, 1, 61, 123}},
    {247, {1, 1, 7, 9, 13, 61, 49}},
    {253, {1, 3, 3, 5, 3, 55, 33}},
    {285, {1, 3, 1, 15, 31, 13, 49, 245}},
    {299, {1, 3, 5, 15, 31, 59, 63, 97}},
    {301, {1, 3, 1, 11, 11, 11, 77, 249}},
    {333, {1, 3, 1, 11, 27, 43, 71, 9}},
    {351, {1, 1, 7, 15, 21, 11, 81, 45}},
    {355, {1, 3, 7, 3, 25, 31, 65, 79}},
    {357, {1, 3, 1, 1, 19, 11, 3, 205}},
    {361, {1, 1, 5, 9, 19, 21, 29, 157}},
    {369, {1, 3, 7, 11, 1, 33, 89, 185}},
    {391, {1, 3, 3, 3, 15, 9, 79, 71}},
    {397, {1, 3, 7, 11, 15, 39, 119, 27}},
    {425, {1, 1, 3, 1, 11, 31, 97, 225}},
    {451, {1, 1, 1, 3, 23, 43, 57, 177}},
    {463, {1, 3, 7, 7, 17, 17, 37, 71}},
    {487, {1, 3, 1, 5, 27, 63, 123, 213}},
    {501, {1, 1, 3, 5, 11, 43, 53, 133}},
    {529, {1, 3, 5, 5, 29, 17, 47, 173, 479}},
    {539, {1, 3, 3, 11, 3, 1, 109, 9, 69}},
    {545, {1, 1, 1, 5, 17, 39, 23, 5, 343}},
    {557, {1, 3, 1, 5, 25, 15, 31, 103, 499}},
    {563, {1, 1, 1, 11, 11, 17, 63, 105, 183}},
    {601, {1, 1, 5, 11, 9, 29, 97, 231, 363}},
    {607, {1, 1, 5, 15, 19, 45, 41, 7, 383}},
}};

std::uint32_t reversed(std::uint32_t x) {
  x = (x >> 16) | (x << 16);
  x = ((x & 0xff00ff00u) >> 8) | ((x & 0x00ff00ffu) << 8);
  x = ((x & 0xf0f0f0f0u) >> 4) | ((x & 0x0f0f0f0fu) << 4);
  x = ((x & 0xccccccccu) >> 2) | ((x & 0x33333333u) << 2);
  return ((x & 0xaaaaaaaau) >> 1) | ((x & 0x55555555u) << 1);
}

/// Burley's listing: each bit is inverted by a hash of the bits above it.
std::uint32_t nested_permutation(std::uint32_t x, std::uint32_t seed) {
  x = reversed(x) + seed;
  x ^= x * 0x6c50b47cu;
  x ^= x * 0xb82f1e52u;
  x ^= x * 0xc7afe638u;
  x ^= x * 0x8d22f6e6u;
  return reversed(x);
}

}  // namespace

SobolPoints::SobolPoints(int dimensions, std::uint64_t seed) {
  assert(dimensions >= 1 && dimensions <= kMostDimensions);
  direction_.resize(dimensions * kBits);
  for (int d = 0; d < dimensions; ++d) {
    std::uint32_t* const v = &direction_[d * kBits];
    scramble_.push_back(static_cast<std::uint32_t>(task_seed(seed, static_cast<std::uint64_t>(d)) >> 32));
    std::array<std::uint32_t, kBits> m{};
    if (d == 0) {
      m.fill(1);
    } else {
      const Row& row = kRows[d - 1];
      const int degree = std::bit_width(row.polynomial) - 1;
      for (int j = 0; j < kBits; ++j) {
        if (j < degree) {
          m[j] = row.m[j];
          continue;
        }
        m[j] = m[j - degree];
        for (int k = 1; k <= degree; ++k)
          if ((row.polynomial >> (degree - k)) & 1u) m[j] ^= m[j - k] << k;
      }
    }
    for (int j = 0; j < kBits; ++j) v[j] = m[j] << (kBits - 1 - j);
  }
}

std::uint32_t SobolPoints::unscrambled(std::uint32_t number, int dimension) const {
  const std::uint32_t* const v = &direction_[dimension * kBits];
  std::uint32_t x = 0;
  for (std::uint32_t gray = number ^ (number >> 1); gray != 0; gray &= gray - 1)
    x ^= v[std::countr_zero(gray)];
  return x;
}

void SobolPoints::point(std::uint32_t number, std::span<double> out) const {
  assert(out.size() == scramble_.size());
  for (std::size_t d = 0; d < scramble_.size(); ++d) out[d] = coordinate(number, static_cast<int>(d));
}

double SobolPoints::coordinate(std::uint32_t number, int dimension) const {
  const std::uint32_t x = nested_permutation(unscrambled(number, dimension), scramble_[dimension]);
  return (static_cast<double>(x) + 0.5) * 0x1.0p-32;
}

}  // namespace antiphase::engine
