#include "configs/schema/filled_schema.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>
#include <regex>

#include "configs/brief_conditions.h"
#include "configs/choices.h"
#include "configs/design_members.h"
#include "configs/read_circuits.h"
#include "configs/read_variables.h"
#include "objectives/figures/catalogue.h"
#include "results/text/wording.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

using Json = nlohmann::ordered_json;

// --- layout ---

constexpr std::size_t kWidth = 110;  // an object or a list that fits stays on one line

std::string on_one_line(const Json& v) {
  if (v.is_object()) {
    std::string text = "{";
    for (const auto& [key, inner] : v.items())
      text += (text.size() > 1 ? ", " : "") + Json(key).dump() + ": " + on_one_line(inner);
    return text + "}";
  }
  if (v.is_array()) {
    std::string text = "[";
    for (const auto& inner : v) text += (text.size() > 1 ? ", " : "") + on_one_line(inner);
    return text + "]";
  }
  return v.dump();
}

/// `used`: columns in front of the value on its first line, and one for a comma behind it.
std::string laid_out(const Json& v, std::size_t indent, std::size_t used) {
  std::string line = on_one_line(v);
  if (!v.is_structured() || v.empty() || used + line.size() <= kWidth) return line;
  const std::string margin(indent + 2, ' ');
  std::string text = v.is_object() ? "{" : "[";
  const char* comma = "\n";
  for (auto it = v.begin(); it != v.end(); ++it) {
    const std::string key = v.is_object() ? Json(it.key()).dump() + ": " : "";
    text += comma + margin + key + laid_out(*it, indent + 2, indent + 3 + key.size());
    comma = ",\n";
  }
  return text + "\n" + std::string(indent, ' ') + (v.is_object() ? "}" : "]");
}

// --- small pieces ---

Json number(double v) {
  constexpr double kExact = 1e15;  // whole numbers below are written without a fraction
  if (v == std::floor(v) && std::abs(v) < kExact) return static_cast<std::int64_t>(v);
  return v;
}

template <class Names>
Json listed(const Names& names) {
  Json list = Json::array();
  for (const auto& name : names) list.push_back(std::string(name));
  return list;
}

bool holds(const Json& list, std::string_view name) {
  return std::find(list.begin(), list.end(), Json(std::string(name))) != list.end();
}

/// Puts a rule into `rules`, a schema for an object.
void forbid(Json& rules, std::string_view member) {
  rules["properties"][std::string(member)] = false;
}
void require(Json& rules, std::string_view member) {
  rules["required"].push_back(std::string(member));
}

void set_limits(Json& node, const DesignField& field) {
  node["minimum"] = number(field.low);
  node["maximum"] = number(field.high);
}

/// A number of a design in the schema of designs: its range, and what it is if left out.
void set_number(Json& node, const DesignField& field) {
  if (node.is_null()) {
    node["description"] = std::string(field.label) + ".";
    const std::string kind = field.unit == "V"     ? "volt"
                             : field.unit == "A"   ? "ampere"
                             : field.unit == "ohm" ? "ohm"
                             : field.unit == "F"   ? "farad"
                             : field.unit == "%"   ? "percent"
                                                   : "";
    if (kind.empty())
      node["type"] = Json::array({"number", "string"});
    else
      node["allOf"] = Json::array({{{"$ref", "#/definitions/" + kind}}});
  }
  set_limits(node, field);
  if (field.required)
    node.erase("default");
  else
    node["default"] = number(field.value(Design{}));
}

/// True for circuits that have a member of a file.
using Has = std::function<bool(CircuitKind)>;

/// Puts in front of a member's description in which circuits it has a meaning, unless that is all of them.
void say_where(Json& node, const Has& has) {
  if (!node.contains("description")) return;
  static const std::regex kBefore("^(?:Pair|Chain|Gain stage) only: |^Only in [^:]*: ");
  std::string text = std::regex_replace(node["description"].get<std::string>(), kBefore, "");
  std::vector<std::string> names;
  for (const CircuitEntry& entry : circuits())
    if (has(entry.kind)) names.emplace_back(entry.name);
  const bool everywhere = names.size() == circuits().size();
  if (text.empty() || (everywhere && node["description"] == text)) return;
  const auto letter = [&](std::size_t i) {
    return static_cast<unsigned char>(i < text.size() ? text[i] : ' ');
  };
  if (everywhere)
    text.front() = static_cast<char>(std::toupper(letter(0)));
  else if (!std::isupper(letter(1)))  // "DC" stays
    text.front() = static_cast<char>(std::tolower(letter(0)));
  node["description"] = everywhere ? text : "Only in " + any_of(names) + ": " + text;
}

