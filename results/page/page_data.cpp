#include "results/page/page_data.h"

#include <algorithm>

#include "results/describe/candidate_columns.h"
#include "results/describe/trade_off.h"
#include "results/json/json_writer.h"
#include "results/page/live/live_data.h"
#include "results/plots/design_data.h"

namespace antiphase {
namespace {

std::string_view name_of(Direction direction) {
  switch (direction) {
    case Direction::smaller:
      return "smaller";
    case Direction::larger:
      return "larger";
    case Direction::nearer_zero:
      return "nearer_zero";
  }
  return "";
}

/// Every how manieth point of the cloud the page has.
std::size_t cloud_stride(const Report& report) {
  return std::max<std::size_t>(1, (report.cloud.size() + kMostCloudPoints - 1) / kMostCloudPoints);
}

void write_cloud(JsonWriter& json, const Report& report) {
  const std::size_t size = report.cloud.size(), stride = cloud_stride(report);
  std::vector<std::string> families(report.cloud_family);
  std::sort(families.begin(), families.end());
  families.erase(std::unique(families.begin(), families.end()), families.end());
  json.key("families").begin_array();
  for (const std::string& family : families) json.value(family);
  json.end_array();
  json.key("cloud").begin_array();
  for (std::size_t i = 0; i < size; i += stride) {
    json.begin_object(true);
    if (i < report.cloud_family.size())
      json.member("family", std::lower_bound(families.begin(), families.end(), report.cloud_family[i]) -
                                families.begin());
    write_figures(json, report.cloud[i]);
    json.end_object();
  }
  json.end_array();
}

/// Limits of the brief on figures: lines in the picture of the trade-off.
void write_limits(JsonWriter& json, const Demands& demands) {
  json.key("limits").begin_array();
  for (const FigureLimit& l : demands.limits) {
    json.begin_object().member("figure", static_cast<std::int64_t>(index_of(*l.figure)));
    json.member("at_most", l.at_most).member("at_least", l.at_least);
    json.key("one_of").value(std::span<const double>(l.one_of)).end_object();
  }
  json.end_array();
}

/// Words for what has to be built, a column a part, for every entry and then for every member of the front.
class BuildWords {
 public:
  BuildWords(const Report& report, const std::vector<ShownDesign>& entries) {
    std::vector<const Record*> records;
    for (const ShownDesign& e : entries) records.push_back(e.record);
    for (const Record& r : report.pareto) records.push_back(&r);
    if (!records.empty()) columns_ = build_columns(records, report.compares_circuits());
  }
  void headings(JsonWriter& json) const {
    json.key("build").begin_array();
    for (const TextColumn& c : columns_) json.value(c.heading);
    json.end_array();
  }
  void row(JsonWriter& json, std::size_t row) const {
    json.key("build").begin_array();
    for (const TextColumn& c : columns_) json.value(c.cells[row]);
    json.end_array();
  }

 private:
  std::vector<TextColumn> columns_;
};

/// Of the headline's figures, in its order: lowest and highest over the tubes of a type; null where there is
/// none.
void write_bands(JsonWriter& json, const Report& report, const Record& r) {
  if (r.bands.draws == 0) return;
  json.key("bands").begin_array(true);
  for (const std::size_t i : figures_to_show(report)) {
    const FigureBand* band = band_of(r.bands, figures()[i]);
    if (band && !band->missing)
      json.begin_array(true).value(band->low).value(band->high).end_array();
    else
      json.null();
  }
  json.end_array();
}

void write_axes(JsonWriter& json, const Report& report) {
  std::vector<std::size_t> shown = figures_for_axes(report);
  for (std::size_t i = 0; shown.size() < 2; ++i) shown.push_back(i);
  json.key("axes").begin_array(true);
  for (int i : {0, 1}) json.value(static_cast<std::int64_t>(shown[static_cast<std::size_t>(i)]));
  json.end_array();
}

}  // namespace

std::string page_data(const Report& report, const std::vector<ShownDesign>& entries) {
  JsonWriter json(JsonWriter::Style::dense, kPlotDigits);
  json.begin_object().key("figures").begin_array();
  for (const Figure& f : figures())
    json.begin_object()
        .member("name", f.name)
        .member("label", f.label)
        .member("unit", f.unit)
        .member("direction", name_of(f.direction))
        .end_object();
  json.end_array();
  write_axes(json, report);
  json.key("headline").begin_array(true);
  for (std::size_t i : figures_to_show(report)) json.value(static_cast<std::int64_t>(i));
  json.end_array();
  write_limits(json, report.demands);
  LimitKinds kinds;
  for (const ShownDesign& e : entries) kinds.take(*e.record);
  for (const Record& r : report.pareto) kinds.take(r);
  kinds.write(json);
  const BuildWords build(report, entries);
  build.headings(json);
  json.key("entries").begin_array();
  for (std::size_t n = 0; n < entries.size(); ++n) {
    json.begin_object();
    json.member("name", entries[n].name).member("mark", entries[n].mark);
    write_design_part(json, *entries[n].record, kinds);
    write_pictures_part(json, *entries[n].record);
    write_bands(json, report, *entries[n].record);
    build.row(json, n);
    json.end_object();
  }
  json.end_array().key("front").begin_array();
  for (std::size_t n = 0; n < report.pareto.size(); ++n) {
    const Record& r = report.pareto[n];
    const int entry = place_among(entries, r.design);
    json.begin_object().member("entry", entry);
    if (entry < 0) {  // the others stand among the entries
      write_design_part(json, r, kinds);
      build.row(json, entries.size() + n);
    }
    json.end_object();
  }
  json.end_array();
  write_cloud(json, report);
  write_live_data(json, report, entries, cloud_stride(report));
  json.end_object();
  return std::move(json).take();
}

}  // namespace antiphase
