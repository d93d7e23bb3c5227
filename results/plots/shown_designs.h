/// The designs of a search that page and plots show by a name or a mark of their own.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// A design that the page shows in full and a plot marks: the candidates, then the ends of the trade-off and
/// its knee, and the best of each circuit that is compared, as far as they are no candidates.
struct ShownDesign {
  const Record* record;  ///< a member of the report
  std::string name;      ///< "Candidate 3", "Least distortion"
  std::string mark;      ///< "3", "a": short, for the table and the picture
};
std::vector<ShownDesign> shown_designs(const Report&);

/// The place of a design among them; -1 where it is none of them.
int place_among(const std::vector<ShownDesign>&, const Design&);

}  // namespace antiphase
