#include "results/json/spread_json.h"

#include <algorithm>

#include "objectives/builds/readings.h"
#include "objectives/diagnosis/test_points.h"
#include "results/describe/measuring_sheet.h"
#include "results/describe/safety.h"
#include "results/json/design_json.h"
#include "results/json/own_tube_json.h"

namespace antiphase {
namespace {

bool is_reading(const Figure* f) {
  return f >= readings().data() && f < readings().data() + readings().size();
}

void write_row(JsonWriter& json, const SpreadReport& r, const SpreadRow& row, bool limits, bool index = true,
               const std::string& points = "") {
  json.begin_object(true).member("name", row.figure->name).member("label", row.figure->label);
  if (!points.empty()) json.member("test_points", points);
  json.member("unit", row.figure->unit).member("nominal", row.nominal);
  json.member("low", row.low).member("median", row.median).member("high", row.high);
  json.member("least", row.least).member("most", row.most).member("mean", row.mean);
  json.member("deviation", row.deviation).member("builds", row.known);
  if (limits) {
    const SwitchOff s = switch_off(row);
    json.member("switch_off_below", s.low).member("switch_off_above", s.high);
  }
  if (index) {
    json.key("index").begin_object(true);
    for (std::size_t p = 0; p < row.index.size(); ++p) json.member(r.varied[p].name, row.index[p]);
    json.end_object();
  }
  json.end_object();
}

void write_limit(JsonWriter& json, const LimitResult& l) {
  json.begin_object(true).member("name", l.name).member("section", l.section).member("value", l.value);
  json.member("limit", l.limit).member("margin_pct", l.margin_pct).member("kept", l.kept).end_object();
}

void write_yield(JsonWriter& json, const SpreadSummary& s) {
  json.key("yield").begin_object(true).member("value", s.yield).member("low_95", s.yield_95.low);
  json.member("high_95", s.yield_95.high).member("kept", s.kept).member("reached_target", s.reached);
  json.end_object();
}

void write_sheet(JsonWriter& json, const SpreadReport& r, bool index = true) {
  json.key("measuring_sheet").begin_object().member("safety", kSafetyLine);
  json.key("rest").begin_array();
  const std::vector<BenchReading> bench = bench_readings(r.design);
  const std::vector<TestPoint> points = test_points(r.design);
  for (const SpreadRow& row : r.summary.rows) {
    if (!is_reading(row.figure) || row.figure->needs != Depth::rest || row.known == 0) continue;
    const int place = place_of_reading(bench, row.figure->name);
    write_row(json, r, row, true, index,
              place < 0 ? "" : points_of(bench[static_cast<std::size_t>(place)], points));
  }
  json.end_array().key("levels").begin_array();
  for (const SpreadRow& row : r.summary.rows)
    if (is_reading(row.figure) && row.figure->needs != Depth::rest && row.known > 0)
      write_row(json, r, row, false, index);
  json.end_array().key("faults").begin_array();
  for (const SpreadReport::Broken& f : r.broken) {
    json.begin_object(true).member("name", f.defect.name).member("label", f.defect.label);
    if (f.gain)
      json.key("gain").value(
          std::span<const double>(f.gain->data(), static_cast<std::size_t>(outputs(r.design.circuit))));
    if (f.defect.seen_in_ac_only) {
      json.member("seen_in_ac_only", true).end_object();
      continue;
    }
    const bool solved = f.point.point.solved == Solved::yes;
    json.member("solved", solved);
    if (solved) {
      Evaluation e;
      e.operating_point = f.point.point;
      for (std::size_t k = 0; k < readings_at_rest(); ++k)
        if (const auto v = readings()[k].measure(r.design, e)) json.member(readings()[k].name, *v);
      json.key("output_dc_v")
          .value(std::span<const double>(f.point.output_v.data(),
                                         static_cast<std::size_t>(outputs(r.design.circuit))));
      if (const SpreadRow* row = most_telling(r, f))
        json.member("look_at", row->figure->name);
      else
        json.null_member("look_at");
    }
    json.end_object();
  }
  json.end_array().end_object();
}

}  // namespace

void write_spread_members(JsonWriter& json, const SpreadReport& r) {
  json.member("builds", r.summary.builds);
  write_yield(json, r.summary);
  json.key("figures").begin_array();
  for (const SpreadRow& row : r.summary.rows)
    if (!is_reading(row.figure) && row.known > 0) write_row(json, r, row, false, false);
  json.end_array();
  write_sheet(json, r, false);
}

std::string spread_json(const SpreadReport& r) {
  JsonWriter json;
  const SpreadSummary& s = r.summary;
  json.begin_object().member("builds", s.builds).member("seed", r.seed);
  if (r.brief_file.empty())
    json.null_member("brief");
  else
    json.member("brief", r.brief_file);
  json.key("varied").begin_array();
  for (const Varied& v : r.varied) {
    json.begin_object(true).member("name", v.name).member("label", v.label);
    json.member("half_width_pct", 100 * v.half_width);
    json.member("scatter", v.scatter == Scatter::uniform ? "uniform" : "truncated_normal").end_object();
  }
  json.end_array();
  json.member("emission_left", r.tolerances.emission_left);
  write_own_tubes(json, r.own_tubes);
  write_yield(json, s);
  json.key("yield_index").begin_object();
  for (std::size_t p = 0; p < s.yield_index.size(); ++p) json.member(r.varied[p].name, s.yield_index[p]);
  json.end_object();
  json.key("figures").begin_array();
  for (const SpreadRow& row : s.rows)
    if (!is_reading(row.figure) && row.known > 0) write_row(json, r, row, false);
  json.end_array().key("limits_broken").begin_array();
  for (const LimitMissed& m : s.missed)
    json.begin_object(true)
        .member("name", m.name)
        .member("section", m.section)
        .member("builds", m.builds)
        .end_object();
  json.end_array().key("half_tolerance").begin_array();
  for (std::size_t p = 0; p < s.tightened.size(); ++p)
    if (r.varied[p].kind != BuildProperty::emission)
      json.begin_object(true)
          .member("name", r.varied[p].name)
          .member("yield", s.tightened[p].yield)
          .end_object();
  json.end_array().key("corners").begin_array();
  for (const Corner& c : r.corners) {
    json.begin_object().key("nominal");
    write_limit(json, c.nominal);
    json.key("worst");
    if (c.solved)
      write_limit(json, c.worst);
    else
      json.null();
    json.key("towards").begin_object(true);
    for (std::size_t k = 0; k < c.at.size(); ++k) json.member(r.varied[c.at[k]].name, c.towards[k]);
    json.end_object().end_object();
  }
  json.end_array().key("select_on_test").begin_array();
  for (const SpreadReport::Adjusted& a : r.adjusted) {
    json.begin_object(true).member("part", a.label).member("builds", a.builds);
    json.member("yield_before", a.plain_yield).member("yield", a.yield);
    json.member("low_95", a.yield_95.low).member("high_95", a.yield_95.high);
    json.member("balance_95_before_pct", a.before_balance_pct).member("balance_95_pct", a.after_balance_pct);
    json.member("nominal", a.nominal).member("low", a.low).member("high", a.high);
    json.member("cannot_be_balanced", a.not_reached);
    json.key("recipe");
    if (a.recipe.known) {
      json.begin_object(true).member("unit", a.unit).member("change_per_pct", a.recipe.change_per_pct);
      json.member("reading_v_rms_per_pct", a.recipe.reading_v_rms_per_pct);
      json.member("balance_95_after_one_step_pct", a.one_step_balance_pct);
      json.member("change_per_v_of_plate_difference", a.plates.change_per_v);
      json.member("told_by_plates", a.plates.share).end_object();
    } else {
      json.null();
    }
    json.end_object();
  }
  json.end_array();
  write_sheet(json, r);
  json.end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
