// The table of limits: each one kept, broken, and absent where it is not published.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "objectives/limits/catalogue.h"
#include "objectives/limits/result.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Tube rated_tube() {
  Tube tube = tube_with(kKoren12AX7);
  TubeRatings& r = tube.ratings;
  r.plate_v_max = {300, "test"};
  r.plate_cold_v_max = {550, "test"};
  r.plate_w_max = {1, "test"};
  r.plates_total_w_max = {1.5, "test"};
  r.cathode_current_a_max = {8e-3, "test"};
  r.heater_cathode_v_max_cathode_positive = {180, "test"};
  r.heater_cathode_v_max_cathode_positive_dc = {100, "test"};
  r.heater_cathode_v_max_cathode_negative = {90, "test"};
  r.grid_leak_ohm_max_self_bias = {2e6, "test"};
  return tube;
}

Tube rated_pentode() {
  Tube tube = pentode_with(kSmallPentode);
  tube.pentode.screen_v_max = {200, "test"};
  tube.pentode.screen_cold_v_max = {550, "test"};
  tube.pentode.screen_w_max = {0.2, "test"};
  return tube;
}

/// Ahead of the pair.
void put_pentode(Design& d, const Tube& pentode) {
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.form = GainForm::pentode;
  d.first_stage.tube = &pentode;
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.screen_ohm = 390e3;
  d.first_stage.cathode_ohm = 1e3;
}

OutputValve valve_with_leaks() {
  OutputValve valve;
  valve.name = "test";
  valve.grid_leak_ohm_max_fixed_bias = {500e3, "test"};
  valve.grid_leak_ohm_max_self_bias = {700e3, "test"};
  return valve;
}

std::optional<LimitResult> result(const Design& d, const Tube& tube, std::string_view name, int section = 1,
                                  const DesignFactors& factors = {}) {
  Design with = d;
  with.tube = {&tube, &tube};
  Evaluation e;
  evaluate(with, Depth::full, e);
  for (const LimitResult& r : check_limits(with, e, factors))
    if (r.name == name && (r.section == section || r.section == 0)) return r;
  return std::nullopt;
}

}  // namespace

