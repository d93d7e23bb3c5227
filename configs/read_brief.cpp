#include "configs/read_brief.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "configs/brief_conditions.h"
#include "configs/card_members.h"
#include "configs/choices.h"
#include "configs/design_members.h"
#include "configs/file_kind.h"
#include "configs/forms_of_space.h"
#include "configs/object_reader.h"
#include "configs/read_builds.h"
#include "configs/read_circuits.h"
#include "configs/read_demands.h"
#include "configs/read_output_stage.h"
#include "configs/read_parts.h"
#include "configs/read_variables.h"
#include "configs/sha256.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr double kDriveMargin = 1.15;  // common practice, no published source: a seventh in hand
constexpr NumberRule kDriveMarginRule{"1", 0.5, 3};
constexpr NumberRule kOutputCathode{"ohm", 1, 100e3}, kOutputPlate{"V", 1, 10e3};  // as in cards
constexpr NumberRule kLowFrequencyRule{"Hz", 0.01, 500};  // below 1 kHz, where mid-band is looked for
constexpr double kLeastLeak_ohm = 1e3,
                 kMostLeak_ohm = 10e6;  // common practice: a smaller number has lost its prefix
constexpr std::size_t kMostTubes = 100;
constexpr std::size_t kMostCandidates = 100;

void read_condition(ObjectReader& in, const Condition& condition, DesignSpace& space) {
  const auto& field = *condition.field;
  if (!applies_somewhere(field, space)) {
    const bool passed_over = space.some_left_out([&](CircuitKind kind) { return has_member(kind, field); });
    if (in.find(condition.name) && !passed_over) in.error(condition.name, why_nowhere(field, space));
    return;
  }
  const auto value = in.number(condition.name, rule_of(field));
  if (value && space.own_range(field))
    return in.error(condition.name, "is given here and as " + std::string(name_in_brief(field)) +
                                        " among the variables; leave one of them out");
  if (value) field.at(space.given) = *value;
}

/// The supply that the stages hang on. A wrong number counts as given: other members depend on there being
/// one.
void read_main_supply(ObjectReader& in, DesignSpace& space) {
  const auto member = in.find("main_supply_v");
  if (!member) return;
  const auto rule = rule_of(member::main_supply_v);
  const auto value = member->number(rule);
  space.given.main_supply_v = value.value_or(rule.high);
  if (value && space.supply_v.low > 0 && *value <= space.supply_v.low)
    member->error("must be above the lowest supply_v of the stage, " + exactly(space.supply_v.low, "V") +
                  ", since a resistor drops the difference; is " + exactly(*value, "V"));
}

/// Candidates that can have clamp diodes have them unless the brief says otherwise.
void read_clamp(ObjectReader& in, DesignSpace& space) {
  const bool has =
      in_some_form(space, space.given, [](const Design& d) { return has_role(d, Role::grid_clamp); });
  Design design = space.given;  // of the first circuit that may have such diodes, to tell what they belong to
  const auto may_have = [](CircuitKind kind) { return has_role(kind, Role::grid_clamp); };
  if (!has && space.some_left_out(may_have)) return in.know("grid_clamp");
  const auto may = std::find_if(space.circuits.begin(), space.circuits.end(), may_have);
  if (may != space.circuits.end()) design.circuit = *may;
  design.bias.form = bias_forms_of(space, design.circuit).front();
  space.given.bias.grid_clamp = read_grid_clamp(in, has, design).value_or(has);
}

void read_conditions(ObjectReader& in, DesignSpace& space) {
  read_main_supply(in, space);
  read_clamp(in, space);
  for (const auto& condition : kConditions) read_condition(in, condition, space);
  const auto tail = in.find("tail");
  if (!tail) return;
  ObjectReader part(*tail);
  for (const auto& condition : kTailConditions) read_condition(part, condition, space);
}

