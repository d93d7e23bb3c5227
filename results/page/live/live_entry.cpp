#include "results/page/live/live_entry.h"

#include <algorithm>
#include <cmath>

#include "results/describe/candidate_columns.h"
#include "results/make_record.h"
#include "results/page/live/live_fields.h"
#include "results/page/page_parts.h"
#include "results/plots/design_data.h"
#include "stagemodels/circuits/forms.h"
#include "stagemodels/circuits/questions.h"

#ifdef __wasm__
/// The C++ library's own tells of it on a terminal, for which it asks the page for files.
extern "C" void __cxa_pure_virtual() {
  __builtin_trap();
}
#endif

namespace antiphase {
namespace {

constexpr int kMostNumbers = 256;

struct Live {
  std::vector<double> room;
  std::vector<Tube> tubes;
  std::vector<OutputValve> output_valves;
  LiveTables tables;
  Demands demands;
  Tolerances tolerances;
  std::vector<engine::Series> series;  ///< of design_fields()
  bool ready = false;
  double given[kMostNumbers] = {};
  double solved[kMostNumbers] = {};
  double steps[4 * kMostNumbers] = {};
  Design design;
  Evaluation evaluation;
  std::string text;
};

Live& live() {
  static Live only;
  return only;
}

int design_size() {
  return static_cast<int>(forms_size() + design_fields().size() + 2);
}

/// True if the circuit has the form; where it chooses none, any of all forms stands there without a meaning.
template <class Form, std::size_t N>
bool chosen(std::span<const Form> forms, const std::array<Form, N>& all, Form form) {
  if (forms.empty()) forms = all;
  return std::find(forms.begin(), forms.end(), form) != forms.end();
}

/// A design that the solver may be asked about: tubes set, forms and numbers in their ranges.
bool sound(const Design& d) {
  const auto kind = static_cast<std::size_t>(d.circuit);
  if (!chosen(circuits()[kind].bias_forms, kEveryBiasForm, d.bias.form) ||
      !chosen(circuits()[kind].tail_forms, kEveryTailForm, d.tail.form))
    return false;
  const auto drivers = driver_forms(d.circuit);
  if (std::find(drivers.begin(), drivers.end(), d.driver.form) == drivers.end()) return false;
  const auto gains = gain_forms(d.circuit);
  if (std::find(gains.begin(), gains.end(), d.first_stage.form) == gains.end()) return false;
  if (has_second_section(d) && !d.first_stage.second_tube) return false;
  if (has_first_stage(d) && d.first_stage.tube && !suits(*d.first_stage.tube, d.first_stage.form))
    return false;
  if (!d.tube[0] || (sections(d.circuit) == 2 && !d.tube[1]) || (has_first_stage(d) && !d.first_stage.tube) ||
      (has_driver(d) && !d.driver.tube))
    return false;
  for (const DesignField& field : design_fields()) {
    const double v = field.value(d);
    if (!std::isfinite(v)) return false;
    const bool may_lack = !field.required && v == 0;
    if (field.applies(d) && !may_lack && !(v >= field.low && v <= field.high)) return false;
  }
  // as configs/read_design.cpp has it
  for (const auto& [part, whole] : partly_bypassed(circuit_of(d)))
    if (part && whole && part->value(d) > whole->value(d)) return false;
  if (const DesignField* place = feedback_comes_in_at(circuit_of(d)); place && !(place->value(d) > 0))
    return false;
  return !grids_given(d) || d.bias.grid_v < cold_supply_v(d);
}

bool take_given() {
  Live& l = live();
  if (!l.ready) return false;
  LiveReader io(l.given, static_cast<std::size_t>(design_size()));
  Design design;
  pass_design(io, design, l.tables);
  if (!io.good() || !sound(design)) return false;
  l.design = design;
  return true;
}

/// Next members of the field's series, below and above; 0 where there is none in the field's range.
std::array<double, 2> next_values(const DesignField& field, engine::Series series, double value) {
  const bool part = field.role == FieldRole::resistor || field.role == FieldRole::capacitor;
  if (!part || !(value > 0)) return {};
  constexpr double kApart = 1e-6;  // far below a step of E192
  const double down = engine::around(series, value * (1 - kApart)).first;
  const double up = engine::around(series, value * (1 + kApart)).second;
  return {down >= field.low && down > 0 ? down : 0, up <= field.high ? up : 0};
}

std::string_view name_of(FieldRole role) {
  constexpr std::string_view kNames[] = {"condition", "resistor", "capacitor", "setting", "demand"};
  static_assert(std::size(kNames) == enumerators<FieldRole>());
  return kNames[static_cast<int>(role)];
}

}  // namespace
}  // namespace antiphase