TEST_CASE("every limit of the table can be kept and can be broken") {
  const Tube good = rated_tube(), good_pentode = rated_pentode();
  Tube bad_pentode = good_pentode;
  const OutputValve valve = valve_with_leaks();
  Design d = pair_of(good);
  d.heater_v = 20;
  struct Case {
    std::string_view name;
    void (*spoil)(Design&, Tube&);
  };
  const Case cases[] = {
      {"cathode_above_heater_v",
       [](Design&, Tube& t) { t.ratings.heater_cathode_v_max_cathode_positive->value = 30; }},
      {"cathode_above_heater_dc_v", [](Design& x, Tube&) { x.heater_v = -60; }},
      {"cathode_below_heater_v", [](Design& x, Tube&) { x.heater_v = 200; }},
      {"plate_dissipation_w", [](Design&, Tube& t) { t.ratings.plate_w_max->value = 0.1; }},
      {"plates_total_dissipation_w", [](Design&, Tube& t) { t.ratings.plates_total_w_max->value = 0.15; }},
      {"plate_to_cathode_v", [](Design&, Tube& t) { t.ratings.plate_v_max->value = 150; }},
      {"plate_to_cathode_peak_v", [](Design&, Tube& t) { t.ratings.plate_cold_v_max->value = 200; }},
      {"plate_cold_v", [](Design&, Tube& t) { t.ratings.plate_cold_v_max->value = 310; }},
      {"screen_dissipation_w", [](Design&, Tube& t) { t.pentode.screen_w_max->value = 0.01; }},
      {"screen_to_cathode_v", [](Design&, Tube& t) { t.pentode.screen_v_max->value = 20; }},
      {"screen_cold_v", [](Design&, Tube& t) { t.pentode.screen_cold_v_max->value = 310; }},
      {"cathode_current_a", [](Design&, Tube& t) { t.ratings.cathode_current_a_max->value = 0.4e-3; }},
      {"grid_to_cathode_v", [](Design& x, Tube&) { x.bias.ohm = 100; }},
      {"grid_to_cathode_peak_v", [](Design& x, Tube&) { x.bias.ohm = 400; }},
      {"grid_cold_v", [](Design& x, Tube&) { x.bias.grid_clamp = false; }},
      {"grid_leak_ohm", [](Design& x, Tube&) { x.grid_leak_ohm = 5e6; }},
      {"load_leak_ohm", [](Design& x, Tube&) { x.load_ohm = 510e3; }},
      {"tail_voltage_v", [](Design& x, Tube&) { x.tail.compliance_v = 60; }},
      {"source_voltage_v", [](Design& x, Tube&) { x.first_stage.load_compliance_v = 300; }},
      {"plate_current_low_a", [](Design& x, Tube&) { x.load_ohm = 30e3; }},
      {"plate_current_rest_a", [](Design& x, Tube&) { x.tail.ohm = 2e6; }},
  };
  CHECK(std::size(cases) == limits().size());
  for (const Case& c : cases) {
    CAPTURE(c.name);
    REQUIRE(find_limit(c.name));
    Tube bad = good;
    Design spoiled = d;
    if (c.name == "tail_voltage_v") {
      spoiled.tail.form = TailForm::constant_current;
      spoiled.tail.compliance_v = 3;
    }
    if (c.name == "source_voltage_v") {
      spoiled.circuit = CircuitKind::gain_and_splitter;
      spoiled.first_stage.form = GainForm::constant_current;
      spoiled.first_stage.tube = &good;
      spoiled.first_stage.load_current_a = 0.5e-3;
      spoiled.first_stage.cathode_ohm = 2.2e3;
    }
    if (c.name == "cathode_below_heater_v") spoiled.heater_v = 100;
    if (c.name == "grid_cold_v") {
      spoiled = pair_of(good, BiasForm::direct_coupled);
      spoiled.bias.grid_clamp = true;
    }
    if (c.name == "load_leak_ohm") spoiled.output_valve = &valve;
    const bool of_screen = c.name.starts_with("screen");
    const int section = of_screen ? kFirstStageSection : 1;
    if (of_screen) put_pentode(spoiled, good_pentode);
    const auto before = result(spoiled, good, c.name, section);
    REQUIRE(before);
    CHECK(before->kept);
    CHECK(before->margin_pct > 0);
    c.spoil(spoiled, of_screen ? bad_pentode : bad);
    if (of_screen) spoiled.first_stage.tube = &bad_pentode;
    const auto after = result(spoiled, bad, c.name, section);
    REQUIRE(after);
    CHECK_FALSE(after->kept);
    CHECK(after->margin_pct < 0);
    CHECK_FALSE(after->remedy.empty());
    CHECK(after->remedy.back() == '.');
  }
}

TEST_CASE("the design factor scales the rating and is told") {
  const Tube tube = rated_tube();
  const Design d = pair_of(tube);
  DesignFactors factors;
  factors.plate_dissipation = 0.5;
  const auto r = result(d, tube, "plate_dissipation_w", 1, factors);
  REQUIRE(r);
  CHECK(within(r->limit, 0.5, 1e-12));
  CHECK(r->design_factor == 0.5);
  CHECK(within(r->margin_pct, 100 * (0.5 - r->value) / 0.5, 1e-9));
}

TEST_CASE("a supply that waits for the heaters sets no limit on cold plates and grids") {
  const Tube tube = rated_tube();
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.bias.grid_clamp = false;
  DesignFactors factors;
  CHECK(result(d, tube, "plate_cold_v", 1, factors));
  CHECK(result(d, tube, "grid_cold_v", 1, factors));
  factors.supply_waits = true;
  CHECK_FALSE(result(d, tube, "plate_cold_v", 1, factors));
  CHECK_FALSE(result(d, tube, "grid_cold_v", 1, factors));
}

TEST_CASE("a cold plate without a published rating is held to one and a half times the working one") {
  Tube tube = rated_tube();
  tube.ratings.plate_cold_v_max.reset();
  Design d = pair_of(tube);
  d.supply_v = 440;
  auto r = result(d, tube, "plate_cold_v");
  REQUIRE(r);
  CHECK(within(r->limit, 450, 1e-12));  // 1.5 * 300 V
  CHECK(within(r->value, 440, 1e-12));
  CHECK(r->kept);
  d.bias.form = BiasForm::negative_rail;  // then the cathode begins at the rail, 100 V below
  d.bias.rail_v = -100;
  r = result(d, tube, "plate_cold_v");
  REQUIRE(r);
  CHECK(within(r->value, 540, 1e-12));
  CHECK_FALSE(r->kept);
}

