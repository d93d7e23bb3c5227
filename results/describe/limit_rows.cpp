#include "results/describe/limit_rows.h"

#include <algorithm>
#include <utility>

#include "results/describe/figure_text.h"
#include "results/describe/section_names.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

bool tighter(const LimitResult& a, const LimitResult& b) {
  return std::pair(a.known, a.known ? a.margin_pct : 0) < std::pair(b.known, b.known ? b.margin_pct : 0);
}

}  // namespace

std::vector<LimitRow> limit_rows(const std::vector<LimitResult>& limits) {
  std::vector<LimitResult> sorted = limits;
  std::stable_sort(sorted.begin(), sorted.end(), tighter);
  std::vector<LimitRow> rows;
  for (const LimitResult& l : sorted) {
    LimitRow row;
    row.label = l.label;
    row.section = short_section(l.section);
    row.limit = row.label + (row.section.empty()                        ? ""
                             : row.section == "first"                   ? ", first stage"
                             : l.section == section_number(kGainSecond) ? ", first stage's second section"
                             : of_another_stage(l.section)              ? ", " + row.section
                                                                        : ", section " + row.section);
    row.value = l.known ? named_figure_text(l.name, l.value, l.unit) : "none";
    row.allowed = (l.at_least ? "≥ " : "≤ ") + engineering_text(l.limit, l.unit);
    row.margin = l.known ? engineering_text(l.margin_pct, "%") : "none";
    row.kept = l.kept && !l.outside_as_given;
    row.as_given = l.outside_as_given;
    if (!row.kept) row.remedy = l.remedy;
    rows.push_back(row);
  }
  return rows;
}

const LimitResult* tightest(const std::vector<LimitResult>& limits) {
  const auto it = std::min_element(limits.begin(), limits.end(), tighter);
  return it == limits.end() ? nullptr : &*it;
}

}  // namespace antiphase
