// The text of a starting brief. Each value that is no fact gets a sentence in the notes.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "configs/read_demands.h"
#include "optimize/studies/start/starting_values.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

using json = nlohmann::ordered_json;

/// Common practice, as in briefs: a seventh of the swing in hand.
constexpr double kDriveMargin = 1.15;
/// A leak above half a megohm lets hum and grid current in for nothing (common practice), and is what an
/// output valve gets whose card has no limit.
constexpr double kMostLeak_ohm = 470e3, kLeakOfNoCard_ohm = 220e3, kLeastLeak_ohm = 10e3;
constexpr double kWiring_f = 60e-12;
/// Of the main supply, what the driver's own supply may be: the rest drops in a resistor that filters. Above
/// 450 V ordinary reservoir capacitors end.
constexpr double kLeastOfSupply = 0.75, kMostOfSupply = 0.95, kMostDriverSupply_v = 450, kSupplyStep_v = 5;
constexpr double kSpeaker_ohm = 8;

json number(double value) {
  return value == std::round(value) ? json(static_cast<long long>(value)) : json(value);
}
/// "270k"
std::string short_ohm(double ohm) {
  std::string text = exactly(ohm, "ohm");
  text.erase(text.find(' '), 1);
  return text.substr(0, text.find("\u03a9"));
}
double to_step(double volt) {
  return kSupplyStep_v * std::floor(volt / kSupplyStep_v);
}
json range(std::string_view from, std::string_view to) {
  return {{"from", from}, {"to", to}};
}

/// A value of the brief and why it is what it is.
struct Writer {
  const KnownFacts& known;
  std::vector<std::string>& notes;

  json target() const;
  json load() const;
  json variables() const;
  json first_stage() const;
  json feedback() const;
  json tubes() const;
  json objectives() const;
};

/// Half of the published drive where the condition is the pair's own; else the bias, up to which grids swing.
json Writer::target() const {
  const OutputValveCondition* const c = known.condition;
  const std::string margin = ", and a seventh in hand (common practice)";
  if (!known.bias_said && known.cathode_bias && c && c->drive_grid_to_grid_peak_v) {
    notes.push_back("target: half of the " + exactly(*c->drive_grid_to_grid_peak_v, "V") +
                    " from grid to grid that the card of the " + known.pair->name + " publishes with " +
                    exactly(*c->cathode_ohm, "ohm") + " at " + exactly(c->plate_v, "V") + margin + ".");
    return {{"output_valve_cathode_ohm", number(*c->cathode_ohm)},
            {"output_valve_plate_v", number(c->plate_v)},
            {"drive_margin", kDriveMargin}};
  }
  notes.push_back("target: a peak as large as the bias drives a grid to its cathode" + margin + ".");
  return {{"output_valve_bias_v", number(known.bias_v)}, {"drive_margin", kDriveMargin}};
}

json Writer::load() const {
  const std::optional<Sourced>& limit =
      known.cathode_bias ? known.pair->grid_leak_ohm_max_self_bias : known.pair->grid_leak_ohm_max_fixed_bias;
  const double most = limit ? std::min(limit->value, kMostLeak_ohm) : kLeakOfNoCard_ohm;
  const double leak = engine::members(engine::Series::e12, kLeastLeak_ohm, most).back();
  notes.push_back("load.ohm: the grid leaks of the pair; " +
                  (limit ? "the card of the " + known.pair->name + " allows " + exactly(limit->value, "ohm") +
                               (known.cathode_bias ? " with cathode bias (" : " with fixed bias (") +
                               limit->source + "), and more than " + exactly(kMostLeak_ohm, "ohm") +
                               " only lets hum in"
                         : "its card has no limit, so common practice") +
                  "; E12.");
  json load{{"ohm", short_ohm(leak)}, {"output_valve", known.pair->name}};
  if (known.cathode_bias) load["bias"] = "cathode";
  load["bias_v"] = number(known.bias_v);
  if (known.pair->input_f) return load;
  load["farad"] = "60p";
  notes.push_back("load.farad: the card of the " + known.pair->name +
                  " has no effective input capacitance; 60 pF are usual with the wiring (common practice).");
  return load;
}

json Writer::variables() const {
  const double to = to_step(std::min(kMostOfSupply * known.supply_v, kMostDriverSupply_v));
  json v{{"supply_v", {{"from", number(to_step(kLeastOfSupply * to / kMostOfSupply))}, {"to", number(to)}}}};
  notes.push_back(
      "variables.supply_v: what a dropping resistor leaves of the main supply while it filters; "
      "from three quarters of it to 95 %, at most 450 V for ordinary capacitors.");
  if (has_first_stage(known.stage->kind)) {
    v["first_plate_ohm"] = range("47k", "330k");
    v["first_plate_current_a"] = range("0.2m", "4m");
  }
  v["plate_current_a"] = range("0.3m", "8m");
  v["plate_ohm"] = range("15k", "220k");
  json forms = json::array();
  for (const BiasForm form : known.stage->bias_forms)
    if (form != BiasForm::negative_rail) forms.push_back(name_of(form));
  if (!forms.empty()) v["bias_form"] = forms;
  notes.push_back(
      "variables: currents and plate resistors are as wide as these tubes need; narrow them once "
      "the answers show where the good ones lie. A negative rail is left out, since not every "
      "amplifier has one.");
  return v;
}