TEST_CASE("a section at eighteen microamperes breaks the limit on its rest current") {
  // The tail alone sets the current: some 60 V over 1.6 Mohm, shared by two sections.
  const Tube tube = rated_tube();
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.tail.ohm = 1.6e6;
  const auto r = result(d, tube, "plate_current_rest_a");
  REQUIRE(r);
  CHECK(within(r->value, 18e-6, 0.2));
  CHECK(within(r->limit, 0.1e-3, 1e-12));
  CHECK_FALSE(r->kept);
  DesignFactors little;
  little.least_plate_current_a = 10e-6;
  CHECK(result(d, tube, "plate_current_rest_a", 1, little)->kept);
}

TEST_CASE("what is taken as given keeps its row and turns nothing away") {
  const Tube tube = rated_tube();
  Design d = pair_of(tube);
  d.grid_leak_ohm = 5e6;
  DesignFactors factors;
  CHECK_FALSE(result(d, tube, "grid_leak_ohm", 1, factors)->kept);
  take_as_given(*find_limit("grid_leak_ohm"), factors);
  const auto r = result(d, tube, "grid_leak_ohm", 1, factors);
  REQUIRE(r);
  CHECK(r->kept);
  CHECK(r->outside_as_given);
  CHECK(within(r->value, 5e6, 1e-12));
  CHECK(excess(*r) == 0);
  d.grid_leak_ohm = 1e6;  // within: nothing is said of it
  CHECK_FALSE(result(d, tube, "grid_leak_ohm", 1, factors)->outside_as_given);
}

TEST_CASE("a rating that is not published sets no limit") {
  const Tube bare = tube_with(kKoren12AX7);
  const Design d = pair_of(bare);
  for (std::string_view name :
       {"plate_dissipation_w", "plate_cold_v", "cathode_above_heater_v", "grid_leak_ohm"})
    CHECK_FALSE(result(d, bare, name));
  CHECK(result(d, bare, "grid_to_cathode_v"));  // conduction is known for every tube
}

TEST_CASE("heater stress changes sides with the elevation") {
  const Tube tube = rated_tube();
  Design d = pair_of(tube);
  d.heater_v = 0;
  CHECK(result(d, tube, "cathode_above_heater_v"));
  CHECK_FALSE(result(d, tube, "cathode_below_heater_v"));
  d.heater_v = 120;
  CHECK(result(d, tube, "cathode_below_heater_v"));
  CHECK_FALSE(result(d, tube, "cathode_above_heater_dc_v"));
  const auto r = result(d, tube, "cathode_below_heater_v");
  Design with = d;
  with.tube = {&tube, &tube};
  Evaluation e;
  evaluate(with, Depth::full, e);
  CHECK(within(r->value, 120 - e.at_target.cathode_low_v, 1e-9));
}

TEST_CASE("the violation is the sum of what is overrun, in shares") {
  Tube tube = rated_tube();
  tube.ratings.plate_w_max->value = 1e-3;  // 0.9 mW allowed
  tube.ratings.plates_total_w_max.reset();
  const Design d = pair_of(tube);
  Evaluation e;
  evaluate(d, Depth::full, e);
  double expected = 0;
  for (const LimitResult& r : check_limits(d, e, {}))
    if (!r.kept) expected += (r.value - r.limit) / std::abs(r.limit);
  CHECK(expected > 0);
  CHECK(within_ratio(total_violation(d, e, {}), expected, 1e-12));
}

TEST_CASE("before warm-up a directly coupled grid stands at the whole supply against a cathode at ground") {
  Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  // no rating: common practice, 50 V; 320 V is 5.4 times 50 V beyond it
  auto r = result(d, tube, "grid_cold_v", 2);
  REQUIRE(r);
  CHECK(r->value == 320.0);
  CHECK(r->limit == 50.0);
  CHECK_FALSE(r->kept);
  CHECK(within(r->margin_pct, -540, 1e-9));
  CHECK(r->remedy.find("silicon diode") != std::string_view::npos);
  tube.ratings.grid_v_negative_max = {100, "test"};
  CHECK(result(d, tube, "grid_cold_v")->limit == 100.0);
  d.bias.grid_clamp = true;  // a diode drop is left
  r = result(d, tube, "grid_cold_v");
  CHECK(r->value == 0.7);
  CHECK(r->kept);
  d.bias.grid_clamp = false;
  d.main_supply_v = 450;  // nothing is dropped while no current flows
  d.dropping_ohm = 10e3;
  CHECK(result(d, tube, "grid_cold_v")->value == 450.0);
  for (const BiasForm form : {BiasForm::self_biased, BiasForm::negative_rail})
    CHECK_FALSE(result(pair_of(tube, form), tube, "grid_cold_v"));
}