std::string described_circuits() {
  std::vector<std::string> all;
  for (const CircuitEntry& entry : circuits())
    all.push_back(std::string(entry.name) + " (" + std::string(entry.description) + ")");
  return "The circuit: " + any_of(all) + ".";
}

void set_stage(Json& root) {
  root["properties"]["stage"]["enum"] = listed(circuit_names());
  root["properties"]["stage"]["description"] = described_circuits();
}

/// One circuit, a list of them, or any.
void set_stages(Json& root) {
  Json any = listed(circuit_names());
  any.push_back(std::string(kAnyCircuit));
  Json list = {{"type", "array"},
               {"items", {{"enum", listed(circuit_names())}}},
               {"minItems", 1},
               {"maxItems", circuits().size()},
               {"uniqueItems", true}};
  root["properties"]["stage"] = {
      {"description",
       described_circuits() +
           " Of a list every circuit is searched, with all that the brief gives it, and they are "
           "compared; their numbers of outputs are equal. any: every circuit with two outputs for "
           "which the brief has all that it needs; the answer says which are left out and why."},
      {"oneOf", {{{"enum", any}}, list}}};
}

/// One "if, then" for each circuit.
template <class RulesOf>
void set_circuits(Json& root, RulesOf rules_of) {
  for (const char* before : {"if", "then", "else"}) root.erase(before);
  root["allOf"] = Json::array();
  for (const CircuitEntry& entry : circuits()) {
    Json rules = rules_of(entry);
    if (!rules.empty())
      root["allOf"].push_back(
          {{"if", {{"properties", {{"stage", {{"const", std::string(entry.name)}}}}}}}, {"then", rules}});
  }
}

// --- designs ---

/// A file's object that has a form: the circuit's forms, and a circuit's list in one of them.
struct FormObject {
  std::string_view name;
  std::vector<std::string_view> (*all)();
  std::vector<std::string_view> (*forms)(const CircuitEntry&);
  bool (*in)(const Design&, std::string_view form);
};
constexpr std::array kFormObjects{
    FormObject{"bias", [] { return names_of(kBiasForms); },
               [](const CircuitEntry& e) { return names_of(e.bias_forms); },
               [](const Design& d, std::string_view form) { return name_of(d.bias.form) == form; }},
    FormObject{"tail", [] { return names_of(kTailForms); },
               [](const CircuitEntry& e) { return names_of(e.tail_forms); },
               [](const Design& d, std::string_view form) { return name_of(d.tail.form) == form; }}};

/// The driver, which no design needs.
constexpr FormObject kDriverObject{
    "driver",
    [] {
      auto names = names_of(kDriverForms);
      names.erase(names.begin());
      return names;
    },
    [](const CircuitEntry& e) { return names_of(driver_forms(e.kind).subspan(1)); },
    [](const Design& d, std::string_view form) { return name_of(d.driver.form) == form; }};

/// What a circuit says of a field in one form of an object: some of its lists name it, all do.
struct Named {
  bool somewhere = false, always = true;
};
Named named_in_form(CircuitKind kind, const FormObject& object, std::string_view form,
                    const DesignField& field) {
  Named named;
  for_each_form(kind, [&](const Design& d, const Circuit& list) {
    if (!object.in(d, form)) return;
    const bool here = names_member(list, field);
    named.somewhere = named.somewhere || here;
    named.always = named.always && here;
  });
  return named;
}

