#include "results/page/live/live_data.h"

#include <algorithm>

#include "results/plots/design_data.h"

namespace antiphase {
namespace {

template <class T>
void take(const T* item, std::vector<const T*>& table) {
  if (item && std::find(table.begin(), table.end(), item) == table.end()) table.push_back(item);
}

void write_difference(JsonWriter& json, const std::vector<double>& base, const std::vector<double>& own) {
  std::vector<double> pairs;
  for (std::size_t i = 0; i < own.size(); ++i)
    if (own[i] != base[i]) {
      pairs.push_back(static_cast<double>(i));
      pairs.push_back(own[i]);
    }
  json.value(std::span<const double>(pairs));
}

}  // namespace

LiveTables tables_of(std::span<const Design* const> designs) {
  LiveTables tables;
  for (const Design* d : designs) {
    for (const Tube* tube :
         {d->tube[0], d->tube[1], d->first_stage.tube, d->first_stage.second_tube, d->driver.tube})
      take(tube, tables.tubes);
    take(d->output_valve, tables.output_valves);
  }
  return tables;
}

std::vector<double> live_task(const LiveTables& tables, Demands demands, Tolerances tolerances,
                              const PartSeries& series) {
  LiveWriter io;
  auto tubes = tables.tubes;
  pass_list(io, tubes, [&](const Tube* t) {
    Tube own = *t;
    pass(io, own);
  });
  auto valves = tables.output_valves;
  pass_list(io, valves, [&](const OutputValve* v) {
    OutputValve own = *v;
    pass(io, own);
  });
  std::vector<engine::Series> of;
  for (const DesignField& field : design_fields()) of.push_back(series.of(field));
  pass_each(io, demands, tolerances, of);
  return std::move(io).take();
}

std::vector<double> live_design(Design design, const LiveTables& tables) {
  LiveWriter io;
  pass_design(io, design, tables);
  return std::move(io).take();
}

void write_live_data(JsonWriter& json, const Report& report, const std::vector<ShownDesign>& entries,
                     std::size_t cloud_stride) {
  if (entries.empty()) {
    json.null_member("live");
    return;
  }
  std::vector<const Design*> designs, cloud;
  for (const ShownDesign& e : entries) designs.push_back(&e.record->design);
  for (const Record& r : report.pareto)
    if (place_among(entries, r.design) < 0) designs.push_back(&r.design);
  if (report.cloud_design.size() == report.cloud.size())
    for (std::size_t i = 0; i < report.cloud.size(); i += cloud_stride)
      cloud.push_back(&report.cloud_design[i]);
  std::vector<const Design*> all = designs;
  all.insert(all.end(), cloud.begin(), cloud.end());
  const LiveTables tables = tables_of(all);

  json.round_to(0);
  json.key("live").begin_object();
  json.key("task").value(
      std::span<const double>(live_task(tables, report.demands, report.tolerances, report.series)));
  const std::vector<double> base = live_design(*designs.front(), tables);
  json.key("base").value(std::span<const double>(base));
  for (const auto& [name, some] : {std::pair{"designs", &designs}, std::pair{"cloud", &cloud}}) {
    json.key(name).begin_array();
    for (const Design* d : *some) write_difference(json, base, live_design(*d, tables));
    json.end_array();
  }
  json.end_object();
  json.round_to(kPlotDigits);
}

}  // namespace antiphase