TEST_CASE("the cold plate stands at the main supply, and at the foot of a rail below it") {
  Tube tube = tube_with(kKoren12AX7);
  tube.ratings.plate_cold_v_max = {500, "test"};
  Design d = pair_of(tube, BiasForm::negative_rail);
  CHECK(result(d, tube, "plate_cold_v")->value == 420.0);  // 320 V and 100 V below ground
  d.main_supply_v = 390;
  d.dropping_ohm = 10e3;
  CHECK(result(d, tube, "plate_cold_v")->value == 490.0);
}

TEST_CASE("an output valve's leak is held against its fixed-bias limit, where its card has one") {
  const Tube tube = tube_with(kKoren12AX7);
  OutputValve valve = valve_with_leaks();
  Design d = pair_of(tube);
  CHECK_FALSE(result(d, tube, "load_leak_ohm"));
  d.output_valve = &valve;
  auto r = result(d, tube, "load_leak_ohm");
  REQUIRE(r);
  CHECK(r->value == 220e3);
  CHECK(r->limit == 500e3);
  CHECK(within(r->margin_pct, 56, 1e-9));
  CHECK(r->section == 0);
  d.output_valve_bias = OutputBias::cathode;
  CHECK(result(d, tube, "load_leak_ohm")->limit == 700e3);
  d.output_valve_bias = OutputBias::fixed;
  valve.grid_leak_ohm_max_fixed_bias.reset();
  CHECK(result(d, tube, "load_leak_ohm")->limit == 700e3);
  valve.grid_leak_ohm_max_self_bias.reset();
  CHECK_FALSE(result(d, tube, "load_leak_ohm"));
  d.output_valve_bias = OutputBias::cathode;
  valve.grid_leak_ohm_max_fixed_bias = Sourced{500e3, "test"};  // nothing says that a larger one is allowed
  CHECK(result(d, tube, "load_leak_ohm")->limit == 500e3);
}

// Expectation: the leaks that the Philips EL84 data sheet (1953 to 1957) allows, 0.3 Mohm with a fixed bias
// and 1 Mohm with cathode bias, and that of the 300B with the values of its card.
TEST_CASE("a leak of 470 kohm is too much for an EL84 with a fixed bias, and not with cathode bias") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.output_valve = testing::shipped().find_output_valve("EL84");
  REQUIRE(d.output_valve);
  d.load_ohm = 470e3;
  const auto fixed = result(d, tube, "load_leak_ohm");
  REQUIRE(fixed);
  CHECK(fixed->limit == 300e3);
  CHECK_FALSE(fixed->kept);
  CHECK(fixed->remedy.find("\"bias\": \"cathode\"") != std::string::npos);
  d.output_valve_bias = OutputBias::cathode;
  const auto cathode = result(d, tube, "load_leak_ohm");
  REQUIRE(cathode);
  CHECK(cathode->limit == 1e6);
  CHECK(cathode->kept);
  d.output_valve = testing::shipped().find_output_valve("300B");
  CHECK_FALSE(result(d, tube, "load_leak_ohm")->kept);  // 250 kohm
  d.load_ohm = 220e3;
  CHECK(result(d, tube, "load_leak_ohm")->kept);
  d.output_valve_bias = OutputBias::fixed;
  CHECK_FALSE(result(d, tube, "load_leak_ohm")->kept);  // 50 kohm
}

TEST_CASE("a sink's limit is the least voltage of rest and cycle, against its compliance") {
  const Tube tube = rated_tube();
  Design d = pair_of(tube, BiasForm::self_biased, TailForm::constant_current);
  d.tube = {&tube, &tube};
  Evaluation e;
  evaluate(d, Depth::full, e);
  REQUIRE(e.at_target.solved == Solved::yes);
  double least = e.operating_point.tail_v;
  for (int k = 0; k < e.waveforms.instants; ++k)
    least = std::min(least, e.waveforms.tail_v[static_cast<std::size_t>(k)]);
  const auto r = result(d, tube, "tail_voltage_v");
  REQUIRE(r);
  CHECK(within(r->value, least, 1e-9));
  CHECK(r->limit == d.tail.compliance_v);
  CHECK(r->at_least);
  CHECK(find_limit("tail_voltage_v")->description.find("compliance_v") != std::string_view::npos);
}