Json& branch_of(Json& root, const FormObject& object, std::string_view form) {
  for (Json& branch : root["properties"][std::string(object.name)]["oneOf"])
    if (branch["properties"]["form"]["const"] == std::string(form)) return branch;
  Json& branches = root["properties"][std::string(object.name)]["oneOf"];
  branches.push_back({{"type", "object"}, {"additionalProperties", false}, {"required", {"form"}}});
  branches.back()["properties"]["form"]["const"] = std::string(form);
  return branches.back();
}

/// The members of an object with forms: which stand in which form, with the circuits taken together.
void set_form_object(Json& root, const FormObject& object) {
  for (const std::string_view form : object.all()) {
    Json& branch = branch_of(root, object, form);
    branch["required"] = Json::array({"form"});
    if (branch["properties"].contains("tube")) require(branch, "tube");
    for (const DesignField& field : design_fields()) {
      const Steps steps = steps_of(field);
      if (steps.first != object.name) continue;
      Named any{false, true};
      for (const CircuitEntry& entry : circuits()) {
        const auto forms = object.forms(entry);
        if (std::find(forms.begin(), forms.end(), form) == forms.end()) continue;
        const Named here = named_in_form(entry.kind, object, form, field);
        any = {any.somewhere || here.somewhere, any.always && here.always};
      }
      if (!any.somewhere) continue;
      set_number(branch["properties"][std::string(steps.second)], field);
      if (field.required && any.always) require(branch, steps.second);
    }
  }
}

/// What one circuit has of it.
Json form_object_rules(Json& root, const FormObject& object, const CircuitEntry& entry) {
  Json rules = Json::object();
  const auto forms = object.forms(entry);
  if (forms.size() < object.all().size()) rules["properties"]["form"]["enum"] = listed(forms);
  for (const std::string_view form : forms) {
    const Json& branch = branch_of(root, object, form);
    Json then = Json::object();
    for (const auto& [name, node] : branch["properties"].items()) {
      if (name == "form") continue;
      const auto* field = find_design_field("/" + std::string(object.name) + "/" + name);
      if (!field) {  // the clamp diodes, which are no number
        bool has = false;
        for_each_form(entry.kind, [&](const Design& d, const Circuit& list) {
          has = has || (object.in(d, form) && has_role(list, Role::grid_clamp));
        });
        if (!has) forbid(then, name);
        continue;
      }
      const Named named = named_in_form(entry.kind, object, form, *field);
      if (!named.somewhere)
        forbid(then, name);
      else if (field->required && named.always && !holds(branch["required"], name))
        require(then, name);
    }
    if (!then.empty())
      rules["allOf"].push_back(
          {{"if", {{"properties", {{"form", {{"const", std::string(form)}}}}}}}, {"then", then}});
  }
  return rules;
}

/// What follows from an output stage and must not stand beside it (configs/read_output_stage.h); without one,
/// what must.
void add_output_stage_rule(Json& root, Json beside, std::string_view otherwise) {
  beside["feedback"]["properties"] = {
      {"output_gain", false}, {"output_impedance_ohm", false}, {"load_ohm", false}};
  const Json lacks{{"required", Json::array({std::string(otherwise)})},
                   {"properties", {{"feedback", {{"required", Json::array({"output_gain"})}}}}}};
  root["allOf"].insert(root["allOf"].begin(), Json{{"if", {{"required", Json::array({"output_stage"})}}},
                                                   {"then", {{"properties", beside}}},
                                                   {"else", lacks}});
}

/// An object whose numbers belong to some circuits only: the first stage, the feedback.
struct PlainObject {
  std::string_view name, before;  ///< `before`: a required member that is no number; empty: none
  bool (*has)(CircuitKind);
  bool required;
};
constexpr std::array kPlainObjects{
    PlainObject{"first_stage", "tube", [](CircuitKind k) { return has_first_stage(k); }, true},
    PlainObject{"feedback", "", [](CircuitKind k) { return has_role(k, Role::feedback); }, false}};

/// Required only where no output stage stands, for which there is a rule.
bool may_follow_from_output_stage(const DesignField& field) {
  return &field == &member::swing_peak_v || &field == &member::feedback_output_gain;
}