void know_conditions(ObjectReader& in) {
  for (const auto& condition : kConditions) in.know(condition.name);
  for (const auto name : {"tail", "main_supply_v", "grid_clamp"}) in.know(name);
}

void read_tubes(const Cursor& cursor, const TubeLibrary& library, std::vector<const Tube*>& tubes,
                Pentodes pentodes = Pentodes::not_here) {
  const auto items = cursor.items(1, kMostTubes);
  if (!items) return;
  for (const auto& item : *items) {
    const auto* tube = read_tube_name(item, library, pentodes);
    if (tube == nullptr) continue;
    if (std::find(tubes.begin(), tubes.end(), tube) != tubes.end())
      item.error("stands in the list twice: it is the " + tube->name);
    tubes.push_back(tube);
  }
}

/// One of the forms, or a list of them.
template <class Form, std::size_t N>
void read_choices(const Cursor& member, const std::array<Form, N>& all, std::vector<Form>& chosen) {
  const auto take = [&](const Cursor& item) {
    if (const auto form = item.choice(names_of(all))) {
      const bool twice = std::find(chosen.begin(), chosen.end(), all[*form]) != chosen.end();
      twice ? item.error("stands in the list twice") : chosen.push_back(all[*form]);
    }
  };
  if (member.kind() != JsonKind::list) return take(member);
  if (const auto items = member.items(1, N))
    for (const auto& item : *items) take(item);
}

/// Every tube has a form that it suits, and every form a tube.
void check_first_tubes(ObjectReader& part, const DesignSpace& space) {
  const std::vector<GainForm> triode_alone{GainForm::triode};
  const auto& forms = space.gain_forms.empty() ? triode_alone : space.gain_forms;
  for (const Tube* tube : space.first_tubes)
    if (std::none_of(forms.begin(), forms.end(), [&](GainForm f) { return suits(*tube, f); }))
      part.error("tubes", tube->pentode.given
                              ? "holds the " + tube->name + ", a pentode: add \"pentode\" to form"
                              : "holds the " + tube->name + ", a triode, where all forms are of pentodes");
  if (space.first_tubes.empty()) return;
  for (const GainForm form : forms)
    if (std::none_of(space.first_tubes.begin(), space.first_tubes.end(),
                     [&](const Tube* tube) { return suits(*tube, form); }))
      part.error("form", "holds " + std::string(name_of(form)) + ", for which tubes has no " +
                             (form == GainForm::pentode ? "pentode" : "triode"));
}

/// The gain stage ahead of the splitter: its tubes, and its parts that are not variables.
void read_first_stage(ObjectReader& in, const TubeLibrary& library, DesignSpace& space) {
  const auto has = [](CircuitKind kind) { return has_first_stage(kind); };
  if (!space.some_circuit(has)) {
    if (in.find("first_stage") && !space.some_left_out(has))
      in.error("first_stage", no_meaning_in(space.circuits));
    return;
  }
  const auto member =
      in.require("first_stage", "the gain stage ahead of the splitter" + for_which(space.circuits, has));
  if (!member) return;
  ObjectReader part(*member);
  if (const auto m = part.require("tubes", "a list of tube types for it"))
    read_tubes(*m, library, space.first_tubes, Pentodes::too);
  if (const auto m = part.find("form")) read_choices(*m, kGainForms, space.gain_forms);
  const bool second = std::any_of(space.gain_forms.begin(), space.gain_forms.end(),
                                  [](GainForm f) { return has_second_section(f); });
  if (const auto m = part.find("second_tubes")) {
    if (second)
      read_tubes(*m, library, space.second_tubes);
    else
      m->error("has no meaning where no form of the stage has a second section");
  }
  check_first_tubes(part, space);
  for (const auto& condition : kFirstStageConditions) read_condition(part, condition, space);
}

