#include "stagemodels/solve/rows.h"

#include <cmath>
#include <limits>

#include "stagemodels/wide.h"

// Rows of kUsual instants take a path whose counts the compiler knows.
namespace antiphase::rows {
namespace {

constexpr int kStride = kMaxInstants;
constexpr int kUsual = 16;

#define ANTIPHASE_INLINE __attribute__((always_inline)) inline

ANTIPHASE_INLINE double dot_of(const double* a, const double* b, int count) {
  double part[kLanes] = {};
  int k = 0;
  for (; k + kLanes <= count; k += kLanes)
    for (int lane = 0; lane < kLanes; ++lane) part[lane] += a[k + lane] * b[k + lane];
  for (int lane = 0; k < count; ++k, ++lane) part[lane] += a[k] * b[k];
  return ((part[0] + part[4]) + (part[2] + part[6])) + ((part[1] + part[5]) + (part[3] + part[7]));
}

ANTIPHASE_INLINE double largest_of(const double* a, int count) {
  double part[kLanes] = {}, check[kLanes] = {};  // products with zero: NaN if an entry is not finite
  int k = 0;
  for (; k + kLanes <= count; k += kLanes)
    for (int lane = 0; lane < kLanes; ++lane) {
      const double size = std::fabs(a[k + lane]);
      part[lane] = size > part[lane] ? size : part[lane];
      check[lane] += size * 0.0;
    }
  for (int lane = 0; k < count; ++k, ++lane) {
    const double size = std::fabs(a[k]);
    part[lane] = size > part[lane] ? size : part[lane];
    check[lane] += size * 0.0;
  }
  double whole = 0, sum = 0;
  for (int lane = 0; lane < kLanes; ++lane) {
    whole = part[lane] > whole ? part[lane] : whole;
    sum += check[lane];
  }
  return sum == 0 ? whole : std::numeric_limits<double>::infinity();
}

ANTIPHASE_INLINE void eliminate_of(int L, int B, int count, double* __restrict F_x, double* __restrict F,
                                   double* __restrict F_y) {
  for (int p = 0; p < L; ++p) {
    alignas(64) double inverse[kStride];
    const double* pivot = F_x + (p * L + p) * kStride;
    for (int k = 0; k < count; ++k) inverse[k] = 1 / pivot[k];
    const auto scale = [&](double* row) __attribute__((always_inline)) {
#pragma GCC ivdep
      for (int k = 0; k < count; ++k) row[k] *= inverse[k];
    };
    for (int c = p + 1; c < L; ++c) scale(F_x + (p * L + c) * kStride);
    scale(F + p * kStride);
    for (int b = 0; b < B; ++b) scale(F_y + (p * B + b) * kStride);
    for (int r = 0; r < L; ++r) {
      if (r == p) continue;
      const double* factor = F_x + (r * L + p) * kStride;
      const auto take = [&](double* row, const double* from) __attribute__((always_inline)) {
#pragma GCC ivdep
        for (int k = 0; k < count; ++k) row[k] -= factor[k] * from[k];
      };
      for (int c = p + 1; c < L; ++c) take(F_x + (r * L + c) * kStride, F_x + (p * L + c) * kStride);
      take(F + r * kStride, F + p * kStride);
      for (int b = 0; b < B; ++b) take(F_y + (r * B + b) * kStride, F_y + (p * B + b) * kStride);
    }
  }
}

ANTIPHASE_INLINE double move_of(int L, int B, int count, const double* from, const double* f, const double* f_y,
                                const double* dy, double share, double* x) {
  double largest = 0;
  for (int r = 0; r < L; ++r) {
    alignas(64) double step[kStride];
    for (int k = 0; k < count; ++k) step[k] = -f[r * kStride + k];
    for (int b = 0; b < B; ++b) {
      const double* row = f_y + (r * B + b) * kStride;
      const double by = dy[b];
      for (int k = 0; k < count; ++k) step[k] -= row[k] * by;
    }
#pragma GCC ivdep
    for (int k = 0; k < count; ++k) x[r * kStride + k] = from[r * kStride + k] + share * step[k];
    const double here = largest_of(step, count);
    largest = here > largest ? here : largest;
  }
  return largest;
}

}  // namespace

ANTIPHASE_WIDE
double dot(const double* a, const double* b, int count) {
  return count == kUsual ? dot_of(a, b, kUsual) : dot_of(a, b, count);
}

ANTIPHASE_WIDE
double largest_size(const double* a, int count) {
  return count == kUsual ? largest_of(a, kUsual) : largest_of(a, count);
}

ANTIPHASE_WIDE
void eliminate(int L, int B, int count, double* F_x, double* F, double* F_y) {
  if (count == kUsual)
    eliminate_of(L, B, kUsual, F_x, F, F_y);
  else
    eliminate_of(L, B, count, F_x, F, F_y);
}

ANTIPHASE_WIDE
double move(int L, int B, int count, const double* from, const double* f, const double* f_y, const double* dy,
            double share, double* x) {
  return count == kUsual ? move_of(L, B, kUsual, from, f, f_y, dy, share, x)
                         : move_of(L, B, count, from, f, f_y, dy, share, x);
}

ANTIPHASE_WIDE
void dots(const double* weight, const double* first, int rows, int count, double* out) {
  if (count == kUsual)
    for (int r = 0; r < rows; ++r) out[r] = dot_of(weight, first + r * kStride, kUsual);
  else
    for (int r = 0; r < rows; ++r) out[r] = dot_of(weight, first + r * kStride, count);
}

}  // namespace antiphase::rows
