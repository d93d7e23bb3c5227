// Which way a stage at rest goes with its parts: what is proved from the lists of elements, against what is
// derived by hand, against differences of solved designs, and for a circuit that the catalogue does not have.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "objectives/rest_ways.h"
#include "stagemodels/circuits/blocks.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

struct Named {
  const char* name;
  QuantityWays StageWays::*ways;
  double (*value)(const OperatingPoint&);
};
constexpr std::array kQuantities{
    Named{"cathode", &StageWays::cathode_v, [](const OperatingPoint& o) { return o.cathode_v; }},
    Named{"grid 1 to cathode", &StageWays::grid_to_cathode_v,
          [](const OperatingPoint& o) { return o.grid_to_cathode_v[0]; }},
    Named{"leak node", &StageWays::leak_node_v, [](const OperatingPoint& o) { return o.leak_node_v; }},
    Named{"leak node to cathode", &StageWays::leak_node_to_cathode_v,
          [](const OperatingPoint& o) { return o.leak_node_v - o.cathode_v; }},
    Named{"tail", &StageWays::tail_v, [](const OperatingPoint& o) { return o.tail_v; }},
    Named{"plate 1", &StageWays::plate_v, [](const OperatingPoint& o) { return o.plate_v[0]; }},
    Named{"current", &StageWays::stage_a, [](const OperatingPoint& o) { return 1e3 * o.tail_current_a; }},
};

Way way_with(const QuantityWays& ways, std::string_view pointer) {
  for (const MemberWay& m : ways)
    if (m.member->pointer == pointer) return m.way;
  return Way::stays;
}

/// All circuits of one stage in all their forms.
void for_each_form(const std::function<void(const Design&, const std::string&)>& use) {
  for (const CircuitEntry& entry : circuits()) {
    if (entry.apart) continue;
    const std::vector<BiasForm> bias = entry.bias_forms.empty()
                                           ? std::vector{BiasForm::self_biased}
                                           : std::vector(entry.bias_forms.begin(), entry.bias_forms.end());
    const std::vector<TailForm> tail = entry.tail_forms.empty()
                                           ? std::vector{TailForm::resistor}
                                           : std::vector(entry.tail_forms.begin(), entry.tail_forms.end());
    for (const BiasForm b : bias)
      for (const TailForm t : tail) {
        Design d;
        d.circuit = entry.kind;
        d.bias.form = b;
        d.tail.form = t;
        use(d, std::string(entry.name) + ", " + std::string(name_of(b)) + ", " + std::string(name_of(t)));
      }
  }
}

/// Numbers for the form, some so that grids conduct.
Design drawn(RandomNumbers& random, const Design& form) {
  const std::array names{"6SN7GT", "12AU7", "12AT7", "12AX7"};
  Design d = form;
  const Tube* tube = shipped().find(names[static_cast<std::size_t>(random.below(4))]);
  d.tube = {tube, tube};
  d.supply_v = random.between(150, 380);
  if (random.below(2)) {
    d.main_supply_v = d.supply_v;
    d.dropping_ohm = random.log_between(1e3, 15e3);
  }
  d.plate_ohm = {random.log_between(20e3, 200e3), random.log_between(20e3, 200e3)};
  d.bias.ohm = random.log_between(100, 5e3);
  d.bias.grid_v = random.between(20, 90);
  d.bias.rail_v = d.bias.form == BiasForm::negative_rail ? -random.between(60, 200) : 0;
  d.tail.ohm = random.log_between(200, 100e3);
  d.tail.current_a = random.log_between(0.3e-3, 4e-3);
  d.cathode_ohm = random.log_between(150, 6e3);
  d.cathode_unbypassed_ohm = random.below(3) ? 0 : 100;
  d.grid_leak_ohm = random.log_between(220e3, 2.2e6);
  d.divider_ohm = 390e3;
  d.balancing_ohm = 560e3;
  d.divider_foot_ohm = 47e3;
  d.load_ohm = 220e3;
  d.source_ohm = random.below(2) ? 10e3 : 0;
  d.swing_peak_v = 10;
  return d;
}

/// How often a quantity was seen to rise and to fall with a member.
struct Seen {
  int risen = 0, fallen = 0;
  bool contradicts(Way w) const {
    return (w != Way::rises && w != Way::unknown && risen > 0) ||
           (w != Way::falls && w != Way::unknown && fallen > 0);
  }
};