TEST_CASE("the first stage of a chain is held against the same limits, as the gain stage that it is") {
  const Tube pair = rated_tube();
  Tube first = rated_tube();
  first.ratings.plate_w_max = {0.1, "test"};
  Design d = pair_of(pair);
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.tube = &first;
  d.first_stage.plate_ohm = 47e3;
  d.first_stage.cathode_ohm = 680;
  d.swing_peak_v = 10;
  Design alone;
  alone.circuit = CircuitKind::common_cathode;
  alone.tube = {&first, &first};
  alone.supply_v = d.supply_v;
  alone.plate_ohm[0] = d.first_stage.plate_ohm;
  alone.cathode_ohm = d.first_stage.cathode_ohm;
  alone.load_ohm = 1e6;
  Evaluation e, a;
  evaluate(d, Depth::rest, e);
  evaluate(alone, Depth::rest, a);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const auto all = check_limits(d, e, {}), of_alone = check_limits(alone, a, {});
  int compared = 0;
  for (const LimitResult& want : of_alone) {
    const auto it = std::find_if(all.begin(), all.end(), [&](const LimitResult& r) {
      return r.name == want.name && r.section == kFirstStageSection;
    });
    CAPTURE(want.name);
    REQUIRE(it != all.end());
    CHECK(within_ratio(it->value, want.value, 1e-6));
    CHECK(it->limit == want.limit);
    CHECK(it->kept == want.kept);
    ++compared;
  }
  CHECK(compared > 5);
  CHECK(total_violation(d, e, {}) > 0);  // a tenth of a watt is not enough
  CHECK_FALSE(kept_so_far(d, e, {}, Depth::rest));
  first.ratings.plate_w_max = {1, "test"};
  CHECK(kept_so_far(d, e, {}, Depth::rest));
}

TEST_CASE(
    "a grid that hangs on the first plate has no leak and stands cold at the supply, others the other way") {
  Tube tube = rated_tube();
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.tube = &tube;
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.cathode_ohm = 1e3;
  d.first_stage.grid_leak_ohm = 680e3;
  const auto sections_of = [&](std::string_view name) {
    std::string found;
    for (const LimitResult& r : check_limits(d, Evaluation{}, {}))
      if (r.name == name) found += std::to_string(r.section);
    return found;
  };
  CHECK(sections_of("grid_leak_ohm") == "23");  // grid 2 hangs on grid 1 through its leak
  CHECK(sections_of("grid_cold_v") == "12");
  d.bias = {BiasForm::self_biased, 1500};
  CHECK(sections_of("grid_leak_ohm") == "123");
  CHECK(sections_of("grid_cold_v").empty());
  for (const LimitResult& r : check_limits(d, Evaluation{}, {}))
    if (r.name == "grid_leak_ohm")
      CHECK(r.value == (r.section == kFirstStageSection ? 680e3 : d.grid_leak_ohm));
  // A negative rail strains the cold plates of the pair, whose cathodes end there, and not the first one's.
  d.bias = {BiasForm::negative_rail, 0, 0, -100};
  for (const LimitResult& r : check_limits(d, Evaluation{}, {}))
    if (r.name == "plate_cold_v") CHECK(r.value == (r.section == kFirstStageSection ? 320.0 : 420.0));
}

TEST_CASE("room above a floor is a share of the floor, and all or nothing above a floor of zero") {
  CHECK(within(at_least(6, 4).margin_pct, 50, 1e-12));
  CHECK(within(at_least(3, 4).margin_pct, -25, 1e-12));
  CHECK(within(at_least(-3, -4).margin_pct, 25, 1e-12));
  CHECK(at_least(0.1, 0).margin_pct == 100);
  CHECK(at_least(0, 0).margin_pct == 100);
  CHECK(at_least(-0.1, 0).margin_pct == -100);
  CHECK_FALSE(at_least(-0.1, 0).kept);
}
