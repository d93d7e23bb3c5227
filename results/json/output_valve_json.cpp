#include "results/json/output_valve_json.h"

#include "results/json/json_writer.h"

namespace antiphase {
namespace {

void write_sourced(JsonWriter& json, std::string_view name, double value, const std::string& source) {
  json.key(name).begin_object(true).member("value", value).member("source", source).end_object();
}
void write_sourced(JsonWriter& json, std::string_view name, const std::optional<Sourced>& s) {
  if (s) write_sourced(json, name, s->value, s->source);
}

void write_condition(JsonWriter& json, const OutputValveCondition& c) {
  json.begin_object(true).member("connection", c.connection);
  if (!c.operating_class.empty()) json.member("class", c.operating_class);
  json.member("plate_v", c.plate_v);
  const auto optional = [&](std::string_view name, const std::optional<double>& v) {
    if (v) json.member(name, *v);
  };
  optional("screen_v", c.screen_v);
  optional("bias_v", c.bias_v);
  optional("cathode_ohm", c.cathode_ohm);
  optional("drive_grid_to_grid_peak_v", c.drive_grid_to_grid_peak_v);
  json.member("source", c.source).end_object();
}

void write_point(JsonWriter& json, const OutputLaw& law, const OutputValvePoint& p) {
  const bool triode = p.as_triode || !has_screen(law);
  const OutputValvePoint m = modelled(law, p);
  json.begin_object().member("connection", triode ? "triode" : "pentode").member("plate_v", p.plate_v);
  if (!triode) json.member("screen_v", p.screen_v);
  json.member("grid_v", p.grid_v);
  const auto both = [&](std::string_view name, const std::optional<double>& sheet,
                        const std::optional<double>& got) {
    if (sheet) json.key(name).begin_object(true).member("sheet", *sheet).member("law", *got).end_object();
  };
  both("plate_current_a", p.plate_current_a, m.plate_current_a);
  both("screen_current_a", p.screen_current_a, m.screen_current_a);
  both("gm_s", p.gm_s, m.gm_s);
  both("rp_ohm", p.rp_ohm, m.rp_ohm);
  both("mu", p.mu, m.mu);
  json.member("source", p.source).end_object();
}

void write_law(JsonWriter& json, const OutputValveLaw& l) {
  json.key("law").begin_object();
  std::visit(
      [&](const auto& law) {
        using Law = std::decay_t<decltype(law)>;
        json.member("form", Law::kForm);
        for (const auto& field : Law::fields()) json.member(field.name, law.*field.member);
      },
      l.law);
  json.member("source", l.source).key("points").begin_array();
  for (const OutputValvePoint& p : l.points) write_point(json, l.law, p);
  json.end_array().end_object();
}

}  // namespace

std::string output_valve_json(const OutputValve& v) {
  JsonWriter json;
  json.begin_object().member("output_valve", v.name).key("also_known_as").begin_array(true);
  for (const std::string& name : v.also_known_as) json.value(name);
  json.end_array();
  write_sourced(json, "grid_conduction_v", v.grid_conduction_v, v.grid_conduction_source);
  if (v.grid.conducts())
    json.key("grid_current")
        .begin_object(true)
        .member("series_ohm", 1 / v.grid.siemens)
        .member("slope_v", v.grid.slope_v)
        .member("source", v.grid_source)
        .end_object();
  json.key("grid_leak_ohm_max").begin_object();
  write_sourced(json, "fixed_bias", v.grid_leak_ohm_max_fixed_bias);
  write_sourced(json, "self_bias", v.grid_leak_ohm_max_self_bias);
  json.end_object();
  if (v.grid_to_rest_f > 0)
    json.key("capacitance_f")
        .begin_object(true)
        .member("grid_to_rest", v.grid_to_rest_f)
        .member("grid_plate", v.grid_plate_f)
        .member("source", v.capacitance_source)
        .end_object();
  write_sourced(json, "input_f", v.input_f);
  if (v.law) write_law(json, *v.law);
  json.key("conditions").begin_array();
  for (const OutputValveCondition& c : v.conditions) write_condition(json, c);
  json.end_array().end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
