#include "optimize/studies/fit/card_text.h"

#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "configs/card_members.h"
#include "configs/object_reader.h"

namespace antiphase {
namespace {

struct Member {
  std::string_view name;
  std::string text;  // a JSON value; empty: left out
};
using Members = std::vector<Member>;

std::string quoted(const std::string& text) {
  return nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// Shortest text that reads back as the same number; without an exponent where that is readable.
std::string number(double value) {
  if (std::isnan(value)) return quoted(std::string(kToBeFilledIn));
  const double size = std::abs(value);
  const bool plain = value == 0 || (size >= 1e-5 && size < 1e9);
  char text[64];
  const auto end = std::to_chars(text, text + sizeof text, value,
                                 plain ? std::chars_format::fixed : std::chars_format::scientific);
  return std::string(text, end.ptr);
}

std::string number(const std::optional<double>& value) {
  return value ? number(*value) : std::string();
}

std::string on_one_line(const Members& members) {
  std::string text;
  for (const Member& m : members)
    if (!m.text.empty()) text += (text.empty() ? "" : ", ") + ('"' + std::string(m.name) + "\": ") + m.text;
  return text.empty() ? text : "{" + text + "}";
}

std::string on_lines(const std::vector<std::string>& items, int depth, char open, char close) {
  std::string text;
  const std::string indent(2 * depth, ' ');
  for (const std::string& item : items) text += (text.empty() ? "\n  " : ",\n  ") + indent + item;
  return text.empty() ? text : open + text + "\n" + indent + close;
}

std::string block(const Members& members, int depth) {
  std::vector<std::string> items;
  for (const Member& m : members)
    if (!m.text.empty()) items.push_back('"' + std::string(m.name) + "\": " + m.text);
  return on_lines(items, depth, '{', '}');
}

std::string sourced(const Sourced& s) {
  return on_one_line({{"value", number(s.value)}, {"source", quoted(s.source)}});
}
std::string sourced(const std::optional<Sourced>& s) {
  return s ? sourced(*s) : std::string();
}

std::string ratings(const TubeRatings& r) {
  const Members heater{{"cathode_positive", sourced(r.heater_cathode_v_max_cathode_positive)},
                       {"cathode_negative", sourced(r.heater_cathode_v_max_cathode_negative)},
                       {"cathode_positive_dc", sourced(r.heater_cathode_v_max_cathode_positive_dc)}};
  const Members leak{{"fixed_bias", sourced(r.grid_leak_ohm_max_fixed_bias)},
                     {"self_bias", sourced(r.grid_leak_ohm_max_self_bias)}};
  return block({{"plate_v_max", sourced(r.plate_v_max)},
                {"plate_cold_v_max", sourced(r.plate_cold_v_max)},
                {"plate_w_max", sourced(r.plate_w_max)},
                {"plates_total_w_max", sourced(r.plates_total_w_max)},
                {"cathode_current_a_max", sourced(r.cathode_current_a_max)},
                {"grid_v_negative_max", sourced(r.grid_v_negative_max)},
                {"heater_cathode_v_max", block(heater, 2)},
                {"grid_leak_ohm_max", block(leak, 2)}},
               1);
}

/// Nothing for a tube that has the usual values.
std::string grid_current(const Tube& t) {
  if (t.grid_diode_source == kUsualGridCurrentSource || !t.grid_diode.conducts()) return {};
  constexpr double kDigits = 1e9;  // what the division by the conductance leaves is no digit of the card
  return on_one_line({{"series_ohm", number(std::round(kDigits / t.grid_diode.siemens) / kDigits)},
                      {"slope_v", number(t.grid_diode.slope_v)},
                      {"source", quoted(t.grid_diode_source)}});
}

template <std::size_t N>
std::string number_list(const std::array<double, N>& list) {
  std::string text;
  for (double v : list) text += (text.empty() ? "" : ", ") + number(v);
  return "[" + text + "]";
}

std::string model(const TubeModel& m, bool first) {
  Members members;
  std::visit(
      [&](const auto& law) {
        members.push_back({"form", quoted(law.kForm)});
        for (const auto& field : law.fields()) members.push_back({field.name, number(law.*field.member)});
        if constexpr (requires { law.lists(); })
          for (const auto& list : law.lists()) members.push_back({list.name, number_list(law.*list.member)});
      },
      m.law);
  if (m.credible && !first) members.push_back({"credible", "true"});
  members.push_back({"source", quoted(m.source)});
  return on_one_line(members);
}

std::string models(const Tube& tube) {
  std::vector<std::string> items;
  for (const TubeModel& m : tube.models) items.push_back(model(m, items.empty()));
  return on_lines(items, 1, '[', ']');
}

std::string points(const Tube& tube) {
  std::vector<std::string> items;
  for (const PublishedPoint& p : tube.published_points)
    items.push_back(on_one_line({{"plate_v", number(p.plate_v)},
                                 {"grid_v", number(p.grid_v)},
                                 {"cathode_ohm", number(p.cathode_ohm)},
                                 {"plate_current_a", number(p.plate_current_a)},
                                 {"gm_s", number(p.gm_s)},
                                 {"mu", number(p.mu)},
                                 {"rp_ohm", number(p.rp_ohm)},
                                 {"source", quoted(p.source)}}));
  return on_lines(items, 1, '[', ']');
}

std::string names(const std::vector<std::string>& list) {
  std::string text;
  for (const std::string& name : list) text += (text.empty() ? "" : ", ") + quoted(name);
  return "[" + text + "]";
}

std::string base(const std::optional<TubeBase>& b) {
  if (!b) return {};
  std::vector<std::string> pins;
  for (const Pin pin : b->pins) pins.emplace_back(name_of(pin));
  return on_one_line({{"socket", quoted(b->socket)},
                      {"basing", b->basing.empty() ? std::string() : quoted(b->basing)},
                      {"pins", names(pins)},
                      {"source", quoted(b->source)}});
}

}  // namespace

std::string card_text(const Tube& t) {
  return block({{"$schema", quoted("../schema/tube.schema.json")},
                {"tube", quoted(t.name)},
                {"also_known_as", names(t.also_known_as)},
                {"sections", std::to_string(t.sections)},
                {"base", base(t.base)},
                {"ratings", ratings(t.ratings)},
                {"heater", on_one_line({{"volt_v", number(t.heater.volt_v)},
                                        {"current_a", number(t.heater.current_a)},
                                        {"source", quoted(t.heater.source)}})},
                {"capacitance_f", on_one_line({{"grid_plate", number(t.capacitance.grid_plate_f)},
                                               {"grid_cathode", number(t.capacitance.grid_cathode_f)},
                                               {"plate_cathode", number(t.capacitance.plate_cathode_f)},
                                               {"source", quoted(t.capacitance.source)}})},
                {"grid_conduction_v", sourced(t.grid_conduction_v)},
                {"grid_current", grid_current(t)},
                {"spread_pct", on_one_line({{"plate_current", number(t.plate_current_spread_pct)},
                                            {"source", quoted(t.spread_source)}})},
                {"models", models(t)},
                {"published_points", points(t)},
                {"curves", t.curve_files.empty() ? std::string() : names(t.curve_files)},
                {"notes", t.notes.empty() ? std::string() : quoted(t.notes)}},
               0) +
         "\n";
}

}  // namespace antiphase
