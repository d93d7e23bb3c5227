/// One number for many objectives, and the weightings under which to make it small.
#pragma once

#include <array>
#include <vector>

#include "optimize/engine/pareto/scale.h"
#include "optimize/engine/problem.h"

namespace antiphase::engine {

using Weights = std::array<double, kMaxObjectives>;

/// Augmented weighted Chebyshev distance from the ideal point: max_k w_k z_k + rho sum_k w_k z_k on the
/// common scale z. Every point of a finite front is the minimum for some weights, and every minimum is on
/// the front (for small rho > 0), which no weighted sum can promise where the front bends inwards.
/// Source: Steuer & Choo, "An interactive weighted Tchebycheff procedure for multiple objective
/// programming", Math. Program. 26 (1983) 326-344; Miettinen (1999), section 3.4.
double chebyshev(const Judged& judged, const Weights& weights, const Scale& scale);

/// `count` weightings, each summing to 1: first one per objective that looks (almost) only at it, then
/// the even one, then a low-discrepancy sequence on the simplex. The first n of a longer list are the
/// same as the list of n. One objective has one weighting.
/// Source: Kronecker sequence with the generalised golden ratio (Roberts 2018); spacings of sorted
/// uniforms are uniform on the simplex (Devroye, Non-Uniform Random Variate Generation, 1986, ch. V).
std::vector<Weights> directions(int objectives, int count);

}  // namespace antiphase::engine
