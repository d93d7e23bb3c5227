#include "results/writers/candidates_csv.h"

#include <algorithm>
#include <array>
#include <cctype>

#include "results/describe/limit_rows.h"
#include "results/describe/safety.h"
#include "results/describe/section_names.h"
#include "results/text/csv.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

/// "/plate_ohm/0" -> "plate_ohm_1", "/bias/ohm" -> "bias_ohm".
std::string column_name(std::string_view pointer) {
  std::string name;
  for (std::size_t i = 1; i < pointer.size(); ++i) {
    const char c = pointer[i];
    if (c == '/')
      name += '_';
    else if (std::isdigit(static_cast<unsigned char>(c)) && pointer[i - 1] == '/')
      name += static_cast<char>(c + 1);  // sections count from 1
    else
      name += c;
  }
  return name;
}

/// Some figures have the name of a member of designs, which is what was given; the figure is what the solved
/// circuit has, and says so.
std::string column_name(const Figure& figure) {
  const std::string name(figure.name);
  const auto fields = design_fields();
  const bool taken = std::any_of(fields.begin(), fields.end(), [&](const DesignField& field) {
    return column_name(field.pointer) == name;
  });
  return taken ? "solved_" + name : name;
}

std::vector<const DesignField*> fields_in_use(const std::vector<Record>& records) {
  std::vector<const DesignField*> used;
  for (const DesignField& field : design_fields())
    if (std::any_of(records.begin(), records.end(), [&](const Record& r) { return field.applies(r.design); }))
      used.push_back(&field);
  return used;
}

std::string limit_text(const LimitResult& l) {
  if (l.section == 0) return std::string(l.name);
  const std::string which = short_section(l.section);
  return std::string(l.name) + (which == "first"                           ? " first stage"
                                : l.section == section_number(kGainSecond) ? " first stage's second section"
                                : of_another_stage(l.section)              ? " " + which
                                                                           : " section " + which);
}

/// What designers ask first has its band over draws of the tubes' types beside the figure.
void band_names(CsvTable& csv) {
  for (const Figure* figure : figures_shown_in(&FigurePlaces::band_columns))
    csv.text(std::string(figure->name) + "_low").text(std::string(figure->name) + "_high");
  csv.text("rank_in_doubt");
}

/// Empty cells for a figure without a band: none was worked out, or the figure cannot be reached.
void bands(CsvTable& csv, const Record& r) {
  for (const Figure* figure : figures_shown_in(&FigurePlaces::band_columns)) {
    const FigureBand* band = band_of(r.bands, *figure);
    const bool has = r.bands.draws > 0 && band;
    csv.number(has ? std::optional(band->low) : std::nullopt);
    csv.number(has ? std::optional(band->high) : std::nullopt);
  }
  csv.text(r.rank_in_doubt ? "yes" : "no");
}

constexpr std::array<std::string_view, 6> kOfBuilds{"rank_as_drawn", "builds",        "yield",
                                                    "yield_low_95",  "yield_high_95", "score_of_builds"};

void of_builds(CsvTable& csv, const Record& r) {
  if (!r.builds) {
    for (std::size_t k = 0; k < kOfBuilds.size(); ++k) csv.text("");
    return;
  }
  const RobustFigures& f = r.builds->figures;
  csv.integer(r.builds->nominal_rank).integer(f.builds).number(f.yield);
  csv.number(f.yield_95.low).number(f.yield_95.high).number(f.score);
}

void forms(CsvTable& csv, const Design& d, bool chains) {
  const CircuitEntry& entry = circuit(d.circuit);
  csv.text(d.tube[0]->name).text(sections(d.circuit) == 2 ? d.tube[1]->name : "");
  if (chains) csv.text(has_first_stage(d) ? d.first_stage.tube->name : "");
  csv.text(entry.bias_forms.empty() ? "" : name_of(d.bias.form));
  csv.text(entry.tail_forms.empty() ? "" : name_of(d.tail.form));
}

std::string designs_csv(const std::vector<Record>& records, bool ranked, bool builds) {
  CsvTable csv;
  const auto fields = fields_in_use(records);
  if (ranked) csv.text("rank");
  const bool chains =
      std::any_of(records.begin(), records.end(), [](const Record& r) { return has_first_stage(r.design); });
  for (const auto* name : {"score", "feasible", "remark", "stage", "tube_1", "tube_2"}) csv.text(name);
  if (chains) csv.text("first_tube");
  for (const auto* name : {"bias_form", "tail_form"}) csv.text(name);
  for (const DesignField* field : fields) csv.text(column_name(field->pointer));
  for (const Figure& figure : figures()) csv.text(column_name(figure));
  if (ranked) band_names(csv);
  if (builds)
    for (const std::string_view name : kOfBuilds) csv.text(name);
  csv.text("least_margin_pct").text("least_margin_limit").text("safety").end_row();

  for (const Record& r : records) {
    if (ranked) csv.integer(r.rank);
    csv.number(r.score).text(r.feasible ? "yes" : "no").text(r.remark).text(name_of(r.design.circuit));
    forms(csv, r.design, chains);
    for (const DesignField* field : fields)
      csv.number(field->applies(r.design) ? std::optional(field->value(r.design)) : std::nullopt);
    for (std::size_t i = 0; i < figures().size(); ++i)
      csv.number(i < r.figures.size() ? r.figures[i] : std::nullopt);
    if (ranked) bands(csv, r);
    if (builds) of_builds(csv, r);
    const LimitResult* limit = tightest(r.limits);
    csv.number(limit && limit->known ? std::optional(limit->margin_pct) : std::nullopt);
    csv.text(limit ? limit_text(*limit) : "").text(kSafetyLine).end_row();
  }
  return std::move(csv).take();
}

}  // namespace

std::string candidates_csv(const Report& report) {
  return designs_csv(report.candidates, true, report.builds_ranking.has_value());
}
std::string pareto_csv(const Report& report) {
  return designs_csv(report.pareto, false, false);
}

}  // namespace antiphase
