#include "configs/read_circuits.h"

#include <algorithm>

#include "configs/choices.h"
#include "configs/read_variables.h"
#include "objectives/demands.h"
#include "results/text/wording.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

constexpr int kSplitterOutputs = 2;

std::string outputs_in_words(CircuitKind kind) {
  return outputs(kind) == 1 ? "one output" : "two outputs";
}

std::vector<CircuitKind> splitters() {
  std::vector<CircuitKind> kinds;
  for (const CircuitEntry& entry : circuits())
    if (outputs(entry.kind) == kSplitterOutputs) kinds.push_back(entry.kind);
  return kinds;
}

/// What every splitter needs is missed elsewhere, and leaves none of them out.
bool all_need_variable(std::string_view name) {
  const std::vector<CircuitKind> all = splitters();
  return std::all_of(all.begin(), all.end(), [&](CircuitKind kind) { return needs_variable(kind, name); });
}

/// Members of "variables" that a circuit needs, that others do not, and that are not there.
std::vector<std::string> missing_variables(const Cursor& root, CircuitKind kind) {
  std::vector<std::string> missing;
  const auto variables = root.member("variables");
  if (!variables) return missing;
  for (const std::string_view name : variable_names())
    if (needs_variable(kind, name) && !all_need_variable(name) && !variables->member(name))
      missing.emplace_back(name);
  return missing;
}

/// True if the brief names forms, and none that the circuit may have.
template <class All, class Form>
bool has_no_form(const Cursor& root, std::string_view member, const All& all,
                 std::span<const Form> of_circuit) {
  const auto variables = root.member("variables");
  const auto forms = variables ? variables->member(member) : std::nullopt;
  if (!forms || of_circuit.empty()) return false;
  const auto some_of = [&](const std::vector<std::string_view>& names) {
    return std::any_of(names.begin(), names.end(), [&](std::string_view name) { return forms->lists(name); });
  };
  return some_of(names_of(all)) &&
         !some_of(names_of(of_circuit));  // names of no form are told at their place
}

/// Figures of the score that a circuit does not have.
std::vector<std::string> missing_figures(const Cursor& root, CircuitKind kind) {
  std::vector<std::string> missing;
  const auto objectives = root.member("objectives");
  if (!objectives) return missing;
  for (const Figure& figure : figures())
    if (!has_figure(kind, figure) && objectives->lists_object_with("figure", figure.name))
      missing.emplace_back(figure.label);
  return missing;
}

bool has_fixed_bias(const Cursor& root) {
  const auto load = root.member("load");
  if (!load || !load->member("output_valve")) return false;
  const auto bias = load->member("bias");
  return !bias || bias->says(name_of(OutputBias::fixed));
}

/// Why "any" leaves a circuit out; empty: it does not.
std::string why_left_out(const Cursor& root, CircuitKind kind) {
  if (outputs(kind) != kSplitterOutputs)
    return "has " + outputs_in_words(kind) + ", and \"any\" means every phase splitter";
  if (has_first_stage(kind) && !root.member("first_stage")) return "needs a first_stage, which is not given";
  if (root.member("driver") && driver_forms(kind).size() == 1) return "takes no driver behind it";
  if (const auto missing = missing_variables(root, kind); !missing.empty())
    return "needs " + all_of(missing) + " among the variables, which " +
           (missing.size() == 1 ? "is" : "are") + " not given";
  const CircuitEntry& entry = circuit(kind);
  if (has_no_form(root, "bias_form", kBiasForms, entry.bias_forms))
    return "has no bias form of those that are named";
  if (has_no_form(root, "tail_form", kTailForms, entry.tail_forms))
    return "has no tail form of those that are named";
  if (needs_next_grid_at_ground(kind) && has_fixed_bias(root))
    return "needs an output valve with cathode bias, whose grid stands at ground";
  if (const auto missing = missing_figures(root, kind); !missing.empty())
    return "has no " + all_of(missing) + ", so that its score could not be set beside the others'";
  return "";
}

CircuitsAsked any_circuit(const Cursor& root, const Cursor& stage) {
  CircuitsAsked asked;
  for (const CircuitEntry& entry : circuits()) {
    const std::string why = why_left_out(root, entry.kind);
    if (why.empty()) {
      asked.circuits.push_back(entry.kind);
      continue;
    }
    asked.why.push_back("Left out: " + std::string(entry.name) + ", which " + why + ".");
    if (outputs(entry.kind) == kSplitterOutputs) asked.left_out.push_back(entry.kind);
  }
  if (asked.circuits.empty()) stage.error("leaves no circuit. " + joined(asked.why, " "));
  return asked;
}

CircuitsAsked listed_circuits(const Cursor& stage) {
  CircuitsAsked asked;
  const auto items = stage.items(1, circuits().size());
  if (!items) return asked;
  bool sound = true;
  for (const Cursor& item : *items) {
    const auto at = item.choice(circuit_names());
    sound = sound && at;
    if (!at) continue;
    const CircuitKind kind = circuits()[*at].kind;
    if (std::find(asked.circuits.begin(), asked.circuits.end(), kind) != asked.circuits.end()) {
      item.error("stands in the list twice");
      sound = false;
    } else if (!asked.circuits.empty() && outputs(kind) != outputs(asked.circuits.front())) {
      item.error("has " + outputs_in_words(kind) + " and " + std::string(name_of(asked.circuits.front())) +
                 " " + outputs_in_words(asked.circuits.front()) +
                 "; circuits that are compared have equally many");
      sound = false;
    } else {
      asked.circuits.push_back(kind);
    }
  }
  if (!sound) asked.circuits.clear();
  return asked;
}

}  // namespace

CircuitsAsked read_circuits(const Cursor& root, const Cursor& stage) {
  if (stage.kind() == JsonKind::list) return listed_circuits(stage);
  std::vector<std::string_view> names = circuit_names();
  names.push_back(kAnyCircuit);
  const auto at = stage.choice(names);
  if (!at) return {};
  if (*at == circuits().size()) return any_circuit(root, stage);
  return {{circuits()[*at].kind}, {}, {}};
}

std::string for_which(const std::vector<CircuitKind>& circuits, const std::function<bool(CircuitKind)>& has) {
  std::vector<std::string> names;
  for (const CircuitKind kind : circuits)
    if (has(kind)) names.emplace_back(name_of(kind));
  return names.size() == circuits.size() ? "" : " (for " + all_of(names) + ")";
}

}  // namespace antiphase
