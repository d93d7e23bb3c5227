#include "results/json/tube_json.h"

#include "results/describe/plate_currents.h"
#include "results/describe/tube_points.h"
#include "results/json/json_writer.h"

namespace antiphase {
namespace {

void write_sourced(JsonWriter& json, std::string_view name, double value, const std::string& source) {
  json.key(name).begin_object().member("value", value).member("source", source).end_object();
}

/// Its models above are those of the triode that it makes with its screen on its plate.
void write_pentode(JsonWriter& json, const Pentode& pentode) {
  json.key("pentode")
      .begin_object()
      .member("form", SuppressorPentode::kForm)
      .key("parameters")
      .begin_object();
  for (const auto& field : SuppressorPentode::fields()) json.member(field.name, pentode.law.*field.member);
  json.end_object().member("source", pentode.source).key("published_points").begin_array();
  for (const PublishedAgainstLaw& p : published_against(pentode)) {
    json.begin_object().member("quantity", p.what).member("unit", p.unit).member("plate_v", p.plate_v);
    json.member("screen_v", p.screen_v).member("grid_v", p.grid_v).member("published", p.published);
    json.member("value", p.modelled).member("error_pct", p.error_pct).member("source", p.source).end_object();
  }
  json.end_array().end_object();
}

void write_tube(JsonWriter& json, const Tube& tube) {
  json.begin_object().member("tube", tube.name).key("also_known_as").begin_array(true);
  for (const std::string& name : tube.also_known_as) json.value(name);
  json.end_array().member("sections", tube.sections);
  if (tube.base) {
    json.key("base").begin_object().member("socket", tube.base->socket).key("basing");
    tube.base->basing.empty() ? json.null() : json.value(tube.base->basing);
    json.key("pins").begin_array(true);
    for (const Pin pin : tube.base->pins) json.value(name_of(pin));
    json.end_array().member("source", tube.base->source).end_object();
  } else {
    json.null_member("base");
  }
  json.key("ratings").begin_object();
  for (const RatingRow& row : ratings_of(tube))
    write_sourced(json, row.key, row.rating->value, row.rating->source);
  json.end_object();
  write_sourced(json, "grid_conduction_v", tube.grid_conduction_v.value, tube.grid_conduction_v.source);
  json.key("grid_current").begin_object().member("series_ohm", 1 / tube.grid_diode.siemens);
  json.member("slope_v", tube.grid_diode.slope_v).member("source", tube.grid_diode_source);
  json.member("used", !has_grid_current(tube.law())).end_object();
  json.key("heater").begin_object().member("volt_v", tube.heater.volt_v);
  json.member("current_a", tube.heater.current_a).member("source", tube.heater.source).end_object();
  const TubeCapacitances& c = tube.capacitance;
  json.key("capacitance_f").begin_object().member("grid_plate", c.grid_plate_f);
  json.member("grid_cathode", c.grid_cathode_f).member("plate_cathode", c.plate_cathode_f);
  json.member("source", c.source).end_object();

  std::vector<std::vector<PublishedAgainstLaw>> against;
  json.key("models").begin_array();
  for (const TubeModel& model : tube.models) {
    against.push_back(published_against(tube, model.law));
    json.begin_object().member("form", form_of(model.law)).key("parameters").begin_object();
    std::visit(
        [&](const auto& law) {
          for (const auto& field : law.fields()) json.member(field.name, law.*field.member);
          if constexpr (requires { law.lists(); })
            for (const auto& list : law.lists()) {
              json.key(list.name).begin_array();
              for (double v : law.*list.member) json.value(v);
              json.end_array();
            }
        },
        model.law);
    json.end_object().member("credible", model.credible);
    json.member("source", model.source).end_object();
  }
  json.end_array().key("published_points").begin_array();
  for (std::size_t row = 0; row < against.front().size(); ++row) {
    const PublishedAgainstLaw& p = against.front()[row];
    json.begin_object().member("quantity", p.what).member("unit", p.unit).member("plate_v", p.plate_v);
    json.member("grid_v", p.grid_v).member("published", p.published).key("laws").begin_array();
    for (const auto& law : against)
      json.begin_object()
          .member("value", law[row].modelled)
          .member("error_pct", law[row].error_pct)
          .end_object();
    json.end_array().member("source", p.source).end_object();
  }
  json.end_array();
  if (tube.pentode.given) write_pentode(json, tube.pentode);
  const PlateCurrents currents = plate_currents(tube, tube.law());
  json.key("plate_currents").begin_object().member("form", form_of(tube.law()));
  json.key("plate_v").value(currents.plate_v).key("grid_v").value(currents.grid_v);
  json.key("plate_current_a").begin_array();
  for (const auto& row : currents.current_a) json.value(row);
  json.end_array().end_object().end_object();
}

void write_texts(JsonWriter& json, std::string_view name, const std::vector<std::string>& texts) {
  json.key(name).begin_array();
  for (const std::string& text : texts) json.value(text);
  json.end_array();
}

void write_substitute(JsonWriter& json, const Substitute& s) {
  json.begin_object().member("tube", s.tube->name).member("pin_compatible", s.pin_compatible);
  json.key("to_change");
  s.to_change.empty() ? json.null() : json.value(s.to_change);
  json.member("distance", s.distance).member("mu", s.mu).member("gm_s", s.gm_s).member("rp_ohm", s.rp_ohm);
  json.key("heater").begin_object(true).member("volt_v", s.tube->heater.volt_v);
  json.member("current_a", s.tube->heater.current_a).end_object();
  json.key("ratings").begin_object(true);
  for (const RatingRow& row : ratings_of(*s.tube)) json.member(row.key, row.rating->value);
  json.end_object().member("grid_plate_f", s.tube->capacitance.grid_plate_f);
  write_texts(json, "ruled_out_by", s.ruled_out_by);
  write_texts(json, "differs", s.differs);
  json.end_object();
}

}  // namespace

std::string tubes_json(const std::vector<const Tube*>& tubes) {
  JsonWriter json;
  json.begin_object().key("tubes").begin_array();
  for (const Tube* tube : tubes) write_tube(json, *tube);
  json.end_array().end_object();
  return std::move(json).take() + "\n";
}

std::string tube_json(const Tube& tube) {
  JsonWriter json;
  write_tube(json, tube);
  return std::move(json).take() + "\n";
}

std::string substitutes_json(const Substitutes& found) {
  JsonWriter json;
  json.begin_object().key("asked");
  write_substitute(json, found.asked);
  json.key("rest_point");
  if (found.rest)
    json.begin_object()
        .member("plate_v", found.rest->plate_v)
        .member("plate_current_a", found.rest->plate_current_a)
        .member("source", found.rest->source)
        .end_object();
  else
    json.null();
  json.member("measure", kSubstituteMeasure);
  for (const auto& [name, list] :
       {std::pair("pin_compatible", &found.pin_compatible), std::pair("others", &found.others)}) {
    json.key(name).begin_array();
    for (const Substitute& s : *list) write_substitute(json, s);
    json.end_array();
  }
  json.end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
