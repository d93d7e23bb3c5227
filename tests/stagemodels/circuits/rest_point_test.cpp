// The rest point of any list of elements: Kirchhoff's sums at every node, the same volts as the circuits' own
// solvers, and closed answers where parts are altered.
#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/coefficients.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <deque>
#include <string>
#include <vector>

#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/evaluate.h"
#include "tests/support/random_stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

double at(const NodeVolts& v, Node n) {
  return v[static_cast<std::size_t>(n)];
}

int place_of(const Circuit& c, std::string_view name) {
  for (int k = 0; k < c.elements; ++k)
    if (c.element[static_cast<std::size_t>(k)].name == name) return k;
  FAIL(std::string(name));
  return -1;
}

/// Stages of every circuit and form; every third without grid current of any kind.
class AnyStages {
 public:
  explicit AnyStages(std::uint64_t seed) : stages_(seed), dice_{std::mt19937_64(seed + 1)} {}

  Design draw() {
    Design d = stages_.draw();
    d.circuit = circuits()[static_cast<std::size_t>(dice_.below(kCircuitKinds))].kind;
    if (has_first_stage(d)) put_stage_ahead(d);
    if (dice_.below(3) == 0) {
      for (const Tube*& t : d.tube) t = without_diode(t);
      if (d.first_stage.tube) d.first_stage.tube = without_diode(d.first_stage.tube);
    }
    if (dice_.below(4) == 0) d.tail.output_ohm = 1e9;
    return d;
  }

 private:
  /// The form as it is drawn if the circuit has it, otherwise one that it has; a circuit without any ignores it.
  template <class AnyForm>
  AnyForm one_of(std::span<const AnyForm> has, AnyForm drawn) {
    if (has.empty()) return AnyForm{};
    if (std::find(has.begin(), has.end(), drawn) != has.end()) return drawn;
    return has[static_cast<std::size_t>(dice_.below(static_cast<int>(has.size())))];
  }
  void put_stage_ahead(Design& d) {
    FirstStage& f = d.first_stage;
    f.tube = d.tube[0];
    f.plate_ohm = dice_.log_between(47e3, 220e3);
    const double supply = d.main_supply_v > 0 ? d.main_supply_v : d.supply_v;
    // directly coupled, its plate stands where the pair's grids have to
    const double share = d.bias.form == BiasForm::direct_coupled ? dice_.between(0.6, 0.8) : 0.4;
    f.cathode_ohm = dice_.between(1, 3) / (share * supply / f.plate_ohm);
    f.cathode_unbypassed_ohm = dice_.below(3) * 0.5 * f.cathode_ohm;
    f.grid_leak_ohm = dice_.log_between(220e3, 2.2e6);
    if (d.main_supply_v > 0) d.dropping_ohm *= 0.7;
    d.feedback.given = dice_.below(2) == 0;
    d.feedback.resistor_ohm = 4.7e3;
  }
  const Tube* without_diode(const Tube* tube) {
    bare_.push_back(*tube);
    bare_.back().grid_diode = {};
    return &bare_.back();
  }

  RandomStages stages_;
  RandomNumbers dice_;
  std::deque<Tube> bare_;
};

/// Both settle to nanovolts. Where the source has no resistance the circuits' own solver gives it a little,
/// if the surroundings are real.
double allowed_v(const Design& d, const OperatingPoint& o) {
  constexpr double kSettled_v = 1e-7;
  if (d.source_ohm > 0 || surroundings_of(d) == Surroundings::ideal) return kSettled_v;
  constexpr double kGain = 100;  // from the grid to a plate, of any tube here
  return kSettled_v +
         2 * kGain * kLeastSource_ohm * std::max({0.0, o.grid_current_a[0], o.first.grid_current_a});
}

struct Seen {
  int drawn = 0;
  std::array<int, kCircuitKinds> circuits{};
  std::array<int, 3> bias{};
  std::array<int, 2> tail{};
};

}  // namespace

