/// How heavy the tail of a sample of weights is: whether an estimate by importance sampling can be trusted.
#pragma once

#include <span>

namespace antiphase::engine {

/// The shape k of a generalized Pareto distribution fitted to numbers that exceed a threshold, given as
/// excesses > 0 in rising order. Source: J. Zhang & M. A. Stephens, Technometrics 51 (2009) 316, with the
/// weak prior of A. Vehtari et al., J. Machine Learning Research 25 (2024) no. 72 (ten observations at 0.5).
/// With fewer than five: infinity. `scale` (may be null) gets the distribution's scale.
double tail_shape(std::span<const double> excess, double* scale = nullptr);

/// Pareto's k of importance weights >= 0, from the largest min(n / 5, 3 sqrt n) of them; below 0.7 the
/// estimate has an error that means something (Vehtari et al., as above). These weights are then put in place
/// of what the fitted tail says of their order, at most the largest (Pareto-smoothed importance sampling).
/// scratch: as many numbers as weights. Allocates nothing. Cost: a partial sort.
double smooth_weights(std::span<double> weights, std::span<double> scratch, std::span<int> order);

/// Effective number of a weighted sample: (sum w)^2 / sum w^2 (L. Kish, Survey Sampling, 1965); 0 of none.
double effective_size(std::span<const double> weights);

}  // namespace antiphase::engine