json Writer::tubes() const {
  json names = json::array();
  for (const Tube* tube : known.at_hand) names.push_back(tube->name);
  return names;
}

json Writer::first_stage() const {
  json part{{"tubes", tubes()}};
  if (known.feedback_db > 0) {
    part["cathode_unbypassed_ohm"] = 100;
    notes.push_back(
        "first_stage.cathode_unbypassed_ohm: where the feedback comes in; 100 ohm keep its "
        "resistor near ordinary values (common practice).");
  }
  return part;
}

json Writer::feedback() const {
  const double load_v = std::sqrt(2 * known.power_w * kSpeaker_ohm);
  const double gain = std::round(1000 * load_v / std::abs(known.bias_v)) / 1000;
  notes.push_back("feedback.output_gain: " + exactly(known.power_w, "W") + " into 8 ohm are " +
                  engineering_text(load_v, "V") + " peak, reached with grids driven by " +
                  exactly(std::abs(known.bias_v), "V") +
                  ". Measure it, and add output_impedance_ohm, low_hz and high_hz of the output stage.");
  return {{"wanted_db", number(known.feedback_db)},
          {"source_v_rms", number(known.source_v_rms)},
          {"output_gain", gain},
          {"load_ohm", kSpeaker_ohm}};
}

json Writer::objectives() const {
  json list = json::array();
  for (const Objective& o : default_objectives({known.stage->kind}))
    list.push_back({{"figure", o.figure->name}, {"weight", number(o.weight)}});
  notes.push_back("objectives: those that count when a brief has none; weigh what matters to you.");
  return list;
}

std::string one_line(const json& value) {
  if (value.is_array() || value.is_object()) {
    std::string text;
    for (auto it = value.begin(); it != value.end(); ++it)
      text += (text.empty() ? "" : ", ") +
              (value.is_object() ? json(it.key()).dump() + ": " : std::string()) + one_line(*it);
    return (value.is_object() ? "{" : "[") + text + (value.is_object() ? "}" : "]");
  }
  return value.dump();
}

/// A line for each member, and for each item of what is long.
std::string text_of(const json& brief) {
  std::string text;
  for (auto it = brief.begin(); it != brief.end(); ++it) {
    text += (text.empty() ? "{\n  " : ",\n  ") + json(it.key()).dump() + ": ";
    const bool long_one = it.key() == "notes" || it.key() == "variables" || it.key() == "objectives";
    if (!long_one) {
      text += one_line(*it);
      continue;
    }
    std::string items;
    for (auto item = it->begin(); item != it->end(); ++item)
      items += (items.empty() ? "\n    " : ",\n    ") +
               (it->is_object() ? json(item.key()).dump() + ": " : std::string()) + one_line(*item);
    text += (it->is_object() ? "{" : "[") + items + "\n  " + (it->is_object() ? "}" : "]");
  }
  return text + "\n}\n";
}

}  // namespace

std::string brief_text(const KnownFacts& known, std::vector<std::string> notes, const std::string& schema) {
  const Writer w{known, notes};
  json brief{{"$schema", schema},
             {"title", std::string(known.stage->label) + " for a pair of " + known.pair->name + " at " +
                           exactly(known.supply_v, "V") + ", " +
                           (known.cathode_bias ? "cathode bias" : "fixed bias")},
             {"notes", nullptr},
             {"stage", known.stage->name},
             {"tubes", w.tubes()}};
  if (has_first_stage(known.stage->kind)) brief["first_stage"] = w.first_stage();
  brief["target"] = w.target();
  brief["load"] = w.load();
  brief["main_supply_v"] = number(known.supply_v);
  brief["heater_v"] = 40;
  notes.push_back(
      "heater_v: heaters lifted by 40 V, so that cathodes far above ground stay within what the "
      "insulation of the heaters stands (common practice).");
  brief["low_frequency_hz"] = 10;
  notes.push_back(
      "low_frequency_hz: capacitors are chosen for a response that holds to 10 Hz, an octave below "
      "20 Hz (common practice).");
  if (known.feedback_db > 0) brief["feedback"] = w.feedback();
  brief["variables"] = w.variables();
  brief["parts"] = {{"resistors", name_of(known.series)}};
  brief["objectives"] = w.objectives();
  brief["search"] = {{"effort", "quick"}};
  notes.push_back("search.effort: an answer within seconds; normal or thorough when the rest is settled.");
  brief["notes"] = notes;
  return text_of(brief);
}

}  // namespace antiphase