TEST_CASE("the rest point of every circuit and form is the one that its own solver finds") {
  AnyStages stages(20261130);
  Seen seen;
  for (int n = 0; n < 3000; ++n) {
    const Design d = stages.draw();
    const Circuit& c = circuit_of(d);
    CAPTURE(n);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    if (e.operating_point.solved != Solved::yes) continue;
    ++seen.drawn;
    ++seen.circuits[static_cast<std::size_t>(d.circuit)];
    ++seen.bias[static_cast<std::size_t>(d.bias.form)];
    ++seen.tail[static_cast<std::size_t>(d.tail.form)];
    NodeVolts v;
    REQUIRE(solve_rest_point(c, d, {}, v));
    const OperatingPoint& o = e.operating_point;
    const double allowed = allowed_v(d, o);
    CHECK(within(at(v, c.supply), o.supply_v, allowed));
    CHECK(within(at(v, c.tail_top) - at(v, c.tail_foot), o.tail_v, allowed));
    for (const Element& t : c) {
      if (t.kind != ElementKind::triode) continue;
      const bool ahead = t.section == 2;
      const auto s = static_cast<std::size_t>(ahead ? 0 : t.section);
      CHECK(within(at(v, t.a), ahead ? o.first.plate_v : o.plate_v[s], allowed));
      CHECK(within(at(v, t.b), ahead ? o.first.grid_v : o.grid_v[s], allowed));
      CHECK(within(at(v, t.c), ahead ? o.first.cathode_v : o.cathode_v, allowed));
    }
  }
  CHECK(seen.drawn >= 2850);
  for (const int count : seen.circuits) CHECK(count > 200);
  for (const int count : seen.bias) CHECK(count > 200);
  for (const int count : seen.tail) CHECK(count > 200);
}

TEST_CASE("no current is left over at any node that nothing holds, whatever is altered") {
  AnyStages stages(7);
  RandomNumbers random{std::mt19937_64(8)};
  int solved = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = stages.draw();
    const Circuit& c = circuit_of(d);
    std::vector<int> choice;
    for (int k = 0; k < c.elements; ++k) {
      const Element& e = c.element[static_cast<std::size_t>(k)];
      const bool part = e.role != Role::source && e.role != Role::feedback && e.role != Role::load;
      const bool alterable = e.kind == ElementKind::resistor || e.kind == ElementKind::capacitor ||
                             e.kind == ElementKind::triode;
      // A sink that finds no current has no rest point to speak of.
      const bool starves =
          d.tail.form == TailForm::constant_current && (e.role == Role::dropping || e.role == Role::bias);
      if (part && alterable && !starves && e.stands(d)) choice.push_back(k);
    }
    const int k = choice[static_cast<std::size_t>(random.below(static_cast<int>(choice.size())))];
    using What = Alteration::What;
    const Element& e = c.element[static_cast<std::size_t>(k)];
    const What what = e.kind == ElementKind::triode      ? What::dead
                      : e.kind == ElementKind::capacitor ? (random.below(2) ? What::leaks : What::shorted)
                                                         : What::open;
    const std::array altered{Alteration{k, what, 1}};
    CAPTURE(n);
    CAPTURE(std::string(e.name));
    NodeVolts v;
    REQUIRE(solve_rest_point(c, d, altered, v));
    ++solved;
    const NodeVolts out = currents_out_of_nodes(c, d, altered, v);
    std::array<bool, Circuit::kMostNodes> held{true};
    for (const Element& h : c)
      if (h.kind == ElementKind::held || h.kind == ElementKind::driven)
        held[static_cast<std::size_t>(h.a)] = true;
    // What wires join counts as one node, and the held one of them gives what is missing.
    for (bool more = true; more;) {
      more = false;
      for (const Element& w : c)
        if (w.b != kNoNode && w.joins(d) &&
            held[static_cast<std::size_t>(w.a)] != held[static_cast<std::size_t>(w.b)])
          held[static_cast<std::size_t>(w.a)] = held[static_cast<std::size_t>(w.b)] = more = true;
    }
    // A nanovolt across the least resistance that is no short; a short of a milliohm passes rounding of
    // 500 V, 1e-13 V, as 1e-10 A.
    for (int node = 0; node < c.nodes; ++node)
      if (!held[static_cast<std::size_t>(node)])
        CHECK_MESSAGE(within(out[static_cast<std::size_t>(node)], 0, 1e-9),
                      std::string(c.node_name[static_cast<std::size_t>(node)]));
  }
  CHECK(solved == 300);
}

