#include <algorithm>
#include <tuple>

#include "configs/card_members.h"
#include "configs/read_output_law.h"
#include "configs/tube_library.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr NumberRule kVolt{"V", 1, 10e3};
constexpr NumberRule kWatt{"W", 0.01, 1e3};
constexpr NumberRule kAmpere{"A", 1e-4, 10};
constexpr NumberRule kLeak{"ohm", 1e3, 100e6};
constexpr NumberRule kCapacitance{"F", 0, 100e-12, true};

TubeRatings read_ratings(const Cursor& cursor) {
  ObjectReader in(cursor);
  TubeRatings r;
  r.plate_v_max = required_sourced(in, "plate_v_max", "highest plate voltage", kVolt);
  r.plate_cold_v_max = optional_sourced(in, "plate_cold_v_max", kVolt);
  r.plate_w_max = required_sourced(in, "plate_w_max", "highest dissipation of one plate", kWatt);
  r.plates_total_w_max = optional_sourced(in, "plates_total_w_max", kWatt);
  r.cathode_current_a_max = optional_sourced(in, "cathode_current_a_max", kAmpere);
  r.grid_v_negative_max = optional_sourced(in, "grid_v_negative_max", kVolt);
  if (const auto member = in.find("heater_cathode_v_max")) {
    ObjectReader hk(*member);
    r.heater_cathode_v_max_cathode_positive = optional_sourced(hk, "cathode_positive", kVolt);
    r.heater_cathode_v_max_cathode_negative = optional_sourced(hk, "cathode_negative", kVolt);
    r.heater_cathode_v_max_cathode_positive_dc = optional_sourced(hk, "cathode_positive_dc", kVolt);
  }
  if (const auto member = in.find("grid_leak_ohm_max")) {
    ObjectReader leak(*member);
    r.grid_leak_ohm_max_fixed_bias = optional_sourced(leak, "fixed_bias", kLeak);
    r.grid_leak_ohm_max_self_bias = optional_sourced(leak, "self_bias", kLeak);
  }
  return r;
}

TubeBase read_base(const Cursor& cursor) {
  constexpr std::size_t kFewestPins = 4, kMostPins = 14;
  ObjectReader in(cursor);
  TubeBase b;
  b.socket = in.required_text("socket", "the kind of socket, like noval or octal").value_or("");
  b.basing = in.text("basing").value_or("");
  b.source = read_source(in);
  const auto member = in.require("pins", "what each pin leads to, pin 1 first");
  const auto items = member ? member->items(kFewestPins, kMostPins) : std::nullopt;
  if (!items) return b;
  const std::vector<std::string_view> names(kPinNames.begin(), kPinNames.end());
  for (const auto& item : *items)
    if (const auto pin = item.choice(names)) b.pins.push_back(static_cast<Pin>(*pin));
  return b;
}

TubeHeater read_heater(const Cursor& cursor) {
  ObjectReader in(cursor);
  TubeHeater h;
  h.volt_v = in.required_number("volt_v", "heater voltage", {"V", 1, 50}).value_or(0);
  h.current_a = in.required_number("current_a", "heater current", {"A", 0, 10, true}).value_or(0);
  h.source = read_source(in);
  return h;
}

TubeCapacitances read_capacitances(const Cursor& cursor) {
  ObjectReader in(cursor);
  TubeCapacitances c;
  c.grid_plate_f = in.required_number("grid_plate", "between grid and plate", kCapacitance).value_or(0);
  c.grid_cathode_f = in.required_number("grid_cathode", "between grid and cathode", kCapacitance).value_or(0);
  c.plate_cathode_f =
      in.required_number("plate_cathode", "between plate and cathode", kCapacitance).value_or(0);
  c.source = read_source(in);
  return c;
}

void read_spread(const Cursor& cursor, Tube& tube) {
  ObjectReader in(cursor);
  tube.plate_current_spread_pct =
      in.required_number("plate_current", "spread of the plate current", {"%", 0, 100}).value_or(0);
  tube.spread_source = read_source(in);
}

template <class Law>
TriodeLaw read_parameters(ObjectReader& in) {
  Law law;
  for (const auto& field : Law::fields()) {
    const NumberRule rule{field.unit, field.low, field.high};
    // An offset is 0 unless a card gives it; every other parameter has to stand there, since the
    // numbers in the struct are those of one tube.
    const bool may_be_left_out = law.*field.member == 0;
    const auto value = may_be_left_out ? in.number(field.name, rule)
                                       : in.required_number(field.name, field.description, rule);
    if (value) law.*field.member = *value;
  }
  if constexpr (requires { Law::lists(); }) {
    for (const auto& list : Law::lists()) {
      const auto member = in.require(list.name, list.description);
      const auto items = member ? member->items(list.size, list.size) : std::nullopt;
      if (!items) continue;
      const NumberRule rule{list.unit, list.low, list.high};
      for (std::size_t k = 0; k < list.size; ++k)
        (law.*list.member)[k] = (*items)[k].number(rule).value_or(0);
    }
  }
  return law;
}

/// Reads the law that stands at place `form` of the variant.
template <std::size_t... I>
std::optional<TriodeLaw> read_law(ObjectReader& in, std::size_t form, std::index_sequence<I...>) {
  std::optional<TriodeLaw> law;
  ((form == I ? void(law = read_parameters<std::variant_alternative_t<I, TriodeLaw>>(in)) : void()), ...);
  return law;
}

