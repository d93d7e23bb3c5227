/// What the readings say of a bench if this fault, or none, is in it: the most probable state, the curvature
/// there, and draws from the posterior with their weights.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "objectives/diagnosis/bench_model.h"

namespace antiphase {

/// What was read, by places in BenchModel::readings().
struct Taken {
  unsigned wanted = 0;  ///< a bit for each reading that was taken
  Shown volts{};        ///< what the meter showed
  Shown deviation_v{};  ///< standard deviation of the meter's error there, > 0
  bool has(std::size_t k) const { return (wanted >> k & 1u) != 0; }
  int count() const;
};

/// A matrix of unknowns by unknowns, and its lower triangular factor.
using Square = std::array<std::array<double, kMostUnknowns>, kMostUnknowns>;

struct Fit {
  bool known = false;       ///< false: no rest point near
  Deviates z{};             ///< the most probable state
  double log_evidence = 0;  ///< of the readings, by Laplace's approximation there
  BenchPoint point;
  Moves moves;    ///< in standard deviations of the meter
  Square factor;  ///< of the posterior's precision: L of L L'
  int unknowns = 0;
};

/// Gauss-Newton from the middle of the scatter, with the fault's size begun at several places, of which few
/// readings are fitted from each.
/// Source of the approximation: L. Tierney & J. B. Kadane, J. Am. Stat. Assoc. 81 (1986) 82.
/// hopeless: half the squares that are left (of the meter's errors and of the deviates) beyond which it is
/// given up, as not known, before it is looked at closely. Cost: 0.3 to 1 ms. Allocates nothing. Threads:
/// safe.
void fit(const BenchModel&, const Fault&, const Taken&, double hopeless, Fit& out);
/// The same from a state that is nearly it.
void fit_from(const BenchModel&, const Fault&, const Taken&, const Deviates& start, Fit& out);

/// x := the inverse of the precision times x, of as many numbers as unknowns.
void precision_solve(const Fit&, std::span<double> x);

/// Draws of a posterior, each with a weight; `all` readings are told of each, taken or not.
struct Draws {
  std::vector<Deviates> z;
  std::vector<Shown> shown;
  std::vector<NodeVolts> volts;
  std::vector<double> weight;  ///< their mean is 1
  double log_evidence = 0;     ///< estimated from the weights
  double effective = 0;        ///< how many even draws the weights are worth
  double tail = 0;             ///< Pareto's k of the weights; above 0.7 the estimate is not to be trusted
};

/// Importance sampling around the fit: Student's t of 12 degrees, wider than the Gaussian that the curvature
/// gives, at points of Sobol's sequence; the largest weights smoothed. Cost: some 40 us a draw. Allocates.
Draws draw_posterior(const BenchModel&, const Fault&, const Taken&, const Fit&, int draws,
                     std::uint64_t seed);

}  // namespace antiphase