/// What may stand behind the splitter: its forms, its tubes, and its parts that are not variables.
void read_driver(const Cursor& member, const TubeLibrary& library, DesignSpace& space) {
  for (const CircuitKind kind : space.circuits)
    if (driver_forms(kind).size() == 1) return member.error(no_meaning_in(kind));
  ObjectReader part(member);
  if (const auto m = part.require("tubes", "a list of tube types for it"))
    read_tubes(*m, library, space.driver_tubes);
  const auto forms = part.require("form", "one of " + one_of(names_of(kDriverForms)) + ", or a list of them");
  if (forms) read_choices(*forms, kDriverForms, space.driver_forms);
  if (space.driver_forms.empty()) return part.know_all();
  if (space.driver_forms.size() == 1 && space.driver_forms.front() == DriverForm::none) {
    part.know_all();
    return space.driver_forms.clear();
  }
  for (const auto& condition : kDriverConditions) read_condition(part, condition, space);
}

/// A part of a driver that has no default is given, or listed among the variables.
void check_driver(const Cursor& member, const DesignSpace& space) {
  for (const auto& condition : kDriverConditions)
    if (condition.field->required && applies_somewhere(*condition.field, space) &&
        !(condition.field->value(space.given) > 0) && !space.own_range(*condition.field))
      member.error("lacks " + std::string(condition.name) + ", the " + std::string(condition.field->label) +
                   ": give it here, or as " + std::string(name_in_brief(*condition.field)) +
                   " among the variables");
  if (space.given.driver.bias_v == 0 && !(space.given.output_valve_bias_v < 0) &&
      std::find(space.driver_forms.begin(), space.driver_forms.end(), DriverForm::cathode_followers) !=
          space.driver_forms.end())
    member.error(
        "needs to know where the followers' cathodes shall stand: name the output valve in load with its "
        "bias, or give bias_v");
}

/// The budget of overall feedback.
void read_feedback(ObjectReader& in, DesignSpace& space) {
  const auto member = in.find("feedback");
  if (!member) return;
  const auto has = [](CircuitKind kind) { return has_role(kind, Role::feedback); };
  if (!space.some_circuit(has)) {
    if (!space.some_left_out(has)) member->error(no_meaning_in(space.circuits));
    return;
  }
  space.given.feedback.given = true;
  ObjectReader part(*member);
  const auto follows = [&](const Condition& condition) {
    if (!follows_from_output_stage(*condition.field, space.given)) return false;
    if (part.find(condition.name)) part.error(condition.name, kFollowsFromOutputStage);
    return true;
  };
  for (const auto& condition : kFeedbackRequired) {
    const auto& field = *condition.field;
    if (follows(condition)) continue;
    if (const auto value = part.required_number(condition.name, std::string(field.label), rule_of(field)))
      field.at(space.given) = *value;
  }
  for (const auto& condition : kFeedbackConditions)
    if (!follows(condition)) read_condition(part, condition, space);
  feedback_of_output_stage(space.given);
  for (const CircuitKind kind : space.circuits) {
    Design design = space.given;
    design.circuit = kind;
    const std::string lacks = no_place_for_feedback(design);
    if (lacks.empty()) continue;
    return member->error(lacks);
  }
}

