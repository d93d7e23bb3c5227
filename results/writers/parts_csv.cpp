#include "results/writers/parts_csv.h"

#include <array>

#include "results/describe/parts_list.h"
#include "results/text/csv.h"

namespace antiphase {
namespace {

constexpr std::array<std::string_view, 18> kColumns{
    "designator", "part",          "kind",         "pieces",        "value",   "value_si",        "unit",
    "series",     "tolerance_pct", "power_rest_w", "power_worst_w", "rated_w", "voltage_worst_v", "rated_v",
    "derating",   "heater_v",      "heater_a",     "note"};

void headings(CsvTable& csv, bool ranked) {
  if (ranked) csv.text("rank");
  for (const std::string_view name : kColumns) csv.text(name);
  csv.end_row();
}

void rows(CsvTable& csv, const Record& r, const DesignFactors& factors, const Tolerances& tolerances,
          bool ranked) {
  for (const PartLine& p : parts_list(r.design, r.evaluation, factors, r.plate_2_of, tolerances)) {
    if (ranked) csv.integer(r.rank);
    csv.text(p.designators).text(p.label).text(name_of(p.kind)).integer(p.count).text(p.what);
    csv.number(p.value > 0 ? std::optional(p.value) : std::nullopt).text(p.unit).text(p.series);
    csv.number(p.tolerance_pct).number(p.power_rest_w).number(p.power_worst_w).number(p.rating_w);
    csv.number(p.voltage_worst_v).number(p.rating_v).text(derating_in_words(p, factors));
    csv.number(p.heater_v).number(p.heater_a).text(p.note).end_row();
  }
}

}  // namespace

std::string parts_csv(const Report& report) {
  CsvTable csv;
  headings(csv, true);
  for (const Record& r : report.candidates) rows(csv, r, report.demands.factors, report.tolerances, true);
  return std::move(csv).take();
}

std::string parts_csv(const Record& r, const DesignFactors& factors, const Tolerances& tolerances) {
  CsvTable csv;
  headings(csv, false);
  rows(csv, r, factors, tolerances, false);
  return std::move(csv).take();
}

}  // namespace antiphase
