/// A TypeScatter from what sources say.
#pragma once

#include <span>

#include "stagemodels/tubes/type_scatter.h"
#include "tests/stagemodels/scatter/sources.h"

namespace antiphase::testing {

/// ln(printed / predicted) = by_current c + by_mu m + [distortion] b + e: c, m, b normal and common to a
/// source, e normal and of each statement. The variances of largest likelihood by expectation and
/// maximisation (A. P. Dempster, N. M. Laird, D. B. Rubin, J. Roy. Statist. Soc. B 39 (1977) 1).
TypeScatter estimated(std::span<const Source>);

/// One standard deviation of a statement of a source that has said nothing yet.
double predicted_sd(const TypeScatter&, const Statement&);

}  // namespace antiphase::testing