/// A swing, or what it follows from: the output valve's bias, or a condition of its card
/// (drive_of_condition).
void read_target(const Cursor& cursor, Brief& brief) {
  ObjectReader in(cursor);
  const auto& field = member::swing_peak_v;
  constexpr std::array<std::string_view, 3> kGivenBy{"swing_peak_v", "output_valve_bias_v",
                                                     "output_valve_cathode_ohm"};
  const auto given = std::count_if(kGivenBy.begin(), kGivenBy.end(),
                                   [&](std::string_view name) { return in.find(name).has_value(); });
  const bool has_swing = in.find("swing_peak_v").has_value();
  const auto swing = in.number("swing_peak_v", rule_of(field));
  const auto bias = in.number("output_valve_bias_v", kOutputBias);
  brief.output_valve_cathode_ohm = in.number("output_valve_cathode_ohm", kOutputCathode);
  brief.output_valve_plate_v = in.number("output_valve_plate_v", kOutputPlate);
  const auto margin = in.number("drive_margin", kDriveMarginRule);
  if (!in.is_object()) return;
  if (given != 1) {
    brief.output_valve_bias_v = bias;  // so that only this is told
    brief.output_valve_cathode_ohm.reset();
    return cursor.error("must have one of swing_peak_v, output_valve_bias_v and output_valve_cathode_ohm" +
                        std::string(given > 1 ? ", not several" : ""));
  }
  if (brief.output_valve_plate_v && !in.find("output_valve_cathode_ohm"))
    in.error("output_valve_plate_v", "has no meaning without output_valve_cathode_ohm");
  if (has_swing && margin)
    return in.error("drive_margin",
                    "has no meaning with swing_peak_v; it belongs to output_valve_bias_v and "
                    "output_valve_cathode_ohm");
  brief.drive_margin = has_swing ? 1 : margin.value_or(kDriveMargin);
  if (swing) brief.space.given.swing_peak_v = *swing;
  if (bias) {
    brief.output_valve_bias_v = *bias;
    brief.space.given.swing_peak_v = std::abs(*bias) * brief.drive_margin;
  }
}

std::string in_words(const OutputValveCondition& c) {
  return exactly(*c.cathode_ohm, "ohm") + " at " + exactly(c.plate_v, "V");
}

/// A pair whose cathode resistor the target names is driven as its card publishes it. Load and target have
/// been read before.
void drive_of_condition(const Cursor& target, Brief& brief) {
  Design& given = brief.space.given;
  const auto place = target.member("output_valve_cathode_ohm");
  if (!place || !brief.output_valve_cathode_ohm) return;
  if (!given.output_valve) return place->error("needs the output valve in load, whose card has the drive");
  if (given.output_valve_bias != OutputBias::cathode)
    return place->error("belongs to cathode bias: say \"bias\": \"cathode\" beside the valve in load");
  std::vector<const OutputValveCondition*> meant;
  std::vector<std::string> published;
  for (const OutputValveCondition& c : given.output_valve->conditions) {
    if (!c.cathode_ohm || !c.drive_grid_to_grid_peak_v) continue;
    published.push_back(in_words(c));
    if (*c.cathode_ohm == *brief.output_valve_cathode_ohm &&
        (!brief.output_valve_plate_v || c.plate_v == *brief.output_valve_plate_v))
      meant.push_back(&c);
  }
  const std::string card = "the card of the " + given.output_valve->name + " publishes ";
  if (published.empty()) return place->error("needs a published drive; " + card + "none with cathode bias");
  if (meant.empty()) return place->error("has no published drive with it; " + card + all_of(published));
  if (meant.size() > 1)
    return place->error("stands in several conditions: say output_valve_plate_v; " + card +
                        all_of(published));
  brief.output_valve_condition = meant.front();
  given.swing_peak_v = 0.5 * *meant.front()->drive_grid_to_grid_peak_v * brief.drive_margin;
}

/// The fixed biases at which a sheet runs a pair of these, each once.
std::vector<double> published_biases(const OutputValve& valve) {
  std::vector<double> list;
  for (const auto& c : valve.conditions)
    if (c.bias_v && std::find(list.begin(), list.end(), *c.bias_v) == list.end()) list.push_back(*c.bias_v);
  return list;
}

