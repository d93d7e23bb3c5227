/// Points of a family's continuous problem, to try in tests.
#pragma once

#include <cmath>
#include <vector>

#include "optimize/engine/problem.h"
#include "tests/support/stages.h"

namespace antiphase::testing {

/// One drawn from the whole range of every wish.
inline std::vector<double> drawn_sizing_inputs(const engine::Family& family, RandomNumbers& random) {
  std::vector<double> x;
  for (const engine::Axis& a : family.ideal.axes)
    x.push_back(a.logarithmic ? random.log_between(a.low, a.high) : random.between(a.low, a.high));
  return x;
}

/// The geometric middle of every range; they must be positive.
inline std::vector<double> middle_sizing_inputs(const engine::Family& family) {
  std::vector<double> x;
  for (const engine::Axis& a : family.ideal.axes) x.push_back(std::sqrt(a.low * a.high));
  return x;
}

}  // namespace antiphase::testing
