/// One line of the parts list: of an element, of the tubes, of a resistor that is made of two.
#pragma once

#include <string_view>
#include <vector>

#include "results/describe/part_causes.h"

namespace antiphase {

inline constexpr std::string_view kElectrolytic = "electrolytic", kFilm = "film", kWirewound = "wirewound";

/// The tubes; bottles of the output stage that are of one type stand in one line.
std::vector<PartLine> tubes(const DescribedDesign&);

/// Allowed: an element that is bought, but a triode. Its designator is left to the caller.
PartLine line_of(const Element&, const DescribedDesign&);

/// Adds the two resistors that stand for one, each with its share of voltage and power.
void split_in_two(std::vector<PartLine>& parts, const Element&, const engine::TwoPart& two,
                  const DescribedDesign&);

}  // namespace antiphase