/// True if some first stage of the form has the field.
bool in_gain_form(GainForm form, const DesignField& field) {
  bool has = false;
  for (const CircuitEntry& entry : circuits())
    for_each_form(entry.kind, [&](const Design& d, const Circuit& list) {
      has = has || (has_first_stage(d) && d.first_stage.form == form && names_member(list, field));
    });
  return has;
}
bool in_every_gain_form(const DesignField& field) {
  return std::all_of(kGainForms.begin(), kGainForms.end(),
                     [&](GainForm form) { return in_gain_form(form, field); });
}

void set_plain_object(Json& root, const PlainObject& object) {
  Json& node = root["properties"][std::string(object.name)];
  node["required"] = Json::array();
  if (!object.before.empty()) require(node, object.before);
  for (const DesignField& field : design_fields()) {
    const Steps steps = steps_of(field);
    if (steps.first != object.name) continue;
    set_number(node["properties"][std::string(steps.second)], field);
    const bool always = object.name != "first_stage" || in_every_gain_form(field);
    if (field.required && always && !may_follow_from_output_stage(field)) require(node, steps.second);
  }
}

/// What a first stage has in one of its forms, and must have; a file that names no form means a triode.
void add_gain_form_rules(Json& root) {
  Json& node = root["properties"]["first_stage"];
  node["allOf"] = Json::array();
  for (const GainForm form : kGainForms) {
    Json then = Json::object();
    for (const DesignField& field : design_fields()) {
      const Steps steps = steps_of(field);
      if (steps.first != "first_stage" || in_every_gain_form(field)) continue;
      if (!in_gain_form(form, field))
        forbid(then, steps.second);
      else if (field.required)
        require(then, steps.second);
    }
    if (!has_second_section(form))
      for (const char* name : {"second_tube", "second_section"}) forbid(then, name);
    Json is = {{"properties", {{"form", {{"const", std::string(name_of(form))}}}}}};
    if (form != GainForm::triode) is["required"] = Json::array({"form"});
    node["allOf"].push_back({{"if", is}, {"then", then}});
  }
}

/// Numbers of an object that one circuit lacks although it has the object.
Json plain_object_rules(const PlainObject& object, CircuitKind kind) {
  Json rules = Json::object();
  for (const DesignField& field : design_fields())
    if (const Steps steps = steps_of(field); steps.first == object.name && !has_member(kind, field))
      forbid(rules, steps.second);
  return rules;
}

Json design_rules(Json& root, const CircuitEntry& entry) {
  Json rules = Json::object();
  const CircuitKind kind = entry.kind;
  const Json& global = root["required"];
  for (const DesignField& field : design_fields()) {
    const Steps steps = steps_of(field);
    if (!steps.second.empty()) continue;
    if (!has_member(kind, field))
      forbid(rules, steps.first);
    else if (field.required && always_has_member(kind, field) && !holds(global, steps.first) &&
             !may_follow_from_output_stage(field))
      require(rules, steps.first);
  }
  for (const FormObject& object : kFormObjects) {
    if (object.forms(entry).empty()) {
      forbid(rules, object.name);
      continue;
    }
    require(rules, object.name);
    if (Json inner = form_object_rules(root, object, entry); !inner.empty())
      rules["properties"][std::string(object.name)] = inner;
  }
  if (kDriverObject.forms(entry).empty())
    forbid(rules, "driver");
  else if (Json inner = form_object_rules(root, kDriverObject, entry); !inner.empty())
    rules["properties"]["driver"] = inner;
  for (const PlainObject& object : kPlainObjects) {
    if (!object.has(kind)) {
      forbid(rules, object.name);
      continue;
    }
    if (object.required) require(rules, object.name);
    if (Json inner = plain_object_rules(object, kind); !inner.empty())
      rules["properties"][std::string(object.name)] = inner;
  }
  if (outputs(kind) < 2)
    for (const char* name : {"output_valve", "output_stage"}) forbid(rules, name);
  if (sections(kind) < 2) rules["properties"]["tube"]["type"] = "string";
  Json& plates = rules["properties"]["plate_ohm"];
  if (plate_resistors(kind) == 2) {
    plates = {{"type", "array"}, {"minItems", 2}};
  } else {
    plates["maxItems"] = 1;
    plates["allOf"] = Json::array(
        {{{"if", {{"type", {"number", "string"}}}}, {"then", root["properties"]["plate_ohm"]["items"]}}});
  }
  return rules;
}

