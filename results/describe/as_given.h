/// What a brief gives outside a rating: told once, before anything is searched.
#pragma once

#include <string>
#include <vector>

#include "objectives/design_problem.h"

namespace antiphase {

/// A sentence for each such limit, what helps included. Empty for most briefs.
std::vector<std::string> as_given_in_words(const DesignProblem&);

}  // namespace antiphase
