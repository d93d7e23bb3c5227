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
/// figures[{name, label, unit, direction}], axes[2] (first choice), headline[] (those of the table),
/// limits[{figure, at_most, at_least, one_of}], build[] (headings), families[],
/// entries[{name, mark, DESIGN, sections[SectionPicture], clean_db, levels, response, loop}] (the last three
/// are columns of numbers, or null), front[{entry, or -1 and DESIGN}], cloud[{family, figures}], live (see
/// live/live_data.h); DESIGN: design, target_v, file (the design's own file in full digits, as text),
/// figures, limits[{label, section, unit, at_least, limit, kept, value, margin_pct}], harmonic_v[2][11],
/// build[]. At most kMostCloudPoints of the cloud, evenly thinned.
std::string page_data(const Report&, const std::vector<PageEntry>&);

inline constexpr std::size_t kMostCloudPoints = 20000;

}  // namespace antiphase