void fill_design(Json& root) {
  set_stage(root);
  Json& properties = root["properties"];
  for (const DesignField& field : design_fields())
    if (const Steps steps = steps_of(field); steps.second.empty()) {
      Json& node = properties[std::string(steps.first)];
      set_number(node, field);
      say_where(node, [&](CircuitKind kind) { return has_member(kind, field); });
    }
  set_limits(properties["plate_ohm"]["items"], member::plate_ohm_0);
  for (const FormObject& object : kFormObjects) {
    set_form_object(root, object);
    say_where(properties[std::string(object.name)],
              [&](CircuitKind kind) { return !object.forms(circuit(kind)).empty(); });
  }
  set_form_object(root, kDriverObject);
  say_where(properties["driver"], [](CircuitKind kind) { return driver_forms(kind).size() > 1; });
  for (const PlainObject& object : kPlainObjects) {
    set_plain_object(root, object);
    say_where(properties[std::string(object.name)], object.has);
  }
  add_gain_form_rules(root);
  for (const char* name : {"output_valve", "output_stage"})
    say_where(properties[name], [](CircuitKind kind) { return outputs(kind) == 2; });
  set_circuits(root, [&](const CircuitEntry& entry) { return design_rules(root, entry); });
  add_output_stage_rule(root, {{"output_valve", false}}, "swing_peak_v");
}

// --- briefs ---

bool has_condition(CircuitKind kind, const Condition& condition) {
  return has_member(kind, *condition.field);
}

/// Rules for an object of a brief with conditions: those that the circuit lacks.
template <class Conditions>
Json condition_rules(const Conditions& conditions, CircuitKind kind) {
  Json rules = Json::object();
  for (const Condition& condition : conditions)
    if (!has_condition(kind, condition)) forbid(rules, condition.name);
  return rules;
}

void put(Json& rules, std::string_view member, const Json& inner) {
  if (!inner.empty()) rules["properties"][std::string(member)] = inner;
}

Json brief_rules(const Json& root, const CircuitEntry& entry) {
  const CircuitKind kind = entry.kind;
  Json rules = condition_rules(kConditions, kind);
  Json tail = condition_rules(kTailConditions, kind);
  if (!tail.empty() && tail["properties"].size() == kTailConditions.size()) tail = {{"maxProperties", 0}};
  put(rules, "tail", tail);
  if (!has_role(kind, Role::grid_clamp)) forbid(rules, "grid_clamp");
  if (has_first_stage(kind)) {
    require(rules, "first_stage");
    put(rules, "first_stage", condition_rules(kFirstStageConditions, kind));
  } else {
    forbid(rules, "first_stage");
  }
  if (driver_forms(kind).size() == 1) forbid(rules, "driver");
  if (has_role(kind, Role::feedback))
    put(rules, "feedback", condition_rules(kFeedbackConditions, kind));
  else
    forbid(rules, "feedback");
  Json load = Json::object(), parts = Json::object(), variables = Json::object();
  if (outputs(kind) < 2)
    for (const char* name : {"output_valve", "bias", "bias_v"}) forbid(load, name);
  put(rules, "load", load);
  if (outputs(kind) < 2) forbid(rules, "output_stage");
  if (plate_resistors(kind) < 2) forbid(parts, "plate_2");
  put(rules, "parts", parts);
  const Json& schema = root["properties"]["variables"];
  for (const auto& [name, node] : schema["properties"].items()) {
    if (!has_variable(kind, name))
      forbid(variables, name);
    else if (needs_variable(kind, name) && !holds(schema["required"], name))
      require(variables, name);
  }
  for (const FormObject& object : kFormObjects)
    if (const auto forms = object.forms(entry); !forms.empty() && forms.size() < object.all().size())
      variables["properties"][std::string(object.name) + "_form"]["items"]["enum"] = listed(forms);
  put(rules, "variables", variables);
  return rules;
}

template <class Conditions>
void set_condition_limits(Json& node, const Conditions& conditions) {
  for (const Condition& condition : conditions)
    set_limits(node["properties"][std::string(condition.name)], *condition.field);
}

