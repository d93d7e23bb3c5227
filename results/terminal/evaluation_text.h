/// One design on a terminal; no colour. `screen`: how many columns there are.
#pragma once

#include <cstddef>
#include <string>

#include "results/report.h"

namespace antiphase {

/// What is asked of a design first: what it is, what is wrong with it, rest, small signal, at the target,
/// what feedback leaves, clean swing, broken limits or the tightest, safety line.
std::string short_evaluation_text(const Record&, std::size_t screen = 80);

/// What there is to say: the same with the first stage, harmonics, frequencies, bands from law to law, two
/// tones, levels, overdrive, hand estimate beside the solved figures, parts, and all limits with margins.
std::string evaluation_text(const Record&, const DesignFactors& factors = {}, std::size_t screen = 80);

/// Limits with their margins, the tightest first; broken ones are marked.
std::string limits_table(const Record&, std::size_t screen = 80);

}  // namespace antiphase
