#include "objectives/diagnosis/bench_readings.h"

#include <algorithm>
#include <cassert>

#include "objectives/builds/readings.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

class Gathered {
 public:
  explicit Gathered(const Design& d) : design_(d), c_(circuit_of(d)) {}

  void add(std::string_view name, std::string_view label, Node a, Node b = kGround) {
    if (a == kNoNode || b == kNoNode || one(a, b)) return;
    const auto there = std::find_if(list_.begin(), list_.end(),
                                    [&](const BenchReading& r) { return one(r.a, a) && one(r.b, b); });
    if (there == list_.end()) return list_.push_back({name, label, a, b});
    there->also_name = name;
    there->also_label = label;
  }
  /// One that the sheet has.
  void add(std::string_view name, Node a, Node b = kGround) {
    const auto it =
        std::find_if(readings().begin(), readings().end(), [&](const Figure& f) { return f.name == name; });
    assert(it != readings().end());
    add(name, it->label, a, b);
  }
  std::vector<BenchReading> take() {
    assert(list_.size() <= kMostDirectReadings);
    return std::move(list_);
  }

 private:
  /// Joined by a wire: what the list of a form has between them is not there in this design.
  bool one(Node a, Node b) const {
    if (a == b) return true;
    return std::any_of(c_.begin(), c_.end(), [&](const Element& e) {
      const bool between = (e.a == a && e.b == b) || (e.a == b && e.b == a);
      return between && e.kind != ElementKind::triode && e.joins(design_);
    });
  }

  const Design& design_;
  const Circuit& c_;
  std::vector<BenchReading> list_;
};

}  // namespace

std::vector<BenchReading> bench_readings(const Design& d) {
  const Circuit& c = circuit_of(d);
  const Element &first = *c.section(0), *second = c.section(1), *ahead = c.section(kFirstStage);
  const bool biased = has_role(c, Role::bias), tail = has_role(c, Role::tail);
  Gathered g(d);
  g.add("supply_v", c.supply);
  g.add("plate_1_v", first.a);
  if (second) g.add("plate_2_v", second->a);
  g.add("cathode_v", first.c);
  if (biased) g.add("leak_node_v", c.leak_foot);
  g.add("grid_v", first.b);
  if (biased) g.add("bias_v", first.c, c.leak_foot);
  if (tail) g.add("tail_v", c.tail_top, c.tail_foot);
  if (second) g.add("plate_difference_v", first.a, second->a);
  g.add("across_plate_1_v", c.supply, first.a);
  if (second) g.add("across_plate_2_v", c.supply, second->a);
  if (ahead) g.add("first_plate_v", ahead->a);
  if (ahead) g.add("first_cathode_v", ahead->c);
  if (ahead && ahead->screen != kNoNode) g.add("first_screen_v", ahead->screen);
  if (const Element* upper = c.section(kGainSecond)) {
    if (upper->a != c.first_supply) g.add("first_second_plate_v", upper->a);
    if (upper->c != ahead->a) g.add("first_second_cathode_v", upper->c);
    if (upper->b != ahead->a) g.add("first_second_grid_v", "first stage: second grid", upper->b);
  }
  for (int i = 0; i < 2; ++i)
    if (const Element* driver = c.section(kDriver + i)) {
      const bool pair = d.driver.form == DriverForm::long_tailed_pair;
      if (i == 0 || !pair) g.add(i == 0 ? "driver_1_cathode_v" : "driver_2_cathode_v", driver->c);
      if (pair) g.add(i == 0 ? "driver_1_plate_v" : "driver_2_plate_v", driver->a);
      g.add(i == 0 ? "driver_1_grid_v" : "driver_2_grid_v", i == 0 ? "driver 1: grid" : "driver 2: grid",
            driver->b);
    }
  if (second) g.add("grid_2_v", "grid 2", second->b);
  for (int i = 0; i < c.outputs; ++i)
    g.add(i == 0 ? "output_1_dc_v" : "output_2_dc_v",
          i == 0 ? "output 1, behind its capacitor" : "output 2, behind its capacitor",
          c.output[static_cast<std::size_t>(i)].node);
  if (ahead) g.add("first_grid_v", "first stage: grid", ahead->b);
  if (ahead) g.add("first_supply_v", "first stage: supply", c.first_supply);
  if (d.main_supply_v > 0) g.add("main_supply_v", "main supply", c.main_supply);
  for (const Element& e : c)
    if (e.role == Role::rail) g.add("rail_v", "negative rail", e.a);
  return g.take();
}

BenchReading signal_reading(const Design& d, int output, double hz, double input_v, double load_ohm) {
  BenchReading r{output == 0 ? "output_1_signal_v_rms" : "output_2_signal_v_rms",
                 output == 0 ? "output 1, signal" : "output 2, signal"};
  r.a = circuit_of(d).output[static_cast<std::size_t>(output)].node;
  r.kind = BenchReading::Kind::signal;
  r.hz = hz;
  r.input_v = input_v;
  r.load_ohm = load_ohm;
  return r;
}

BenchReading mains_reading(bool heater, double nominal_v) {
  BenchReading r{heater ? "heater_v" : "mains_v", heater ? "heater" : "mains"};
  r.kind = BenchReading::Kind::mains;
  r.nominal_v = nominal_v;
  return r;
}

double off_beside_meter(const BenchReading& r) {
  if (r.kind == BenchReading::Kind::direct) return 0;
  if (r.kind == BenchReading::Kind::signal) return kSignalOff;
  return r.name == "heater_v" ? kHeaterOff : kMainsOff;
}

int place_of_reading(const std::vector<BenchReading>& list, std::string_view name) {
  const auto it = std::find_if(list.begin(), list.end(),
                               [&](const BenchReading& r) { return r.name == name || r.also_name == name; });
  return it == list.end() ? -1 : static_cast<int>(it - list.begin());
}

}  // namespace antiphase