template <std::size_t... I>
std::vector<std::string_view> law_forms(std::index_sequence<I...>) {
  return {std::variant_alternative_t<I, TriodeLaw>::kForm...};
}

std::optional<TubeModel> read_model(const Cursor& cursor) {
  constexpr auto kLaws = std::make_index_sequence<std::variant_size_v<TriodeLaw>>{};
  ObjectReader in(cursor);
  const auto source = read_source(in);
  const auto credible = in.find("credible");
  const bool is_credible = credible && credible->boolean().value_or(false);
  const auto member = in.require("form", "the law: " + one_of(law_forms(kLaws)));
  const auto form = member ? member->choice(law_forms(kLaws)) : std::nullopt;
  if (!form) {
    in.know_all();
    return std::nullopt;
  }
  return TubeModel{*read_law(in, *form, kLaws), source, is_credible};
}

PublishedPoint read_point(const Cursor& cursor) {
  ObjectReader in(cursor);
  PublishedPoint p;
  p.plate_v = in.required_number("plate_v", "plate voltage", {"V", 1, 2000}).value_or(0);
  p.grid_v = in.number("grid_v", {"V", -500, 50});
  p.cathode_ohm = in.number("cathode_ohm", {"ohm", 1, 1e6});
  p.plate_current_a = in.required_number("plate_current_a", "plate current", {"A", 1e-9, 1});
  p.gm_s = in.number("gm_s", {"S", 1e-6, 1});
  p.mu = in.number("mu", {"1", 1, 500});
  p.rp_ohm = in.number("rp_ohm", {"ohm", 10, 10e6});
  p.source = read_source(in);
  if (p.grid_v && p.cathode_ohm)
    in.error("cathode_ohm", "and grid_v exclude each other: one of them sets the bias");
  return p;
}

/// What stands where triodes have their models: of a pentode. Its models are the triode that it makes with
/// its screen on its plate.
void read_pentode(const Cursor& cursor, Tube& tube) {
  ObjectReader in(cursor);
  Pentode& p = tube.pentode;
  p.given = true;
  p.screen_v_max = optional_sourced(in, "screen_v_max", kVolt);
  p.screen_cold_v_max = optional_sourced(in, "screen_cold_v_max", kVolt);
  p.screen_w_max = optional_sourced(in, "screen_w_max", kWatt);
  const auto m = in.require("law", "the law of its plate and screen current");
  const auto law = m ? read_output_law(*m) : std::nullopt;
  if (!law) return;
  const auto* of_both = std::get_if<SuppressorPentode>(&law->law);
  if (!of_both)
    return m->error("is not that of a small pentode: its form is \"" + std::string(SuppressorPentode::kForm) +
                    "\"");
  p.law = *of_both;
  p.source = law->source;
  p.points = law->points;
  tube.models = {{screen_on_plate(p.law), "its own law with the screen on the plate", true}};
}

Tube read_card(const Cursor& root) {
  ObjectReader in(root);
  Tube t;
  in.text("$schema");
  t.name = in.required_text("tube", "the type number").value_or("");
  t.also_known_as = in.texts("also_known_as");
  if (const auto member = in.find("sections"))
    t.sections = static_cast<int>(member->whole_number(1, 2).value_or(2));
  if (const auto m = in.find("base")) t.base = read_base(*m);
  if (const auto m = in.require("ratings", "the limits of the data sheet")) t.ratings = read_ratings(*m);
  if (const auto m = in.require("heater", "voltage and current of the heater")) t.heater = read_heater(*m);
  if (const auto m = in.require("capacitance_f", "interelectrode capacitances"))
    t.capacitance = read_capacitances(*m);
  t.grid_conduction_v =
      required_sourced(in, "grid_conduction_v", "the grid voltage from which the grid draws current",
                       kGridConduction)
          .value_or(Sourced{});
  auto current = read_grid_current(in, t.grid_conduction_v.value);
  t.grid_diode = current.diode;
  t.grid_diode_source = std::move(current.source);
  if (const auto m = in.require("spread_pct", "how far tubes of this type differ")) read_spread(*m, t);
  t.notes = in.text("notes").value_or("");
  if (const auto m = in.find("pentode")) {
    read_pentode(*m, t);
    if (in.find("models")) in.error("models", "has no meaning beside pentode, whose law they follow from");
  } else if (const auto models = in.require("models", "at least one law of plate current"))
    if (const auto items = models->items(1, 20))
      for (const auto& item : *items)
        if (auto model = read_model(item)) t.models.push_back(std::move(*model));
  if (!t.models.empty()) t.models.front().credible = true;
  if (const auto m = in.find("published_points"))
    if (const auto items = m->items(0, 1000))
      for (const auto& item : *items) t.published_points.push_back(read_point(item));
  t.curve_files = in.texts("curves");
  return t;
}

OrErrors<Tube> read_document(OrErrors<JsonDocument> document) {
  if (auto* errors = std::get_if<InputErrors>(&document)) return std::move(*errors);
  const auto& json = std::get<JsonDocument>(document);
  InputErrorList errors(json.file);
  auto tube = read_card(Cursor(json.root, "", errors));
  if (!errors.empty()) return errors.take();
  return tube;
}

}  // namespace

OrErrors<Tube> read_tube(const std::string& file) {
  return read_document(load_json(file));
}

OrErrors<Tube> read_tube_text(std::string text, const std::string& file) {
  return read_document(parse_json(std::move(text), file));
}

}  // namespace antiphase
