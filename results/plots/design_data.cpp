#include "results/plots/design_data.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "results/describe/response.h"
#include "results/describe/values.h"
#include "results/json/design_json.h"
#include "results/plots/curve_data.h"
#include "results/plots/loop_data.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

void point(JsonWriter& json, PicturePoint p) {
  json.begin_array(true).value(p.plate_v).value(p.current_a).end_array();
}

void points(JsonWriter& json, std::string_view name, std::span<const PicturePoint> line) {
  json.key(name).begin_array();
  for (PicturePoint p : line) point(json, p);
  json.end_array();
}

void write_section(JsonWriter& json, const SectionPicture& p, const std::string& tube) {
  json.begin_object().member("tube", tube);
  json.member("plate_v_end", p.plate_v_end).member("current_a_end", p.current_a_end);
  json.member("step_v", p.plate_v_end / kCurveSteps);
  json.key("grids").begin_array();
  for (double v : p.grid_v) json.value(engineering_text(v, "1"));
  json.end_array();
  json.key("curves").begin_array();
  for (const auto& curve : p.curve_a) json.value(std::span<const double>(curve));
  json.end_array();
  json.key("rest");
  point(json, p.rest);
  points(json, "dc", p.dc_line);
  points(json, "ac", p.ac_line);
  if (p.supply_line) {
    points(json, "hand", *p.supply_line);
    json.key("hand_rest");
    point(json, *p.supply_line_rest);
  }
  points(json, "path", p.path);
  json.member("plate_w_max", p.plate_w_max);
  json.end_object();
}

/// One number of every point, side by side.
template <class Points, class Value>
void column(JsonWriter& json, const Points& points, Value value) {
  json.begin_array(true);
  for (const auto& p : points) json.value(value(p));
  json.end_array();
}

void write_levels(JsonWriter& json, const Record& r) {
  const LevelCurve& curve = r.evaluation.level_curve;
  if (curve.solved != Solved::yes || curve.count < 2) {
    json.null_member("levels");
    return;
  }
  const std::span points(curve.point.data(), static_cast<std::size_t>(curve.count));
  const auto count = static_cast<std::size_t>(outputs(r.design.circuit));
  json.key("levels").begin_object().key("level_db");
  column(json, points, [](const LevelPoint& p) { return p.level_db; });
  json.key("thd_pct").begin_array();
  for (std::size_t i = 0; i < count; ++i)
    column(json, points, [i](const LevelPoint& p) { return p.thd_pct[i]; });
  json.end_array();
  if (count == 2) {
    json.key("difference_pct");
    column(json, points, [](const LevelPoint& p) { return p.thd_differential_pct; });
  }
  json.end_object();
}

void write_response(JsonWriter& json, const Record& r) {
  if (!has_response(r)) {
    json.null_member("response");
    return;
  }
  const FrequencyFigures& f = r.evaluation.frequency;
  const int count = outputs(r.design.circuit);
  json.key("response").begin_object().key("frequency_hz");
  column(json, f.curve, [](const FrequencyPoint& p) { return p.frequency_hz; });
  json.key("gain_db").begin_array();
  for (int i = 0; i < count; ++i)
    column(json, f.curve, [i](const FrequencyPoint& p) {
      return 20 * std::log10(std::abs(p.gain[static_cast<std::size_t>(i)]));
    });
  json.end_array().key("phase_deg").begin_array();
  for (int i = 0; i < count; ++i) json.value(std::span<const double>(phase_from_midband_deg(f, i)));
  json.end_array();
  json.key("input_ohm");
  column(json, f.curve, [](const FrequencyPoint& p) { return std::abs(p.input_ohm); });
  json.key("input_phase_deg");
  column(json, f.curve,
         [](const FrequencyPoint& p) { return std::arg(p.input_ohm) * 180 / std::numbers::pi; });
  if (count == 2) {
    json.key("balance_pct");
    column(json, f.curve, [](const FrequencyPoint& p) { return p.balance_pct; });
    json.key("opposite_deg");
    column(json, f.curve, [](const FrequencyPoint& p) { return p.opposite_deg; });
  }
  json.end_object();
}

}  // namespace

void LimitKinds::take(const Record& r) {
  for (const LimitResult& l : r.limits)
    if (place_of(l) == kinds_.size()) kinds_.push_back(l);
}

std::size_t LimitKinds::place_of(const LimitResult& l) const {
  const auto it = std::find_if(kinds_.begin(), kinds_.end(), [&](const LimitResult& k) {
    return k.name == l.name && k.label == l.label && k.section == l.section && k.at_least == l.at_least;
  });
  return static_cast<std::size_t>(it - kinds_.begin());
}

void LimitKinds::write(JsonWriter& json) const {
  json.key("limit_kinds").begin_array();
  for (const LimitResult& k : kinds_)
    json.begin_object()
        .member("label", k.label)
        .member("section", k.section)
        .member("unit", k.unit)
        .member("at_least", k.at_least)
        .end_object();
  json.end_array();
}

void write_figures(JsonWriter& json, const std::vector<std::optional<double>>& values) {
  json.key("figures").begin_array(true);
  for (const auto& v : values) json.value(v);
  json.end_array();
}

void write_design_part(JsonWriter& json, const Record& r, const LimitKinds& kinds) {
  json.member("design", design_in_words(r)).member("target_v", r.design.swing_peak_v);
  json.member("file", design_json(r.design));
  write_figures(json, r.figures);
  json.key("limits").begin_array(true);
  for (const LimitResult& l : r.limits) {
    json.begin_array(true).value(static_cast<std::int64_t>(kinds.place_of(l)));
    json.value(l.known ? std::optional(l.value) : std::nullopt).value(l.limit);
    json.value(l.known ? std::optional(l.margin_pct) : std::nullopt).value(l.kept).end_array();
  }
  json.end_array();
  json.key("harmonic_v").begin_array();
  if (r.evaluation.at_target.solved == Solved::yes)
    for (int i = 0; i < outputs(r.design.circuit); ++i)
      json.value(std::span<const double>(r.evaluation.at_target.harmonic_v[static_cast<std::size_t>(i)]));
  json.end_array();
}

void write_pictures_part(JsonWriter& json, const Record& r) {
  const int count = sections(r.design.circuit);
  json.key("sections").begin_array();
  if (r.evaluation.operating_point.solved == Solved::yes)
    for (int i = 0; i < count; ++i)
      write_section(json, section_picture(r.design, r.evaluation, i),
                    r.design.tube[static_cast<std::size_t>(i)]->name);
  json.end_array();
  const CleanSwing& clean = r.evaluation.clean;
  const bool is_clean = clean.solved == Solved::yes && clean.swing_peak_v > 0;
  json.member("clean_db", is_clean ? std::optional(clean.headroom_db) : std::nullopt);
  write_levels(json, r);
  write_response(json, r);
  write_loop(json, r);
}

}  // namespace antiphase