/// Where an output valve's grid rests: as said, as the target has it, or at the one bias its card publishes.
void read_output_bias(ObjectReader& in, Brief& brief) {
  Design& given = brief.space.given;
  const bool said = in.find("bias_v").has_value();
  const auto bias = in.number("bias_v", kOutputBias);
  if (said) {
    if (bias && brief.output_valve_bias_v && *bias != *brief.output_valve_bias_v)
      in.error("bias_v", "must be the output_valve_bias_v of the target, " +
                             exactly(*brief.output_valve_bias_v, "V") + ", or be left out; is " +
                             exactly(*bias, "V"));
    given.output_valve_bias_v = bias.value_or(0);
    return;
  }
  if (brief.output_valve_bias_v) {
    given.output_valve_bias_v = *brief.output_valve_bias_v;
    return;
  }
  if (given.output_valve_bias == OutputBias::cathode)
    return in.error("bias_v",
                    "is missing: the grid against the cathode at rest, which the voltage across the "
                    "cathode resistor makes; cards publish the resistor, not the voltage");
  const auto biases = published_biases(*given.output_valve);
  if (biases.size() == 1) {
    given.output_valve_bias_v = biases.front();
    return;
  }
  std::vector<std::string> words;
  for (const double v : biases) words.push_back(exactly(v, "V"));
  in.error("bias_v", "is missing: the bias of the output valve's grid; the card of the " +
                         given.output_valve->name +
                         (biases.empty() ? " publishes none" : " publishes " + all_of(words)));
}

/// The target has been read before.
void read_load(const Cursor& cursor, const TubeLibrary& library, Brief& brief) {
  ObjectReader in(cursor);
  Design& given = brief.space.given;
  NumberRule leak = rule_of(member::load_ohm);
  leak.usual_low = kLeastLeak_ohm;
  leak.usual_high = kMostLeak_ohm;
  const auto ohm = in.required_number("ohm", "the output valve's grid leak", leak);
  const bool has_farad = in.find("farad").has_value();
  const auto farad = in.number("farad", rule_of(member::load_f));
  if (ohm) given.load_ohm = *ohm;
  if (farad) given.load_f = *farad;
  const auto valve = in.find("output_valve");
  if (has_output_stage(given)) {
    for (const auto name : {"output_valve", "bias", "bias_v"})
      if (in.find(name)) in.error(name, kFollowsFromOutputStage);
    if (!has_farad && given.output_valve && given.output_valve->input_f) {
      given.load_f = given.output_valve->input_f->value;
      brief.load_f_from_card = true;
    }
    return;
  }
  if (!valve || outputs(given.circuit) < 2) {
    const std::vector<CircuitKind>& circuits = brief.space.circuits;
    if (valve) in.error("output_valve", no_meaning_in(circuits));
    for (const auto name : {"bias", "bias_v"})
      if (in.find(name))
        in.error(name, valve ? no_meaning_in(circuits) : "has no meaning without output_valve");
    return;
  }
  given.output_valve = read_output_valve_name(*valve, library);
  given.output_valve_bias = read_output_bias_kind(in);
  if (!given.output_valve) return in.know("bias_v");
  for (const CircuitKind kind : brief.space.circuits) {
    Design design = given;
    design.circuit = kind;
    if (const std::string wrong = no_place_for_fixed_bias(design); !wrong.empty()) valve->error(wrong);
  }
  read_output_bias(in, brief);
  if (!has_farad && given.output_valve->input_f) {
    given.load_f = given.output_valve->input_f->value;
    brief.load_f_from_card = true;
  }
}

void read_search(const Cursor& cursor, Brief& brief) {
  ObjectReader in(cursor);
  if (const auto m = in.find("candidates"))
    brief.candidates = static_cast<int>(m->whole_number(1, kMostCandidates).value_or(1));
  if (const auto m = in.find("seed"))
    brief.seed = m->whole_number(0, std::numeric_limits<std::uint64_t>::max()).value_or(1);
  if (const auto m = in.find("effort"))
    if (const auto effort = m->choice({kEfforts.begin(), kEfforts.end()}))
      brief.effort = static_cast<Effort>(*effort);
}

