#include <array>

#include "configs/card_members.h"
#include "configs/read_output_law.h"
#include "configs/tube_library.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr NumberRule kVolt{"V", 1, 10e3};
constexpr NumberRule kDrive{"V", 0.1, 1000};
constexpr NumberRule kLeak{"ohm", 1e3, 100e6};
constexpr NumberRule kCapacitance{"F", 0, 1e-9, true};
constexpr std::array<std::string_view, 3> kConnections{"pentode", "ultralinear", "triode"};
constexpr std::array<std::string_view, 4> kClasses{"A", "AB1", "AB2", "B"};

OutputValveCondition read_condition(const Cursor& cursor) {
  ObjectReader in(cursor);
  OutputValveCondition c;
  if (const auto m = in.require("connection", "\"pentode\", \"ultralinear\" or \"triode\""))
    if (const auto at = m->choice({kConnections.begin(), kConnections.end()}))
      c.connection = kConnections[*at];
  if (const auto m = in.find("class"))
    if (const auto at = m->choice({kClasses.begin(), kClasses.end()})) c.operating_class = kClasses[*at];
  c.plate_v = in.required_number("plate_v", "plate voltage", kVolt).value_or(0);
  c.screen_v = in.number("screen_v", kVolt);
  const bool has_bias = in.find("bias_v").has_value(), has_cathode = in.find("cathode_ohm").has_value();
  c.bias_v = in.number("bias_v", kOutputBias);
  c.cathode_ohm = in.number("cathode_ohm", {"ohm", 1, 100e3});
  c.drive_grid_to_grid_peak_v = in.number("drive_grid_to_grid_peak_v", kDrive);
  c.source = read_source(in);
  if (!in.is_object()) return c;
  if (has_bias && has_cathode)
    in.error("cathode_ohm", "and bias_v exclude each other: one of them sets the bias");
  if (!has_bias && !has_cathode) in.error("bias_v", "is missing: a condition has bias_v or cathode_ohm");
  return c;
}

void read_capacitances(const Cursor& cursor, OutputValve& valve) {
  ObjectReader in(cursor);
  valve.grid_to_rest_f =
      in.required_number("grid_to_rest", "grid to everything but the plate", kCapacitance).value_or(0);
  valve.grid_plate_f = in.required_number("grid_plate", "between grid and plate", kCapacitance).value_or(0);
  valve.capacitance_source = read_source(in);
}

OutputValve read_card(const Cursor& root) {
  ObjectReader in(root);
  OutputValve v;
  in.text("$schema");
  v.name = in.required_text("output_valve", "the type number").value_or("");
  v.also_known_as = in.texts("also_known_as");
  const Sourced onset =
      required_sourced(in, "grid_conduction_v", "the grid voltage from which the grid draws current",
                       kGridConduction)
          .value_or(Sourced{});
  v.grid_conduction_v = onset.value;
  v.grid_conduction_source = onset.source;
  auto current = read_grid_current(in, onset.value);
  v.grid = current.diode;
  v.grid_source = std::move(current.source);
  if (const auto m = in.find("grid_leak_ohm_max")) {
    ObjectReader leak(*m);
    v.grid_leak_ohm_max_fixed_bias = optional_sourced(leak, "fixed_bias", kLeak);
    v.grid_leak_ohm_max_self_bias = optional_sourced(leak, "self_bias", kLeak);
  }
  if (const auto m = in.find("capacitance_f")) read_capacitances(*m, v);
  v.input_f = optional_sourced(in, "input_f", kCapacitance);
  if (const auto m = in.find("law")) v.law = read_output_law(*m);
  if (const auto m = in.find("conditions"))
    if (const auto items = m->items(0, 100))
      for (const auto& item : *items) v.conditions.push_back(read_condition(item));
  v.notes = in.text("notes").value_or("");
  return v;
}

OrErrors<OutputValve> read_document(OrErrors<JsonDocument> document) {
  if (auto* errors = std::get_if<InputErrors>(&document)) return std::move(*errors);
  const auto& json = std::get<JsonDocument>(document);
  InputErrorList errors(json.file);
  auto valve = read_card(Cursor(json.root, "", errors));
  if (!errors.empty()) return errors.take();
  return valve;
}

}  // namespace

OrErrors<OutputValve> read_output_valve(const std::string& file) {
  return read_document(load_json(file));
}

OrErrors<OutputValve> read_output_valve_text(std::string text, const std::string& file) {
  return read_document(parse_json(std::move(text), file));
}

}  // namespace antiphase
