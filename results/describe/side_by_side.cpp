#include "results/describe/side_by_side.h"

#include <algorithm>
#include <array>
#include <map>

#include "objectives/figures/catalogue.h"
#include "results/describe/candidate_columns.h"
#include "results/describe/limit_rows.h"
#include "results/describe/trade_off.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

/// What is asked first of a stage, in that order.
constexpr std::array<std::string_view, 19> kMainFigures{"gain",
                                                        "input_peak_v",
                                                        "sensitivity_v_rms",
                                                        "distortion_pct",
                                                        "thd_differential_pct",
                                                        "balance_pct",
                                                        "headroom_db",
                                                        "clean_swing_peak_v",
                                                        "output_impedance_ohm",
                                                        "supply_current_a",
                                                        "plate_dissipation_w",
                                                        "low_corner_hz",
                                                        "high_corner_hz",
                                                        "noise_below_target_db",
                                                        "feedback_db",
                                                        "feedback_spare_db",
                                                        "feedback_phase_margin_deg",
                                                        "feedback_gain_margin_db",
                                                        "feedback_distortion_pct"};

/// "a/b/c.json" -> steps from the last one up.
std::string last_steps(const std::string& path, std::size_t steps) {
  std::size_t at = path.size();
  for (std::size_t k = 0; k < steps && at != path.npos; ++k)
    at = at == 0 ? path.npos : path.rfind('/', at - 1);
  std::string text = at == path.npos ? path : path.substr(at + 1);
  if (text.ends_with(".json")) text.resize(text.size() - 5);
  return text;
}

std::vector<std::string> short_names(const std::vector<NamedRecord>& records) {
  constexpr std::size_t kMostSteps = 8;
  std::vector<std::string> names;
  for (std::size_t steps = 1; steps <= kMostSteps; ++steps) {
    names.clear();
    for (const NamedRecord& r : records) names.push_back(last_steps(r.name, steps));
    auto sorted = names;
    std::sort(sorted.begin(), sorted.end());
    if (std::adjacent_find(sorted.begin(), sorted.end()) == sorted.end()) return names;
  }
  return names;
}

/// "plate\nresistor\nkΩ" -> "plate resistor, kΩ" is what a heading of several lines says in one.
std::string on_one_line(std::string heading) {
  std::replace(heading.begin(), heading.end(), '\n', ' ');
  return heading;
}

void add_parts(const std::vector<const Record*>& records, ValueTable& table) {
  for (const TextColumn& column : build_columns(records)) {
    std::vector<std::string> row{on_one_line(column.heading)};
    row.insert(row.end(), column.cells.begin(), column.cells.end());
    table.rows.push_back(std::move(row));
  }
}

void add_figures(const std::vector<const Record*>& records, ValueTable& table) {
  for (const std::string_view name : kMainFigures) {
    const Figure& figure = *find_figure(name);
    std::vector<std::string> row{std::string(figure.label)};
    bool some = false;
    for (const Record* r : records) {
      const auto value = r->figures[index_of(figure)];
      some |= value.has_value();
      row.push_back(value ? engineering_text(*value, figure.unit) : "-");
    }
    if (some) table.rows.push_back(std::move(row));
  }
}

}  // namespace

std::vector<std::string> broken_limits(const Record& record) {
  std::vector<std::string> order;
  std::map<std::string, std::string> sections;
  for (const LimitRow& row : limit_rows(record.limits)) {
    if (row.kept) continue;
    if (!sections.contains(row.label)) order.push_back(row.label);
    std::string& of = sections[row.label];
    if (!row.section.empty()) of += (of.empty() ? "" : ", ") + row.section;
  }
  for (std::string& label : order)
    if (const std::string of = sections[label]; !of.empty()) label += " (" + of + ")";
  return order;
}

ValueTable side_by_side(const std::vector<NamedRecord>& named) {
  ValueTable table;
  table.caption = "Side by side";
  table.columns.emplace_back();
  std::vector<const Record*> records;
  for (const NamedRecord& r : named) records.push_back(&r.record);
  const auto names = short_names(named);
  table.columns.insert(table.columns.end(), names.begin(), names.end());
  add_parts(records, table);
  add_figures(records, table);
  std::vector<std::string> row{"limits broken"};
  for (std::size_t i = 0; i < records.size(); ++i) {
    const auto broken = broken_limits(*records[i]);
    row.push_back(records[i]->limits.empty() ? "-" : broken.empty() ? "none" : std::to_string(broken.size()));
    if (broken.empty()) continue;
    std::string words = names[i] + " breaks: ";
    for (std::size_t k = 0; k < broken.size(); ++k) words += (k ? ", " : "") + broken[k];
    table.notes.push_back(words + ".");
  }
  table.rows.push_back(std::move(row));
  return table;
}

}  // namespace antiphase
