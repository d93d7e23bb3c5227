#include "results/writers/parts_csv.h"

#include <array>

#include "results/describe/parts_beside.h"
#include "results/describe/safety.h"
#include "results/text/csv.h"

namespace antiphase {
namespace {

constexpr std::array<std::string_view, 36> kColumns{"designator",
                                                    "part",
                                                    "kind",
                                                    "pieces",
                                                    "value",
                                                    "value_si",
                                                    "unit",
                                                    "series",
                                                    "tolerance_pct",
                                                    "power_rest_w",
                                                    "power_worst_w",
                                                    "rated_w",
                                                    "voltage_worst_v",
                                                    "rated_v",
                                                    "derating",
                                                    "heater_v",
                                                    "heater_a",
                                                    "note",
                                                    "type",
                                                    "in_circuit",
                                                    "proposed_si",
                                                    "pins",
                                                    "voltage_rest_v",
                                                    "power_full_drive_w",
                                                    "voltage_full_drive_v",
                                                    "voltage_cold_v",
                                                    "power_switch_on_w",
                                                    "voltage_switch_on_v",
                                                    "energy_switch_on_j",
                                                    "power_fault_w",
                                                    "voltage_fault_v",
                                                    "fault",
                                                    "rated_w_for",
                                                    "rated_v_for",
                                                    "rules",
                                                    "safety"};

void headings(CsvTable& csv, bool ranked) {
  if (ranked) csv.text("rank");
  for (const std::string_view name : kColumns) csv.text(name);
  csv.end_row();
}

std::string_view name_of_cause(const std::optional<Cause>& cause) {
  return cause ? name_of(*cause) : "";
}

/// What each cause asks of the part.
void causes(CsvTable& csv, const PartLine& p) {
  const Burden none;
  const auto of = [&](Cause cause) {
    const Burden* b = burden_of(p.burdens, cause);
    return b ? *b : none;
  };
  const Burden drive = of(Cause::full_drive), on = of(Cause::switch_on), fault = of(Cause::fault);
  csv.number(p.voltage_rest_v)
      .number(drive.power_w)
      .number(drive.voltage_v)
      .number(of(Cause::cold).voltage_v);
  csv.number(on.power_w).number(on.voltage_v).number(on.energy_j);
  csv.number(fault.power_w).number(fault.voltage_v).text(fault.which);
  csv.text(name_of_cause(p.rating_w_for)).text(name_of_cause(p.rating_v_for));
  csv.text(burdens_in_words(p.burdens));
}

void rows(CsvTable& csv, const Record& r, const DesignFactors& factors, const Tolerances& tolerances,
          bool ranked) {
  for (const PartLine& p : order_list(r, factors, tolerances)) {
    if (ranked) csv.integer(r.rank);
    csv.text(p.designators).text(p.label).text(name_of(p.kind)).integer(p.count).text(p.what);
    csv.number(p.value > 0 ? std::optional(p.value) : std::nullopt).text(p.unit).text(p.series);
    csv.number(p.tolerance_pct).number(p.power_rest_w).number(p.power_worst_w).number(p.rating_w);
    csv.number(p.voltage_worst_v).number(p.rating_v).text(derating_in_words(p, factors));
    csv.number(p.heater_v).number(p.heater_a).text(p.note);
    csv.text(p.type).text(p.in_circuit ? "yes" : "no").number(p.proposed_value).text(p.pins);
    causes(csv, p);
    csv.text(kSafetyLine).end_row();
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
