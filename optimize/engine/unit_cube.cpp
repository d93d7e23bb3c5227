#include "optimize/engine/unit_cube.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "optimize/engine/lattice/levels.h"

namespace antiphase::engine {

UnitCube::UnitCube(const Problem& problem) : problem_(&problem) {
  for (std::size_t i = 0; i < problem.axes.size(); ++i)
    if (problem.axes[i].low < problem.axes[i].high) free_.push_back(static_cast<int>(i));
}

void UnitCube::to_x(std::span<const double> u, std::span<double> x) const {
  assert(u.size() == free_.size() && x.size() == problem_->axes.size());
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = problem_->axes[i].low;
  for (std::size_t k = 0; k < free_.size(); ++k) {
    const Axis& axis = problem_->axes[free_[k]];
    const double t = std::clamp(u[k], 0.0, 1.0);
    double& value = x[free_[k]];
    if (!axis.levels.empty()) {
      const double count = static_cast<double>(axis.levels.size());
      value = axis.levels[std::min(static_cast<std::size_t>(t * count), axis.levels.size() - 1)];
    } else if (t == 1) {
      value = axis.high;  // exactly
    } else if (axis.logarithmic) {
      value = std::clamp(axis.low * std::exp(t * std::log(axis.high / axis.low)), axis.low, axis.high);
    } else {
      value = std::clamp(axis.low + t * (axis.high - axis.low), axis.low, axis.high);
    }
  }
}

std::vector<double> UnitCube::to_x(std::span<const double> u) const {
  std::vector<double> x(problem_->axes.size());
  to_x(u, x);
  return x;
}

std::vector<double> UnitCube::to_unit(std::span<const double> x) const {
  assert(x.size() == problem_->axes.size());
  std::vector<double> u(free_.size());
  for (std::size_t k = 0; k < free_.size(); ++k) {
    const Axis& axis = problem_->axes[free_[k]];
    const double value = std::clamp(x[free_[k]], axis.low, axis.high);
    if (!axis.levels.empty())
      u[k] = (nearest_level(axis, value) + 0.5) / static_cast<double>(axis.levels.size());
    else if (axis.logarithmic)
      u[k] = std::log(value / axis.low) / std::log(axis.high / axis.low);
    else
      u[k] = (value - axis.low) / (axis.high - axis.low);
  }
  return u;
}

}  // namespace antiphase::engine