/// By differences, each member a twentieth larger. Of what a rest point is solved to (10 uV a step, and that
/// squared per volt of what is left, so below a nanovolt) a thousandfold is asked before a difference counts.
std::map<std::pair<std::string, std::string>, Seen> seen_in(const Design& form, int designs,
                                                            RandomNumbers& random) {
  constexpr double kCounts = 1e-6, kStep = 0.05;
  std::map<std::pair<std::string, std::string>, Seen> seen;
  for (int n = 0; n < designs; ++n) {
    const Design d = drawn(random, form);
    Evaluation at, moved;
    evaluate(d, Depth::rest, at);
    if (at.operating_point.solved != Solved::yes) continue;
    for (const DesignField& field : design_fields()) {
      if (!field.applies(d) || field.role == FieldRole::demand || field.role == FieldRole::capacitor)
        continue;
      if (field.pointer == "/main_supply_v" && !(d.main_supply_v > 0)) continue;
      Design other = d;
      field.at(other) += kStep * std::fabs(field.value(d));
      evaluate(other, Depth::rest, moved);
      if (moved.operating_point.solved != Solved::yes) continue;
      for (const Named& q : kQuantities) {
        const double change = q.value(moved.operating_point) - q.value(at.operating_point);
        Seen& s = seen[{q.name, std::string(field.pointer)}];
        s.risen += change > kCounts;
        s.fallen += change < -kCounts;
      }
    }
  }
  return seen;
}

/// A splitter of one section that the catalogue need not have: outputs at plate and cathode.
Circuit split_load(bool direct) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c),
             grid = direct ? block::source(c, &member::bias_grid_v) : block::coupled_source(c);
  const Node p = c.node("P1"), k = c.node("K"), top = direct ? k : c.node("TOP");
  c.triode("section_1", "section 1", p, grid, k, 0);
  c.resistor(Role::plate_load, "plate_resistor", "plate resistor", supply, p, member::plate_ohm_0);
  if (!direct) c.resistor(Role::bias, "bias_resistor", "bias resistor", k, top, member::bias_ohm);
  c.resistor(Role::cathode_load, "cathode_load", "cathode load", top, kGround, member::cathode_ohm);
  if (!direct) c.resistor(Role::grid_leak, "grid_leak_1", "grid leak", grid, top, member::grid_leak_ohm);
  c.leak_foot = direct ? grid : top;
  c.tail_top = top;
  block::output(c, {}, 0, p, -1);
  return c;
}

}  // namespace

TEST_CASE("what is proved of the pair and the gain stage is what is derived by hand") {
  // stagemodels/README.md, "Bounds over a block of parts": larger resistors anywhere mean less current, more
  // supply more of it; the cathode's voltage goes with the sections' curves and against the tail's; the grid
  // against the cathode goes against the cathode, or with bias by an own resistor against the current.
  // Columns: supply, dropping, plate 1, plate 2, bias, grid, rail, tail, sink, cathode resistor.
  constexpr std::array kMembers{"/supply_v",       "/dropping_ohm", "/plate_ohm/0", "/plate_ohm/1",
                                "/bias/ohm",       "/bias/grid_v",  "/bias/rail_v", "/tail/ohm",
                                "/tail/current_a", "/cathode_ohm"};
  using Row = std::array<int, kMembers.size()>;
  const Row current{+1, -1, -1, -1, -1, +1, -1, -1, +1, -1}, cathode{+1, -1, -1, -1, +1, +1, +1, +1, -1, +1},
      plate{+1, -1, -1, 0, 0, 0, 0, 0, 0, +1}, tail{+1, -1, -1, -1, -1, +1, -1, +1, -1, +1};
  int proved = 0;
  for_each_form([&](const Design& form, const std::string& name) {
    const CircuitKind kind = form.circuit;
    if (kind != CircuitKind::long_tailed_pair && kind != CircuitKind::common_cathode) return;
    CAPTURE(name);
    const bool pair = kind == CircuitKind::long_tailed_pair;
    const bool own = pair && form.bias.form == BiasForm::self_biased;
    const Row grid{-1, +1, +1, +1, -1, +1, -1, own ? +1 : -1, own ? -1 : +1, -1};
    const StageWays& ways = stage_ways(form);
    const auto same = [&](const QuantityWays& got, const Row& want, const char* quantity) {
      CAPTURE(quantity);
      CHECK(got.with_supply == static_cast<Way>(want[0]));
      for (std::size_t i = 0; i < kMembers.size(); ++i) {
        if (!find_design_field(kMembers[i])->applies(form)) continue;
        CAPTURE(kMembers[i]);
        // the one that may go either way: the cathode, with the resistor between it and the leak node
        const bool either = own && std::string_view(kMembers[i]) == "/bias/ohm" && &got == &ways.cathode_v;
        CHECK(way_with(got, kMembers[i]) == (either ? Way::unknown : static_cast<Way>(want[i])));
        proved += !either;
      }
    };
    same(ways.stage_a, current, "current");
    same(ways.cathode_v, cathode, "cathode");
    same(ways.grid_to_cathode_v, grid, "grid to cathode");
    same(ways.tail_v, tail, "tail");
    if (!pair) same(ways.plate_v, plate, "plate");
  });
  CHECK(proved > 100);
}