Brief read_members(const Cursor& root, const std::string& brief_file, const TubeLibrary& library,
                   std::string& other_bytes) {
  ObjectReader in(root);
  Brief brief;
  DesignSpace& space = brief.space;
  in.text("$schema");
  brief.title = in.text("title").value_or("");
  brief.notes = in.texts("notes");
  const auto stage = in.require("stage", one_of(circuit_names()));
  CircuitsAsked asked = stage ? read_circuits(root, *stage) : CircuitsAsked{};
  if (asked.circuits.empty()) {
    for (const auto name : {"tubes", "target", "load", "variables", "parts", "low_frequency_hz", "search",
                            "objectives", "limits", "design_factors", "warm_up", "sensible", "first_stage",
                            "driver", "feedback", "builds", "output_stage"})
      in.know(name);
    know_conditions(in);
    return brief;
  }
  space.circuits = std::move(asked.circuits);
  space.given.circuit = space.circuits.front();
  space.left_out = std::move(asked.left_out);
  brief.circuits_left_out = std::move(asked.why);
  if (const auto m = in.require("tubes", "a list of tube types")) read_tubes(*m, library, space.tubes);
  read_output_stage(in, library, space.given);
  if (has_output_stage(space.given)) {
    if (in.find("target")) in.error("target", kFollowsFromOutputStage);
  } else if (const auto m = in.require("target", "the swing that is asked for")) {
    read_target(*m, brief);
  }
  if (const auto m = in.require("load", "what each output drives")) read_load(*m, library, brief);
  const auto target = root.member("target"), load = root.member("load");
  const bool unknown_valve = load && load->member("output_valve") && !space.given.output_valve;
  if (target && !unknown_valve && !has_output_stage(space.given)) drive_of_condition(*target, brief);
  const auto variables = in.require("variables", "what the search may choose");
  if (variables) {
    read_variables(*variables, space);
    read_conditions(in, space);
    read_first_stage(in, library, space);
    if (const auto m = in.find("driver")) read_driver(*m, library, space);
    read_feedback(in, space);
  } else {
    in.know("first_stage");
    in.know("driver");
    in.know("feedback");
    know_conditions(in);  // which of them apply depends on the forms
  }
  if (const auto m = in.find("parts")) other_bytes = read_parts(*m, brief_file, space);
  space.low_frequency_hz = in.number("low_frequency_hz", kLowFrequencyRule);
  if (const auto m = in.find("search")) read_search(*m, brief);
  if (variables) {
    if (const auto m = root.member("driver"); m && !space.driver_forms.empty()) check_driver(*m, space);
    check_own_ranges(*variables, space);
    if (const auto m = in.find("builds"))
      other_bytes += read_builds(
          *m, brief_file, [&](const DesignField& field) { return applies_somewhere(field, brief.space); },
          brief);
  } else {
    in.know("builds");  // which parts there are depends on the forms
  }
  brief.demands = read_demands(in, space, space.given.feedback.given);
  if (const auto m = in.find("sensible")) read_sensible(*m, brief.sensible, brief.demands.factors);
  return brief;
}

OrErrors<Brief> read_document(OrErrors<JsonDocument> document, const TubeLibrary& library) {
  if (auto* errors = std::get_if<InputErrors>(&document)) return std::move(*errors);
  const auto& json = std::get<JsonDocument>(document);
  InputErrorList errors(json.file);
  if (const auto other = other_kind(json.root, FileKind::brief); !other.empty()) {
    errors.add("", json.root.place, other);
    return errors.take();
  }
  std::string other_bytes;
  auto brief = read_members(Cursor(json.root, "", errors), json.file, library, other_bytes);
  if (!errors.empty()) return errors.take();
  brief.digest = sha256_hex(json.bytes + other_bytes);  // other parts on hand or tolerances are another brief
  return brief;
}

}  // namespace

OrErrors<Brief> read_brief(const std::string& file, const TubeLibrary& library) {
  return read_document(load_json(file), library);
}

OrErrors<Brief> read_brief_text(std::string text, const std::string& file, const TubeLibrary& library) {
  return read_document(parse_json(std::move(text), file), library);
}

}  // namespace antiphase