/// A number of this field: one value, a range, or a list.
Json range_schema(const DesignField& field) {
  const auto number = [&] {
    Json node;
    set_number(node, field);
    for (const char* other : {"description", "default"}) node.erase(other);
    if (field.low == 0) {  // of a part, 0 says that there is none
      node.erase("minimum");
      node["exclusiveMinimum"] = 0;
    }
    return node;
  };
  const auto told = [&](const char* description) {
    Json node = number();
    node["description"] = description;
    return node;
  };
  Json step = number();
  for (const char* limit : {"minimum", "maximum"}) step.erase(limit);
  step["description"] = "Only from + k step.";
  step["exclusiveMinimum"] = 0;
  return {
      {"description", "The " + std::string(field.label) + " by itself; left out, it follows or is chosen."},
      {"oneOf",
       {told("One fixed value."),
        {{"description", "A range, ends included."},
         {"type", "object"},
         {"additionalProperties", false},
         {"required", {"from", "to"}},
         {"properties", {{"from", told("Lower end.")}, {"to", told("Upper end.")}, {"step", step}}}},
        {{"type", "array"},
         {"items", number()},
         {"minItems", 1},
         {"maxItems", 1000},
         {"uniqueItems", true},
         {"description", "These values only."}}}}};
}

/// The parts that a brief may fix, list or range by themselves, in place of what stood there.
void set_own_variables(Json& variables) {
  for (const DesignField& field : design_fields()) {
    const std::string name(name_in_brief(field));
    if (own_variable_named(name) == &field) variables[name] = range_schema(field);
  }
}

void fill_brief(Json& root) {
  set_stages(root);
  Json& properties = root["properties"];
  set_condition_limits(root, kConditions);
  set_limits(properties["main_supply_v"], member::main_supply_v);
  set_condition_limits(properties["tail"], kTailConditions);
  set_condition_limits(properties["first_stage"], kFirstStageConditions);
  set_condition_limits(properties["driver"], kDriverConditions);
  say_where(properties["driver"], [](CircuitKind kind) { return driver_forms(kind).size() > 1; });
  set_condition_limits(properties["feedback"], kFeedbackConditions);
  set_condition_limits(properties["feedback"], kFeedbackRequired);
  for (const Condition& condition : kConditions)
    say_where(properties[std::string(condition.name)],
              [&](CircuitKind kind) { return has_condition(kind, condition); });
  for (const PlainObject& object : kPlainObjects) say_where(properties[std::string(object.name)], object.has);
  for (Json* node : {&properties["load"]["properties"]["output_valve"], &properties["output_stage"]})
    say_where(*node, [](CircuitKind kind) { return outputs(kind) == 2; });
  say_where(properties["parts"]["properties"]["plate_2"],
            [](CircuitKind kind) { return plate_resistors(kind) == 2; });
  set_own_variables(properties["variables"]["properties"]);
  for (auto& [name, node] : properties["variables"]["properties"].items())
    say_where(node, [&](CircuitKind kind) { return has_variable(kind, name); });
  std::vector<std::string_view> names;
  for (const Figure& figure : figures()) names.push_back(figure.name);
  for (const char* list : {"objectives", "limits"})
    properties[list]["items"]["properties"]["figure"]["enum"] = listed(names);
  for (const FormObject& object : kFormObjects)
    properties["variables"]["properties"][std::string(object.name) + "_form"]["items"]["enum"] =
        listed(object.all());
  set_circuits(root, [&](const CircuitEntry& entry) { return brief_rules(root, entry); });
  add_output_stage_rule(
      root,
      {{"target", false},
       {"load", {{"properties", {{"output_valve", false}, {"bias", false}, {"bias_v", false}}}}}},
      "target");
}

}  // namespace

std::string filled_schema(std::string_view file, const std::string& text) {
  const bool design = file == "design.schema.json";
  if (!design && file != "brief.schema.json") return text;
  Json root = Json::parse(text);
  design ? fill_design(root) : fill_brief(root);
  return laid_out(root, 0, 0) + "\n";
}

}  // namespace antiphase