TEST_CASE("no proved way is contradicted by differences of solved designs, and a planted one is") {
  RandomNumbers random{std::mt19937_64(21)};
  for_each_form([&](const Design& form, const std::string& name) {
    CAPTURE(name);
    const auto seen = seen_in(form, 1000, random);
    const StageWays& ways = stage_ways(form);
    int told = 0, planted = 0;
    for (const auto& [key, s] : seen) {
      const auto& [quantity, pointer] = key;
      const auto q = std::find_if(kQuantities.begin(), kQuantities.end(),
                                  [&](const Named& k) { return k.name == key.first; });
      // where the grids hang on a source, its own resistance is not in what the rest point calls leak node
      if (!ways.leaks_inside && quantity.starts_with("leak node")) continue;
      const Way w = way_with(ways.*q->ways, pointer);
      const std::string what = quantity + " with " + pointer + ": " + std::to_string(s.risen) + " risen, " +
                               std::to_string(s.fallen) + " fallen";
      CAPTURE(what);
      CHECK_FALSE(s.contradicts(w));
      if (w == Way::unknown || s.risen + s.fallen == 0) continue;
      ++told;
      planted += s.contradicts(opposite(w)) && s.contradicts(Way::stays);
    }
    MESSAGE(name, ": ", told, " proved ways seen");
    CHECK(told > 20);
    CHECK(planted == told);
    // What is not proved of the pair's cathode does go both ways: it rises with the bias resistor where the
    // tail is no larger than the plates' share of it, (rp + R) / mu, and falls with a usual one.
    if (form.circuit == CircuitKind::long_tailed_pair && form.bias.form == BiasForm::self_biased &&
        form.tail.form == TailForm::resistor) {
      CHECK(way_with(ways.cathode_v, "/bias/ohm") == Way::unknown);
      const Seen& s = seen.at({"cathode", "/bias/ohm"});
      CHECK(s.risen > 20);
      CHECK(s.fallen > 20);
    }
  });
}

