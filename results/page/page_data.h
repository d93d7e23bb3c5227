/// The numbers that the script of the page draws, as JSON text.
#pragma once

#include <string>
#include <vector>

#include "results/plots/shown_designs.h"
#include "results/report.h"

namespace antiphase {

/// One dense JSON object, numbers rounded to five digits, every '<' escaped:
/// figures[{name, label, unit, direction}], axes[2] (first choice), headline[] (those of the table),
/// limits[{figure, at_most, at_least, one_of}], build[] (headings), families[],
/// entries[{name, mark, DESIGN, sections[SectionPicture], clean_db, levels, response, loop}] (the last three
/// are columns of numbers, or null), front[{entry, or -1 and DESIGN}], cloud[{family, figures}], live (see
/// live/live_data.h); DESIGN: design, target_v, file (the design's own file in full digits, as text),
/// figures, limits[{label, section, unit, at_least, limit, kept, value, margin_pct}], harmonic_v[2][11],
/// build[]. At most kMostCloudPoints of the cloud, evenly thinned.
std::string page_data(const Report&, const std::vector<ShownDesign>&);

inline constexpr std::size_t kMostCloudPoints = 20000;

}  // namespace antiphase
