// What the program itself says about what the page works out too: one JSON object
// {quantities, task, designs, answers, solved, kinds, fed_back, dropped} on standard output, every digit.
// `quantities` are numbers and how the program writes them: [value, unit, digits, text]. An answer is what
// live_solved() gives after live_solve() with everything (live_entry.h), taken here from make_record, which
// uses the program's own compilation, wide vectors and all.
#include <cmath>
#include <cstdio>
#include <random>
#include <set>
#include <string>

#include "results/json/json_writer.h"
#include "results/make_record.h"
#include "results/page/live/live_data.h"
#include "results/text/write_quantity.h"
#include "stagemodels/design_fields.h"
#include "tests/support/random_stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr int kDesigns = 96;

/// Capacitors, ends, an output valve and a gain stage ahead, each on some of the designs.
Design dressed(Design d, int n, const OutputValve& valve, const Tube& first) {
  d.coupling_f = n % 3 == 0 ? 0 : 47e-9;
  d.load_f = n % 2 == 0 ? 60e-12 : 0;
  d.source_f = n % 5 == 0 ? 100e-12 : 0;
  d.reservoir_f = n % 2 == 0 ? 22e-6 : 0;
  d.grid_bypass_f = n % 4 == 0 ? 100e-9 : 0;
  d.heater_v = n % 7 == 0 ? 40 : 0;
  if (n % 2 == 0) {
    d.output_valve = &valve;
    d.output_valve_bias_v = -d.swing_peak_v;
  }
  if (d.circuit == CircuitKind::long_tailed_pair && n % 3 == 0) {
    d.circuit = CircuitKind::gain_and_splitter;
    d.first_stage.tube = &first;
    d.first_stage.plate_ohm = d.bias.form == BiasForm::direct_coupled ? 270e3 : 100e3;
    d.first_stage.cathode_ohm = 1.8e3;
    d.first_stage.cathode_unbypassed_ohm = n % 2 == 0 ? 150 : 0;
    d.first_stage.cathode_bypass_f = n % 4 == 0 ? 100e-6 : 0;
    d.first_stage.coupling_f = n % 3 == 0 ? 22e-9 : 0;
    if (n % 2 == 0) {
      d.feedback.given = true;
      d.feedback.wanted_db = 12;
      d.feedback.source_v_rms = 0.7;
      d.feedback.output_gain = 0.3;
      d.feedback.output_impedance_ohm = 4;
      d.feedback.low_hz = 8;
      d.feedback.high_hz = 60e3;
    }
  }
  return d;
}

void write(JsonWriter& json, const char* name, const std::vector<double>& numbers) {
  if (name) json.key(name);
  json.begin_array(true);
  for (double v : numbers) json.value(v);
  json.end_array();
}

/// As live_solved() has it.
std::vector<double> answer(const Record& r, const Demands& demands) {
  std::vector<double> out;
  const auto put = [&](const std::optional<double>& v) {
    out.push_back(v.has_value());
    out.push_back(v.value_or(0));
  };
  for (const auto& v : r.figures) put(v);
  put(r.score);
  out.push_back(demand_violation(demands, r.design, r.evaluation));
  return out;
}

void write_quantities(JsonWriter& json) {
  // ends of the prefixes, what rounds up to the next one, right between two digits, shares too small to tell
  std::vector<double> values{0,      -0.0,   999.5,   999.4,   0.9996e-3, 1.125, 1.135, -2.25,
                             1002.5, 1003.5, 0.03125, 1e12,    1.5e16,    4e77,  1e-15, 1e-18,
                             5e-300, 4.2e-5, 8.9e-6,  0.47449, 5e-324,    47000, -0.6,  12345.6};
  std::mt19937 random(1);
  std::uniform_real_distribution<double> power(-24, 18);
  while (values.size() < 400)
    values.push_back((values.size() % 2 == 0 ? 1 : -1) * std::pow(10, power(random)));
  json.key("quantities").begin_array();
  for (const double v : values)
    for (const char* unit : {"ohm", "V", "Hz", "%", "dB", "1", ""})
      for (const int digits : {3, 4})
        json.begin_array(true)
            .value(v)
            .value(unit)
            .value(digits)
            .value(engineering_text(v, unit, digits))
            .end_array();
  json.end_array();
}

}  // namespace

int main() {
  RandomStages stages(8);
  OutputValve valve;
  valve.name = "output valve";
  valve.grid = grid_diode(-1);
  const Tube first = tube_with(kKoren12AX7);
  Demands demands;
  demands.objectives = {{find_figure("distortion_pct"), 2, 1}, {find_figure("headroom_db"), 1, 6}};
  demands.limits.push_back({find_figure("supply_current_a"), 5e-3});
  std::vector<Design> designs;
  for (int n = 0; n < kDesigns; ++n) designs.push_back(dressed(stages.draw(), n, valve, first));
  std::vector<const Design*> pointers;
  for (const Design& d : designs) pointers.push_back(&d);
  const LiveTables tables = tables_of(pointers);
  JsonWriter json(JsonWriter::Style::dense);
  json.begin_object();
  write_quantities(json);
  write(json, "task", live_task(tables, demands, {}, {}));
  json.key("designs").begin_array();
  for (const Design& d : designs) write(json, nullptr, live_design(d, tables));
  json.end_array().key("answers").begin_array();
  int solved = 0, fed_back = 0, dropped = 0;
  std::set<std::string> kinds;
  for (const Design& d : designs) {
    const Record record = make_record(d, demands);
    write(json, nullptr, answer(record, demands));
    if (record.evaluation.at_target.solved != Solved::yes) continue;
    ++solved;
    fed_back += has_feedback(d);
    dropped += d.main_supply_v > 0;
    kinds.insert(std::string(name_of(d.circuit)) +
                 (sections(d.circuit) == 1
                      ? ""
                      : " " + std::string(name_of(d.bias.form)) + " " + std::string(name_of(d.tail.form))));
  }
  json.end_array().member("solved", solved).member("fed_back", fed_back).member("dropped", dropped);
  json.key("kinds").begin_array();
  for (const std::string& kind : kinds) json.value(kind);
  json.end_array().end_object();
  std::fputs((std::move(json).take() + "\n").c_str(), stdout);
}
