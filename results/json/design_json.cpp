#include "results/json/design_json.h"

#include <array>
#include <cctype>

#include "results/json/json_writer.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/members.h"
#include "stagemodels/output/transformer_response.h"

namespace antiphase {
namespace {

/// "/bias/ohm" -> "bias", "ohm"; "/supply_v" -> "supply_v", "".
struct Place {
  std::string_view member, inner;
  bool indexed() const { return !inner.empty() && std::isdigit(static_cast<unsigned char>(inner.front())); }
};

Place place_of(std::string_view pointer) {
  pointer.remove_prefix(1);
  const auto slash = pointer.find('/');
  if (slash == std::string_view::npos) return {pointer, {}};
  return {pointer.substr(0, slash), pointer.substr(slash + 1)};
}

bool not_given(const DesignField& field, const Design& design) {
  static const Design defaults;
  return !field.required && field.value(design) == 0 && field.value(defaults) == 0;
}

/// True if the object stands in the file even where no number stands in it: it says the form.
bool says_form(std::string_view member, const Design& design) {
  const CircuitEntry& entry = circuit(design.circuit);
  return (member == "bias" && !entry.bias_forms.empty()) || (member == "tail" && !entry.tail_forms.empty()) ||
         (member == "first_stage" && has_first_stage(design)) || (member == "driver" && has_driver(design));
}

void write_form(JsonWriter& json, std::string_view member, const Design& design) {
  if (member == "bias") json.member("form", name_of(design.bias.form));
  if (member == "bias" && has_role(design, Role::grid_clamp) && design.bias.grid_clamp)
    json.member("grid_clamp", true);
  if (member == "driver") {
    json.member("form", name_of(design.driver.form)).member("tube", design.driver.tube->name);
    if (!design.driver.spread[0].none() || !design.driver.spread[1].none()) {
      json.key("sections").begin_array();
      for (const SectionSpread& s : design.driver.spread)
        json.begin_object(true).member("current", s.current).member("mu", s.mu).end_object();
      json.end_array();
    }
  }
  if (member == "tail") json.member("form", name_of(design.tail.form));
  if (member == "first_stage") {
    const FirstStage& first = design.first_stage;
    const auto spread = [&](std::string_view name, const SectionSpread& s) {
      if (!s.none())
        json.key(name).begin_object(true).member("current", s.current).member("mu", s.mu).end_object();
    };
    if (first.form != GainForm::triode) json.member("form", name_of(first.form));
    json.member("tube", first.tube->name);
    spread("section", first.spread);
    if (has_second_section(design)) {
      json.member("second_tube", first.second_tube->name);
      spread("second_section", first.second_spread);
    }
    json.member("coupling", has_role(design, Role::coupling_between) ? "capacitor" : "direct");
  }
}

/// What follows from the output stage, which stands in the file itself; readers take it as an error.
bool follows(const DesignField& field, const Design& design) {
  if (!has_output_stage(design)) return false;
  const bool poles = &field == &member::feedback_low_hz || &field == &member::feedback_high_hz;
  return &field == &member::feedback_output_gain || &field == &member::feedback_output_impedance_ohm ||
         &field == &member::feedback_load_ohm ||
         (poles && has_reactances(design.output_stage.pair.transformer));
}

void write_transformer(JsonWriter& json, const OutputTransformer& t) {
  json.key("transformer").begin_object();
  json.member("plate_to_plate_ohm", t.plate_to_plate_ohm).member("load_ohm", t.load_ohm);
  const auto unless_nothing = [&](std::string_view name, double v) {
    if (v != 0) json.member(name, v);
  };
  unless_nothing("primary_ohm", t.primary_ohm);
  unless_nothing("secondary_ohm", t.secondary_ohm);
  unless_nothing("primary_h", t.primary_h);
  unless_nothing("leakage_h", t.leakage_h);
  unless_nothing("primary_f", t.primary_f);
  unless_nothing("secondary_f", t.secondary_f);
  json.end_object();
}

void write_output_stage(JsonWriter& json, const OutputStage& o) {
  const OutputPair& p = o.pair;
  json.key("output_stage").begin_object().member("valve", p.valve[0]->name);
  constexpr std::array<std::string_view, 3> kConnections{"pentode", "ultralinear", "triode"};
  json.member("connection", kConnections[static_cast<std::size_t>(p.screens)]);
  json.member("supply_v", p.supply_v);
  if (p.screens == ScreenConnection::supply) {
    json.member("screen_v", p.screen_v);
    if (p.screen_ohm > 0) json.member("screen_ohm", p.screen_ohm);
  }
  if (p.screens == ScreenConnection::ultralinear) json.member("screen_tap", p.tap);
  if (p.bias == OutputBias::fixed)
    json.member("bias_v", p.bias_v);
  else
    json.member("cathode_ohm", p.cathode_ohm);
  json.member("watts", o.watts);
  write_transformer(json, p.transformer);
  json.end_object();
}

}  // namespace

void write_design(JsonWriter& json, const Design& design) {
  json.begin_object();
  json.member("stage", name_of(design.circuit));
  const bool one_type = sections(design.circuit) == 1 || design.tube[0] == design.tube[1];
  json.key("tube");
  if (one_type) {
    json.value(design.tube[0]->name);
  } else {
    json.begin_array(true).value(design.tube[0]->name).value(design.tube[1]->name).end_array();
  }

  const bool differs =
      !design.spread[0].none() || (sections(design.circuit) == 2 && !design.spread[1].none());
  if (differs) {
    json.key("sections").begin_array();
    for (int i = 0; i < sections(design.circuit); ++i) {
      const SectionSpread& s = design.spread[static_cast<std::size_t>(i)];
      json.begin_object(true).member("current", s.current).member("mu", s.mu).end_object();
    }
    json.end_array();
  }

  Place open;  // the object or array that is being written
  const auto end_open = [&] {
    if (!open.member.empty()) open.indexed() ? json.end_array() : json.end_object();
    open = {};
  };
  for (const DesignField& field : design_fields()) {
    const Place place = place_of(field.pointer);
    const bool given = field.applies(design) && !not_given(field, design) && !follows(field, design);
    if (!given && !says_form(place.member, design)) continue;
    if (place.member != open.member) {
      end_open();
      if (!place.inner.empty()) {
        json.key(place.member);
        place.indexed() ? json.begin_array(true) : json.begin_object();
        if (!place.indexed()) write_form(json, place.member, design);
        open = place;
      }
    }
    if (!given) continue;
    if (!place.indexed()) json.key(place.inner.empty() ? place.member : place.inner);
    json.value(field.value(design));
  }
  end_open();
  if (has_output_stage(design)) {
    write_output_stage(json, design.output_stage);
  } else if (design.output_valve) {
    json.key("output_valve").begin_object().member("type", design.output_valve->name);
    if (design.output_valve_bias != OutputBias::fixed) json.member("bias", name_of(design.output_valve_bias));
    json.member("bias_v", design.output_valve_bias_v).end_object();
  }
  json.end_object();
}

std::string design_json(const Design& design) {
  JsonWriter json;
  write_design(json, design);
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
