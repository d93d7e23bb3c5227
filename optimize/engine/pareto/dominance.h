/// Dominance between feasible points.
#pragma once

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Whether `a` is nowhere worse than `b` and somewhere better, over the first `objectives`. Only feasible
/// points take part: with an infeasible one on either side the answer is no.
/// Source: Miettinen, Nonlinear Multiobjective Optimization (1999), definition 2.2.1.
inline bool dominates(const Judged& a, const Judged& b, int objectives) {
  if (!a.feasible() || !b.feasible()) return false;
  bool somewhere = false;
  for (int k = 0; k < objectives; ++k) {
    if (a.objective[k] > b.objective[k]) return false;
    if (a.objective[k] < b.objective[k]) somewhere = true;
  }
  return somewhere;
}

}  // namespace antiphase::engine
