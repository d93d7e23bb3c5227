/// Numbers that a sample speaks with: quantiles, shares with their confidence, and what a figure depends on.
#pragma once

#include <span>
#include <vector>

namespace antiphase::engine {

/// The standard normal deviate below which a share p (0 < p < 1) lies; relative error under 1e-15.
/// Source: M. J. Wichura, algorithm AS 241 (PPND16), Applied Statistics 37 (1988) 477.
double normal_quantile(double p);

/// The share of a standard normal that lies below z.
double normal_share(double z);

/// A normal deviate cut off at +-cut deviations, as a share of the cut: in -1 … 1 for u in (0, 1).
/// below: normal_share(-cut), which a caller with many draws knows already.
double truncated_normal(double u, double cut, double below);

/// The q quantile (0 … 1) of numbers in rising order, linear between neighbours: type 7 of Hyndman & Fan,
/// "Sample quantiles in statistical packages", The American Statistician 50 (1996) 361. sorted: not empty.
double quantile(std::span<const double> sorted, double q);

/// The same of numbers in any order, which it may put into another one. Cost: some passes instead of a sort.
double quantile_of(std::span<double> numbers, double q);

struct Interval {
  double low = 0, high = 0;
};

/// The interval in which a share lies of which `hits` of `count` (> 0) draws were seen, two-sided at the
/// confidence given (such as 0.95). Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209. For evenly
/// spread points it is on the safe side: their counts scatter less than random ones.
Interval wilson_interval(double hits, double count, double confidence);

/// First-order sensitivity index (Sobol's S_i): which share of a figure's variance goes if this property is
/// held. From a sample that exists already: the correlation ratio over bins of equal width, less what bins of
/// pure noise would show. Sources: K. Pearson (1905); T. L. Kelley, Proc. Natl. Acad. Sci. 21 (1935) 554
/// (the correction); E. Plischke, E. Borgonovo & C. L. Smith, Eur. J. Oper. Res. 226 (2013) 536 (its use
/// here). unit: where each draw stands in its distribution, 0 … 1; figure: the same number of values. Gives 0
/// where the figure does not vary or there are fewer than 64 draws. Cost: two passes.
double first_order_index(std::span<const double> unit, std::span<const double> figure);

}  // namespace antiphase::engine