TEST_CASE("a splitter of one section is bounded from its list alone") {
  // Its currents by bisection on its load line: what the section passes falls as its current raises the
  // cathode.
  const TriodeLaw law = kKoren12AU7;
  RandomNumbers random{std::mt19937_64(22)};
  for (const bool direct : {false, true}) {
    CAPTURE(direct);
    const Circuit list = split_load(direct);
    const StageWays ways = prove_stage_ways(list, {});
    struct At {
      double current_ma, cathode_v, plate_v, grid_to_cathode_v, leak_node_v;
    };
    const auto solve = [&](const Design& d) {
      const double below_ohm = d.cathode_ohm + (direct ? 0 : d.bias.ohm);
      const auto grid = [&](double a) { return direct ? d.bias.grid_v - a * below_ohm : -a * d.bias.ohm; };
      double low = 0, high = d.supply_v / (d.plate_ohm[0] + below_ohm);
      for (int n = 0; n < 200; ++n) {
        const double a = 0.5 * (low + high);
        const double passes =
            currents_at(law, grid(a), d.supply_v - a * (d.plate_ohm[0] + below_ohm)).plate_a;
        (passes > a ? low : high) = a;
      }
      return At{1e3 * low, low * below_ohm, d.supply_v - low * d.plate_ohm[0], grid(low),
                direct ? d.bias.grid_v : low * d.cathode_ohm};
    };
    std::map<std::string, Seen> seen;
    constexpr std::array kMembers{"/supply_v", "/plate_ohm/0", "/bias/ohm", "/bias/grid_v", "/cathode_ohm"};
    for (int n = 0; n < 1000; ++n) {
      Design d;
      d.supply_v = random.between(150, 400);
      d.plate_ohm[0] = random.log_between(10e3, 100e3);
      d.cathode_ohm = random.log_between(1e3, 100e3);
      d.bias.ohm = random.log_between(300, 5e3);
      d.bias.grid_v = random.between(20, 120);
      const At at = solve(d);
      if (at.grid_to_cathode_v > -0.1) continue;  // no grid current in this reckoning
      for (const char* pointer : kMembers) {
        Design other = d;
        find_design_field(pointer)->at(other) *= 1.02;
        const At moved = solve(other);
        const auto note = [&](const char* quantity, double change) {
          Seen& s = seen[std::string(quantity) + pointer];
          s.risen += change > 1e-9;
          s.fallen += change < -1e-9;
        };
        note("current", moved.current_ma - at.current_ma);
        note("cathode", moved.cathode_v - at.cathode_v);
        note("plate", moved.plate_v - at.plate_v);
        note("grid", moved.grid_to_cathode_v - at.grid_to_cathode_v);
        note("leak node", moved.leak_node_v - at.leak_node_v);
      }
    }
    int told = 0, unknown = 0;
    for (const char* pointer : kMembers) {
      if (std::string_view(pointer) == (direct ? "/bias/ohm" : "/bias/grid_v")) continue;
      for (const auto& [quantity, w] :
           std::map<std::string, const QuantityWays*>{{"current", &ways.stage_a},
                                                      {"cathode", &ways.cathode_v},
                                                      {"plate", &ways.plate_v},
                                                      {"grid", &ways.grid_to_cathode_v},
                                                      {"leak node", &ways.leak_node_v}}) {
        const Seen& s = seen[quantity + pointer];
        const std::string what = quantity + pointer;
        CAPTURE(what);
        const Way way = way_with(*w, pointer);
        if (way == Way::unknown) {
          ++unknown;
          // The cathode does go both ways. The plate goes one way here, where grids draw nothing; a grid that
          // draws might lift the cathode by more than the plate's current grows.
          CHECK(what == (direct ? "plate/bias/grid_v" : "cathode/bias/ohm"));
          CHECK(s.fallen > 20);
          if (!direct) CHECK(s.risen > 20);
          continue;
        }
        ++told;
        CHECK_FALSE(s.contradicts(way));
        if (s.risen + s.fallen > 0) CHECK(s.contradicts(opposite(way)));
      }
    }
    CHECK(told + unknown == 20);
    CHECK(unknown == 1);
    CHECK(ways.leaks_inside == !direct);

    const Places places = find_places(list);
    CHECK(places.section[0].grid_on_plate == direct);
    CHECK((places.section[0].grid_leak == nullptr) == direct);
    CHECK(places.section[0].foot == nullptr);
    CHECK(places.section[1].triode == nullptr);
    CHECK(places.sink == nullptr);
  }
}

TEST_CASE("one member of two elements goes only where both lead") {
  // Plate and cathode load in one: less current and less negative a grid, while the cathode may go either
  // way.
  Circuit c = split_load(false);
  for (int i = 0; i < c.elements; ++i)
    if (c.element[static_cast<std::size_t>(i)].role == Role::cathode_load)
      c.element[static_cast<std::size_t>(i)].member = &member::plate_ohm_0;
  const StageWays ways = prove_stage_ways(c, {});
  CHECK(way_with(ways.stage_a, "/plate_ohm/0") == Way::falls);
  CHECK(way_with(ways.grid_to_cathode_v, "/plate_ohm/0") == Way::rises);
  CHECK(way_with(ways.cathode_v, "/plate_ohm/0") == Way::unknown);
}

TEST_CASE("a list of more elements than are looked through proves nothing") {
  Design chain;
  chain.circuit = CircuitKind::gain_and_splitter;
  const Directions directions(circuit_of(chain), chain);
  const Circuit& c = circuit_of(chain);
  const RestQuantity cathode{RestQuantity::voltage, c.section(0)->c, kGround};
  CHECK(directions.with(cathode, *find_design_field("/plate_ohm/0")) == Way::unknown);
  CHECK(directions.with_held(cathode, c.main_supply) == Way::unknown);
}