using namespace antiphase;

double* live_room(int count) {
  live().room.assign(static_cast<std::size_t>(std::max(count, 1)), 0.0);
  return live().room.data();
}

int live_set_up(int count) {
  Live& l = live();
  l.ready = false;
  if (count < 0 || static_cast<std::size_t>(count) > l.room.size()) return 0;
  LiveReader io(l.room.data(), static_cast<std::size_t>(count));
  pass_each(io, l.tubes, l.output_valves, l.demands, l.tolerances, l.series);
  const bool laws =
      std::all_of(l.tubes.begin(), l.tubes.end(), [](const Tube& t) { return !t.models.empty(); });
  if (!io.good() || io.left() != 0 || !laws || l.series.size() != design_fields().size() ||
      design_size() > kMostNumbers || 2 * figures().size() + 3 > kMostNumbers)
    return 0;
  l.tables = {};
  for (const Tube& t : l.tubes) l.tables.tubes.push_back(&t);
  for (const OutputValve& v : l.output_valves) l.tables.output_valves.push_back(&v);
  l.ready = true;
  return 1;
}

int live_design_size() {
  return design_size();
}

int live_forms_size() {
  return static_cast<int>(forms_size());
}

int live_figure_count() {
  return static_cast<int>(figures().size());
}

double* live_given() {
  return live().given;
}

int live_solve(int depth) {
  Live& l = live();
  if (depth < 0 || depth > static_cast<int>(Depth::everything) || !take_given()) return 0;
  const auto reached = static_cast<Depth>(depth);
  evaluate(l.design, reached, l.evaluation);
  double* out = l.solved;
  const auto put = [&](const std::optional<double>& v) {
    *out++ = v ? 1 : 0;
    *out++ = v ? *v : 0;
  };
  for (const Figure& figure : figures())
    put(figure.needs <= reached ? figure.measure(l.design, l.evaluation) : std::nullopt);
  const bool whole = needed_depth(l.demands) <= reached;
  put(whole ? score(l.demands, l.design, l.evaluation) : std::nullopt);
  *out = demand_violation(l.demands, l.design, l.evaluation);
  return 1;
}

const double* live_solved() {
  return live().solved;
}

const double* live_steps() {
  Live& l = live();
  double* out = l.steps;
  if (!take_given()) return out;
  for (std::size_t i = 0; i < design_fields().size(); ++i) {
    const DesignField& field = design_fields()[i];
    const double value = field.value(l.design);
    const auto [down, up] = next_values(field, l.series[i], value);
    for (double v : {field.applies(l.design) ? 1.0 : 0.0, value, down, up}) *out++ = v;
  }
  return l.steps;
}

const char* live_fields() {
  Live& l = live();
  JsonWriter json(JsonWriter::Style::dense);
  json.begin_array();
  for (std::size_t i = 0; i < design_fields().size(); ++i) {
    const DesignField& f = design_fields()[i];
    json.begin_object().member("pointer", f.pointer).member("label", f.label).member("unit", f.unit);
    json.member("role", name_of(f.role)).member("low", f.low).member("high", f.high);
    json.member("required", f.required);
    json.member("series", i < l.series.size() ? engine::name_of(l.series[i]) : std::string_view());
    json.end_object();
  }
  json.end_array();
  l.text = std::move(json).take();
  return l.text.c_str();
}

const char* live_describe() {
  Live& l = live();
  if (!take_given()) return nullptr;
  const Record record = make_record(l.design, l.demands);
  LimitKinds kinds;
  kinds.take(record);
  JsonWriter json(JsonWriter::Style::dense, kPlotDigits);
  json.begin_object();
  kinds.write(json);
  write_design_part(json, record, kinds);
  write_pictures_part(json, record);
  json.key("parts").begin_array();
  for (const TextColumn& c : build_columns({&record}, true))
    json.begin_array(true).value(c.heading).value(c.cells.front()).end_array();
  json.end_array();
  json.member("block", entry_block(record, l.demands, l.tolerances, "Changed design", "entry-live"));
  json.end_object();
  l.text = std::move(json).take();
  return l.text.c_str();
}

int live_text_size() {
  return static_cast<int>(live().text.size());
}