TEST_CASE("altered parts stand where Ohm's law puts them") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.input_coupling_f = 100e-9;
  const Circuit& c = circuit_of(d);
  using What = Alteration::What;
  const int section_1 = place_of(c, "section_1"), section_2 = place_of(c, "section_2");
  const std::array none_conducts{Alteration{section_1, What::dead, 1}, Alteration{section_2, What::dead, 1}};
  NodeVolts v;
  REQUIRE(solve_rest_point(c, d, none_conducts, v));
  const Node plate = c.section(0)->a, grid_2 = c.section(1)->b;
  CHECK(within(at(v, plate), 320, 1e-9));
  CHECK(within(at(v, grid_2), 0, 1e-9));

  // A leak of 10 megohms and the load divide what the plate has; the plate resistor counts too.
  const std::array leaks{none_conducts[0], none_conducts[1],
                         Alteration{place_of(c, "output_capacitor_1"), What::leaks, 1}};
  REQUIRE(solve_rest_point(c, d, leaks, v));
  CHECK(within_ratio(at(v, c.output[0].node), 320 * 220e3 / (150e3 + kLeakage_ohm + 220e3), 1e-12));

  // So does a meter of 10 megohms at the plate.
  const Meter meter{plate, 10e6};
  REQUIRE(solve_rest_point(c, d, none_conducts, v, &meter));
  CHECK(within_ratio(at(v, plate), 320 * 10e6 / (150e3 + 10e6), 1e-12));

  // A supply that is set, and a resistor that is scaled.
  const std::array changed{none_conducts[0], none_conducts[1],
                           Alteration{place_of(c, "supply"), What::set, 200},
                           Alteration{place_of(c, "plate_resistor_1"), What::scaled, 2}};
  REQUIRE(solve_rest_point(c, d, changed, v, &meter));
  CHECK(within_ratio(at(v, plate), 200 * 10e6 / (300e3 + 10e6), 1e-12));

  // Open, a plate resistor leaves its insulation; gone, nothing holds the plate but the meter.
  const std::array open{none_conducts[0], none_conducts[1],
                        Alteration{place_of(c, "plate_resistor_1"), What::open, 1}};
  REQUIRE(solve_rest_point(c, d, open, v, &meter));
  CHECK(within_ratio(at(v, plate), 320 * 10e6 / (kInsulation_ohm + 10e6), 1e-12));
  const std::array gone{none_conducts[0], none_conducts[1],
                        Alteration{place_of(c, "plate_resistor_1"), What::gone, 1}};
  REQUIRE(solve_rest_point(c, d, gone, v, &meter));
  CHECK(within(at(v, plate), 0, 1e-12));
}

TEST_CASE("a scaled part is a design with that part") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube), larger = d;
  larger.tail.ohm *= 1.1;
  const std::array scaled{Alteration{place_of(circuit_of(d), "tail"), Alteration::What::scaled, 1.1}};
  NodeVolts v, w;
  REQUIRE(solve_rest_point(circuit_of(d), d, scaled, v));
  REQUIRE(solve_rest_point(circuit_of(larger), larger, {}, w));
  for (std::size_t n = 0; n < v.size(); ++n) CHECK(within(v[n], w[n], 1e-9));
  CHECK_FALSE(within(at(v, circuit_of(d).section(0)->c), 0, 1));
}
