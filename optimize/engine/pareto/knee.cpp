#include "optimize/engine/pareto/knee.h"

#include <array>
#include <cassert>
#include <cmath>
#include <utility>

#include "optimize/engine/order.h"
#include "optimize/engine/pareto/scale.h"

namespace antiphase::engine {
namespace {

using Vector = std::array<double, kMaxObjectives>;
using Matrix = std::array<Vector, kMaxObjectives>;

/// On the common scale every coordinate is 0 ... 1; a pivot below this is rounding.
constexpr double kNoPivot = 1e-9;

/// Solves rows * n = 1 by elimination with row exchange; false if there is no single solution.
bool solve_for_ones(Matrix rows, int size, Vector& n) {
  n.fill(1);
  for (int col = 0; col < size; ++col) {
    int pivot = col;
    for (int r = col + 1; r < size; ++r)
      if (std::abs(rows[r][col]) > std::abs(rows[pivot][col])) pivot = r;
    if (std::abs(rows[pivot][col]) < kNoPivot) return false;
    std::swap(rows[pivot], rows[col]);
    std::swap(n[pivot], n[col]);
    for (int r = 0; r < size; ++r) {
      if (r == col) continue;
      const double factor = rows[r][col] / rows[col][col];
      for (int c = col; c < size; ++c) rows[r][c] -= factor * rows[col][c];
      n[r] -= factor * n[col];
    }
  }
  for (int i = 0; i < size; ++i) n[i] /= rows[i][i];
  return true;
}

}  // namespace

std::size_t knee(std::span<const Point> points, int objectives) {
  assert(!points.empty());
  const Scale scale = scale_of(points, objectives);
  const auto extreme = extremes(points, objectives);
  Matrix corners{};
  for (int i = 0; i < objectives; ++i)
    for (int k = 0; k < objectives; ++k) corners[i][k] = scale(points[extreme[i]].judged, k);
  Vector normal{};
  bool plane = solve_for_ones(corners, objectives, normal);
  for (int k = 0; k < objectives; ++k) plane = plane && normal[k] > 0;
  if (!plane) normal.fill(1);

  std::size_t best = 0;
  double best_height = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    double height = 1;  // times |normal|, the same for all
    for (int k = 0; k < objectives; ++k) height -= normal[k] * scale(points[i].judged, k);
    if (i == 0 || height > best_height || (height == best_height && better(points[i], points[best]))) {
      best = i;
      best_height = height;
    }
  }
  return best;
}

}  // namespace antiphase::engine
