/// The table of limits.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "objectives/limits/limit.h"

namespace antiphase {

std::span<const Limit> limits();
const Limit* find_limit(std::string_view name);

/// Whether a limit is among those left out; and leaves it out.
bool left_out(const Limit&, const DesignFactors&);
void leave_out(const Limit&, DesignFactors&);

/// The same of those that what a brief gives breaks whatever is chosen (DesignProblem::outside_as_given()).
bool outside_as_given(const Limit&, const DesignFactors&);
void take_as_given(const Limit&, DesignFactors&);

/// Every limit that applies, held against the design; section by section.
std::vector<LimitResult> check_limits(const Design&, const Evaluation&, const DesignFactors&);

/// How far a broken limit is overrun, in shares of itself (at least a trace); 0 if kept.
double excess(const LimitResult&);

/// Sum of relative excesses over broken limits; 0 if all are kept. Allocates nothing.
double total_violation(const Design&, const Evaluation&, const DesignFactors&);

/// Whether all limits are kept that need no more than `solved`.
bool kept_so_far(const Design&, const Evaluation&, const DesignFactors&, Depth solved);

}  // namespace antiphase
