/// "Better" is one total order, written once: nothing in the engine compares judgements by hand.
#pragma once

#include <tuple>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Whether `a` is the better judgement: feasible before infeasible; among feasible ones the smaller cost,
/// among infeasible ones the smaller violation, then the smaller cost. A strict weak order.
/// Source: Deb, "An efficient constraint handling method for genetic algorithms", Comput. Methods
/// Appl. Mech. Eng. 186 (2000) 311-338, section 3.
inline bool better(const Judged& a, const Judged& b) {
  const auto key = [](const Judged& j) {
    return std::tuple(!j.feasible(), j.feasible() ? j.cost : j.violation, j.cost);
  };
  return key(a) < key(b);
}

/// The same for points, made total: equal judgements are told apart by family, then by x in
/// lexicographic order, so that a best point never depends on which came first.
inline bool better(const Point& a, const Point& b) {
  if (better(a.judged, b.judged)) return true;
  if (better(b.judged, a.judged)) return false;
  return std::tie(a.family, a.x) < std::tie(b.family, b.x);
}

}  // namespace antiphase::engine
