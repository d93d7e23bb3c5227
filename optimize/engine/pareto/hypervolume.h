/// How much of objective space a front takes: one number to compare fronts by.
#pragma once

#include <span>
#include <vector>

namespace antiphase::engine {

/// Volume dominated by `points` (each `objectives` numbers, all to be made small) up to `reference`.
/// Points that are not below the reference everywhere count for nothing. Exact; order does not matter.
/// Cost: O(n log n) for two objectives; above that it grows fast: some hundred points at most.
/// Source: While, Bradstreet & Barone, "A fast way of calculating exact hypervolumes", IEEE Trans. Evol.
/// Comput. 16 (2012) 86-95 (WFG: sum of exclusive volumes); two objectives by a sweep.
double hypervolume(std::vector<std::vector<double>> points, std::span<const double> reference);

}  // namespace antiphase::engine
