/// The numbers that the script of the page draws, as JSON text.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// A design that the page shows in full: the candidates, then the ends of the trade-off and its knee
/// as far as they are no candidates.
struct PageEntry {
  const Record* record;  ///< a member of the report
  std::string name;      ///< "Candidate 3", "Least distortion"
  std::string mark;      ///< "3", "a": short, for the table and the picture
};
std::vector<PageEntry> page_entries(const Report&);

/// One dense JSON object, numbers rounded to five digits, every '<' escaped:
/// figures[{name, label, unit, direction}], axes[2] (first choice), entries[{name, mark, target_v, figures,
/// sections[…SectionPicture], harmonic_v[2][11],
/// clean_db, levels, response (columns of numbers, or null)}], front[{design, entry, figures}],
/// cloud[{family, figures}]. At most kMostCloudPoints of the cloud, evenly thinned.
std::string page_data(const Report&, const std::vector<PageEntry>&);

inline constexpr std::size_t kMostCloudPoints = 800;

}  // namespace antiphase
