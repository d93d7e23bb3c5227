#include "configs/read_brief.h"

#include <doctest/doctest.h>

#include <numbers>

#include "configs/read_variables.h"
#include "configs/sha256.h"
#include "objectives/sizing_inputs.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::test;

namespace {

Brief good(const Json& brief, const TubeLibrary& library) {
  auto result = read_brief_text(brief.dump(), "brief", library);
  if (const auto* errors = std::get_if<InputErrors>(&result)) FAIL(in_words(*errors));
  return std::get<Brief>(std::move(result));
}

}  // namespace

TEST_CASE("a short brief gets the defaults that the schema states") {
  const auto library = example_library();
  const auto brief = good(short_brief(), library);
  const auto schema = read_schema("brief.schema.json")["properties"];
  const auto& s = brief.space;
  CHECK(s.circuits == std::vector{CircuitKind::long_tailed_pair});
  CHECK(s.tubes == std::vector<const Tube*>{library.find("12AX7")});
  CHECK(s.supply_v.fixed());
  CHECK(s.supply_v.low == 300.0);
  CHECK(s.plate_current_a.low == 0.5e-3);
  CHECK(s.plate_current_a.high == 5e-3);
  CHECK(s.plate_current_a.step == 0.0);
  const auto& variables = schema["variables"]["properties"];
  CHECK(s.tail_fraction.low == variables["tail_fraction"]["default"]["from"]);
  CHECK(s.tail_fraction.high == variables["tail_fraction"]["default"]["to"]);
  CHECK(s.plate_ohm_ratio.low == variables["plate_ohm_ratio"]["default"]["from"]);
  CHECK(s.plate_ohm_ratio.high == variables["plate_ohm_ratio"]["default"]["to"]);
  CHECK(bias_forms_of(s, s.circuit()) == std::vector{BiasForm::self_biased});
  CHECK(tail_forms_of(s, s.circuit()) == std::vector{TailForm::resistor});
  CHECK(engine::name_of(s.resistor_series) == schema["parts"]["properties"]["resistors"]["default"]);
  CHECK(engine::name_of(s.capacitor_series) == schema["parts"]["properties"]["capacitors"]["default"]);
  CHECK_FALSE(s.low_frequency_hz);
  CHECK(s.given.circuit == CircuitKind::long_tailed_pair);
  CHECK(s.given.swing_peak_v == 25.0);
  CHECK(s.given.load_ohm == 220e3);
  CHECK(s.given.load_f == 0.0);
  CHECK(s.given.grid_leak_ohm == schema["grid_leak_ohm"]["default"]);
  CHECK(s.given.clean_limit_pct == schema["clean_limit_pct"]["default"]);
  CHECK(s.given.heater_v == 0.0);
  CHECK(s.given.bias.rail_v == 0.0);
  CHECK(brief.candidates == schema["search"]["properties"]["candidates"]["default"]);
  CHECK(brief.effort == Effort::normal);
  CHECK(schema["search"]["properties"]["effort"]["default"] == "normal");
  CHECK(brief.seed == schema["search"]["properties"]["seed"]["default"]);
  CHECK_FALSE(brief.output_valve_bias_v);
  CHECK(brief.title == "");
  const auto& objectives = schema["objectives"]["default"];
  REQUIRE(brief.demands.objectives.size() == objectives.size());
  for (std::size_t i = 0; i < objectives.size(); ++i) {
    CHECK(brief.demands.objectives[i].figure->name == objectives[i]["figure"]);
    CHECK(brief.demands.objectives[i].weight == objectives[i]["weight"]);
    CHECK(brief.demands.objectives[i].scale == brief.demands.objectives[i].figure->scale);
  }
  const auto& factors = schema["design_factors"]["properties"];
  const DesignFactors& f = brief.demands.factors;
  CHECK(f.plate_dissipation == factors["plate_dissipation"]["default"]);
  CHECK(f.plate_voltage == factors["plate_voltage"]["default"]);
  CHECK(f.cathode_current == factors["cathode_current"]["default"]);
  CHECK(f.heater_cathode == factors["heater_cathode"]["default"]);
  CHECK(f.resistor_power == factors["resistor_power"]["default"]);
  CHECK(f.resistor_voltage == factors["resistor_voltage"]["default"]);
  CHECK(schema["warm_up"]["default"] == "together");
  CHECK_FALSE(f.supply_waits);
  const auto& sensible = schema["sensible"]["properties"];
  CHECK(f.least_plate_current_a == sensible["plate_current_a"]["default"]);
  CHECK(sensible.size() == kSensibleFigures.size() + kSensibleParts.size() + 1);
  for (const SensibleFigure& row : kSensibleFigures)
    CHECK(brief.sensible.*row.bound == sensible[std::string(row.figure->name)]["default"]);
  for (const SensiblePart& part : kSensibleParts)
    CHECK(brief.sensible.*part.bound == sensible[std::string(part.name)]["default"]);
}

TEST_CASE("a brief changes what is sensible and says how the supply comes up") {
  const auto library = example_library();
  const auto brief =
      good(patched(short_brief(), R"({"warm_up": "sequenced", "sensible": {"balance_pct": "20 %",
                             "headroom_db": -3, "cathode_resistor_ohm": 10, "plate_current_a": "50u"}})"),
           library);
  CHECK(brief.demands.factors.supply_waits);
  CHECK(brief.sensible.balance_pct == 20);
  CHECK(brief.sensible.headroom_db == -3);
  CHECK(brief.sensible.cathode_ohm == 10);
  CHECK(brief.demands.factors.least_plate_current_a == 50e-6);
  CHECK(brief.sensible.distortion_pct == SensibleBounds{}.distortion_pct);
}

TEST_CASE("every member of a brief arrives") {
  const auto library = example_library();
  const auto schema = read_schema("brief.schema.json");
  CHECK(schema_error(schema, schema, whole_brief()) == "");
  const auto brief = good(whole_brief(), library);
  const auto& s = brief.space;
  CHECK(brief.title == "All of it");
  CHECK(brief.notes == std::vector<std::string>{"one", "two"});
  CHECK(s.tubes == std::vector<const Tube*>{library.find("12AX7"), library.find("6SN7GT")});
  CHECK(brief.output_valve_bias_v == -38.0);
  CHECK(brief.drive_margin == 1.2);
  CHECK(within_ratio(s.given.swing_peak_v, 38 * 1.2, 1e-15));  // one rounding
  CHECK(s.given.load_f == 60e-12);
  CHECK(s.given.heater_v == 40.0);
  CHECK(s.given.source_ohm == 10e3);
  CHECK(s.given.grid_leak_ohm == 470e3);
  CHECK(s.given.clean_limit_pct == 1.0);
  CHECK(s.given.coupling_f == 100e-9);
  CHECK(s.given.grid_bypass_f == 1e-6);
  CHECK(s.given.bias.rail_v == -60.0);
  CHECK(s.given.tail.output_ohm == 2e6);
  CHECK(s.given.tail.compliance_v == 5.0);
  CHECK(s.supply_v.step == 10.0);
  CHECK(s.plate_ohm.values == std::vector{47e3, 100e3, 220e3});
  CHECK(s.plate_ohm.low == 47e3);
  CHECK(s.plate_ohm.high == 220e3);
  CHECK(s.plate_ohm_ratio.low == 1.1);
  CHECK(s.bias_forms ==
        std::vector{BiasForm::self_biased, BiasForm::negative_rail, BiasForm::direct_coupled});
  CHECK(s.given.main_supply_v == 420.0);
  CHECK(s.given.reservoir_f == 47e-6);
  CHECK(s.given.source_f == 50e-12);
  CHECK(s.given.input_coupling_f == 22e-9);
  CHECK_FALSE(s.given.bias.grid_clamp);
  CHECK(s.given.output_valve == library.find_output_valve("EL34"));
  CHECK(s.given.output_valve_bias_v == -38.0);
  CHECK(s.tail_forms == std::vector{TailForm::resistor, TailForm::constant_current});
  CHECK(s.resistor_series == engine::Series::e96);
  REQUIRE(brief.demands.objectives.size() == 2);
  CHECK(brief.demands.objectives[0].figure->name == "output_impedance_ohm");
  CHECK(brief.demands.objectives[0].weight == 3.0);
  CHECK(brief.demands.objectives[0].scale == 10e3);
  CHECK(brief.demands.objectives[1].weight == 1.0);
  REQUIRE(brief.demands.limits.size() == 2);
  CHECK(brief.demands.limits[0].at_most == 12e-3);
  CHECK_FALSE(brief.demands.limits[0].at_least);
  CHECK(brief.demands.limits[1].at_least == 2.0);
  CHECK(brief.demands.factors.plate_dissipation == 0.8);
  CHECK(brief.demands.factors.resistor_power == 0.6);
  CHECK(brief.candidates == 25);
  CHECK(brief.effort == Effort::thorough);
  CHECK(brief.seed == 18446744073709551615u);
}

TEST_CASE("a part's own range arrives under its name, with the wishes beside it") {
  const auto library = example_library();
  const auto brief = good(patched(short_brief(), R"({
    "low_frequency_hz": 10, "main_supply_v": 400,
    "variables": {"tail_ohm": ["22k", "10k"], "bias_ohm": {"from": 470, "to": "2k2"}, "dropping_ohm": "22k",
                  "plate_2_ohm": "100k", "coupling_f": {"from": "47n", "to": "470n"}, "grid_leak_ohm": "470k",
                  "grid_v": {"from": 30, "to": 80, "step": 5}, "rail_v": [-100, -60],
                  "bias_form": ["self_biased", "direct_coupled", "negative_rail"]}})"),
                          library);
  const auto& s = brief.space;
  CHECK(s.own_ranges.size() == 8);
  REQUIRE(s.own_range(member::tail_ohm));
  CHECK(s.own_range(member::tail_ohm)->values == std::vector{10e3, 22e3});
  REQUIRE(s.own_range(member::bias_ohm));
  CHECK(s.own_range(member::bias_ohm)->low == 470.0);
  CHECK(s.own_range(member::bias_ohm)->high == 2200.0);
  REQUIRE(s.own_range(member::dropping_ohm));
  CHECK(s.own_range(member::dropping_ohm)->fixed());
  REQUIRE(s.own_range(member::bias_grid_v));
  CHECK(s.own_range(member::bias_grid_v)->step == 5.0);
  REQUIRE(s.own_range(member::bias_rail_v));
  CHECK(s.own_range(member::bias_rail_v)->low == -100.0);
  CHECK(s.tail_fraction.low == 0.05);
  CHECK_FALSE(s.first_plate_v);
}

TEST_CASE("each part has one name among the variables, and no two have the same") {
  CHECK(name_in_brief(member::tail_ohm) == "tail_ohm");
  CHECK(name_in_brief(member::bias_ohm) == "bias_ohm");
  CHECK(name_in_brief(member::bias_grid_v) == "grid_v");
  CHECK(name_in_brief(member::bias_rail_v) == "rail_v");
  CHECK(name_in_brief(member::dropping_ohm) == "dropping_ohm");
  CHECK(name_in_brief(member::plate_ohm_1) == "plate_2_ohm");
  CHECK(name_in_brief(member::first_stage_cathode_ohm) == "first_cathode_ohm");
  CHECK(name_in_brief(member::first_stage_coupling_f) == "first_coupling_f");
  CHECK(name_in_brief(member::feedback_resistor_ohm) == "feedback_ohm");
  int parts = 0;
  for (const DesignField& field : design_fields()) {
    const DesignField* found = own_variable_named(name_in_brief(field));
    if (!found) continue;
    CAPTURE(field.pointer);
    CHECK(found == &field);
    CHECK(sizing_input_named(name_in_brief(field)) == nullptr);
    ++parts;
  }
  CHECK(parts >= 15);
  // what a wish gives as it is has the wish's name, and a supply or a load is no part
  CHECK(own_variable_named("plate_1_ohm") == nullptr);
  CHECK(own_variable_named("load_ohm") == nullptr);
}

TEST_CASE("the output valve's bias gives the swing, with a margin of 15 per cent unless said otherwise") {
  const auto library = example_library();
  const auto brief = good(
      patched(short_brief(), R"({"target": {"swing_peak_v": null, "output_valve_bias_v": -38}})"), library);
  CHECK(within_ratio(brief.space.given.swing_peak_v, 43.7, 1e-15));  // 38 V times 1.15, one rounding
  CHECK(brief.drive_margin == 1.15);
}

TEST_CASE("each wrong member of a brief is one fault at its place, and the schema sees it too") {
  const auto library = example_library();
  const auto schema = read_schema("brief.schema.json");
  const auto gain_stage = patched(short_brief(), R"({"stage": "common_cathode"})");
  struct Group {
    Json base;
    std::vector<BadFile> table;
  };
  const std::vector<Group> groups{
      {short_brief(),
       {{R"({"stage": null})", "/stage", "is missing"},
        {R"({"stage": "push_pull"})", "/stage", "must be " + every_circuit_or_any()},
        {R"({"tubes": null})", "/tubes", "is missing"},
        {R"({"tubes": []})", "/tubes", "must not be empty"},
        {R"({"tubes": "12AX7"})", "/tubes", "must be a list"},
        {R"({"tubes": ["12AX7", "12AU8"]})", "/tubes/1", "did you mean \"12AU7\"", false},
        {R"({"tubes": ["12AX7", "12AX7"]})", "/tubes/1", "twice: it is the 12AX7"},
        {R"({"tubes": ["12AX7", "ECC83"]})", "/tubes/1", "twice: it is the 12AX7", false},
        {R"({"target": null})", "/target", "is missing"},
        {R"({"target": 25})", "/target", "must be an object {}"},
        {R"({"target": {"swing_peak_v": null}})", "/target",
         "must have one of swing_peak_v, output_valve_bias_v and output_valve_cathode_ohm"},
        {R"({"target": {"output_valve_bias_v": -38}})", "/target", "not several"},
        {R"({"target": {"drive_margin": 1.1}})", "/target/drive_margin", "has no meaning with swing_peak_v"},
        {R"({"target": {"swing_peak_v": 0}})", "/target/swing_peak_v", "from 1 mV to 1 kV"},
        {R"({"target": {"swing_peak_v": null, "output_valve_bias_v": 38}})", "/target/output_valve_bias_v",
         "from -300 V to -10 mV, is 38 V"},
        {R"({"target": {"swing_peak_v": null, "output_valve_bias_v": -38, "drive_margin": 15}})",
         "/target/drive_margin", "from 0.5 to 3, is 15"},
        {R"({"load": null})", "/load", "is missing"},
        {R"({"load": {"ohm": null}})", "/load/ohm", "is missing"},
        {R"({"load": {"ohm": "220 nF"}})", "/load/ohm", "is a capacitance, where a resistance"},
        {R"({"load": {"farads": "60p"}})", "/load/farads", "did you mean \"farad\""},
        {R"({"load": {"bias_v": -38}})", "/load/bias_v", "has no meaning without output_valve"},
        {R"({"load": {"output_valve": 34}})", "/load/output_valve", "must be text"},
        {R"({"load": {"output_valve": "EL43"}})", "/load/output_valve",
         "no output valve card of a \"EL43\"; did you mean \"EL34\"", false},
        {R"({"load": {"output_valve": "EL34", "bias_v": 38}})", "/load/bias_v",
         "from -300 V to -10 mV, is 38 V"},
        {R"({"load": {"output_valve": "EL84"}})", "/load/bias_v",
         "is missing: the bias of the output valve's grid; the card of the EL84 publishes -38 V and -11 V",
         false},
        {R"({"load": {"output_valve": "300B"}})", "/load/bias_v", "the card of the 300B publishes none",
         false},
        {R"({"load": {"output_valve": "EL34", "bias_v": -30},
             "target": {"swing_peak_v": null, "output_valve_bias_v": -38}})",
         "/load/bias_v", "must be the output_valve_bias_v of the target, -38 V, or be left out; is -30 V",
         false},
        {R"({"main_supply_v": 300})", "/main_supply_v",
         "must be above the lowest supply_v of the stage, 300 V", false},
        {R"({"main_supply_v": "x", "reservoir_f": "22u"})", "/main_supply_v", "must be a number in V"},
        {R"({"main_supply_v": 3000})", "/main_supply_v", "from 1 V to 2 kV, is 3 kV"},
        {R"({"reservoir_f": "22u"})", "/reservoir_f", "has no meaning without main_supply_v", false},
        {R"({"grid_clamp": false})", "/grid_clamp",
         "has no meaning with self_biased bias; it belongs to direct_coupled", false},
        {R"({"cathode_bypass_f": "100u"})", "/cathode_bypass_f",
         "has no meaning in a long_tailed_pair stage"},
        {R"({"heater_v": "40 A"})", "/heater_v", "is a current, where a voltage"},
        {R"({"source_ohm": -1})", "/source_ohm", "from 0 \u03a9 to 100 M\u03a9"},
        {R"({"rail_v": -60})", "/rail_v", "has no meaning with self_biased bias; it belongs to negative_rail",
         false},
        {R"({"tail": {"output_ohm": "2M"}})", "/tail/output_ohm", "has no meaning with a resistor tail",
         false},
        {R"({"tail": {"ohm": "27k"}})", "/tail/ohm", "is not a known member"},
        {R"({"variables": null})", "/variables", "is missing"},
        {R"({"variables": {"supply_v": null}})", "/variables/supply_v", "is missing: supply voltage"},
        {R"({"variables": {"plate_current_a": null}})", "/variables/plate_current_a", "is missing"},
        {R"({"variables": {"plate_ohm": null}})", "/variables/plate_ohm", "is missing"},
        {R"({"variables": {"tail": 0.1}})", "/variables/tail", "did you mean \"tail_ohm\" or \"tail_form\""},
        {R"({"variables": {"tail_ohm": 0}})", "/variables/tail_ohm", "must be from 1 \u03a9 to 100 M\u03a9"},
        {R"({"variables": {"tail_ohm": {"from": "10.1k", "to": "10.2k"}}})", "/variables/tail_ohm",
         "has nothing in it: no standard value from 10.1 k", false},
        {R"({"variables": {"tail_ohm": "1M"}})", "/variables/tail_ohm",
         "does not go together with the others: supply_v 300 V, tail_fraction 0.05 to 0.4 and "
         "plate_current_a 500 \u00b5A to 5 mA lead to",
         false},
        {R"({"variables": {"dropping_ohm": "22k"}})", "/variables/dropping_ohm",
         "has no meaning without main_supply_v", false},
        {R"({"variables": {"grid_v": 60}})", "/variables/grid_v",
         "has no meaning with self_biased bias; it belongs to direct_coupled", false},
        {R"({"variables": {"cathode_ohm": 820}})", "/variables/cathode_ohm",
         "has no meaning in a long_tailed_pair stage"},
        {R"({"variables": {"first_plate_v": 150}})", "/variables/first_plate_v",
         "has no meaning in a long_tailed_pair stage"},
        {R"({"variables": {"coupling_f": ["100n", "220n"]}})", "/variables/coupling_f",
         "has nothing to choose it by: give low_frequency_hz, or one value", false},
        {R"({"variables": {"coupling_f": "100n"}, "coupling_f": "100n"})", "/coupling_f",
         "is given here and as coupling_f among the variables; leave one of them out", false},
        {R"({"variables": {"bias_form": "self_biased"}})", "/variables/bias_form", "must be a list"},
        {R"({"variables": {"bias_form": []}})", "/variables/bias_form", "must not be empty"},
        {R"({"variables": {"bias_form": ["self_biased", "self_biased"]}})", "/variables/bias_form/1",
         "twice"},
        {R"({"variables": {"tail_form": ["resistor", "ccs"]}})", "/variables/tail_form/1",
         "must be \"resistor\" or \"constant_current\""},
        {R"({"parts": {"capacitors": "E5"}})", "/parts/capacitors", "\"E48\", \"E96\" or \"E192\""},
        {R"({"low_frequency_hz": 0})", "/low_frequency_hz", "must be from 10 mHz to 500 Hz, is 0 Hz"},
        {R"({"low_frequency_hz": 1000})", "/low_frequency_hz", "must be from 10 mHz to 500 Hz, is 1 kHz"},
        {R"({"low_frequency_hz": "10 s"})", "/low_frequency_hz", "\"1 kHz\""},
        {R"({"parts": {"resistors": "E25"}})", "/parts/resistors", "\"E48\", \"E96\" or \"E192\""},
        {R"({"parts": {"bias_ohm": "E25"}})", "/parts/bias_ohm", "\"E48\", \"E96\" or \"E192\""},
        {R"({"parts": {"plate_2": "three"}})", "/parts/plate_2",
         "must be \"one_resistor\" or \"two_resistors\""},
        {R"({"parts": {"on_hand": "../drawer.csv"}})", "/parts/on_hand", "a file beside the brief"},
        {R"({"parts": {"on_hand": "no_such_drawer.csv"}})", "/parts/on_hand", "no_such_drawer.csv", false},
        {R"({"parts": {"resistor": "E24"}})", "/parts/resistor", "did you mean \"resistors\""},
        {R"({"objectives": []})", "/objectives", "must not be empty"},
        {R"({"objectives": [{"figure": "distortion"}]})", "/objectives/0/figure",
         "did you mean \"distortion_pct\""},
        {R"({"objectives": [{"figure": "xyzzy"}]})", "/objectives/0/figure",
         "is not a figure; there are \"distortion_pct\""},
        {R"({"objectives": [{"weight": 1}]})", "/objectives/0/figure", "is missing"},
        {R"({"objectives": [{"figure": "gain", "weight": 0}]})", "/objectives/0/weight",
         "above 0 and at most 1000000, is 0"},
        {R"({"objectives": [{"figure": "gain", "scale": -1}]})", "/objectives/0/scale", "above 0, is -1"},
        {R"({"objectives": [{"figure": "gain", "scale": "5 V"}]})", "/objectives/0/scale",
         "is a voltage, where a number", false},
        {R"({"objectives": [{"figure": "gain"}, {"figure": "gain"}]})", "/objectives/1/figure", "twice",
         false},
        {R"({"objectives": [{"figure": "gain", "direction": "larger"}]})", "/objectives/0/direction",
         "is not a known member"},
        {R"({"limits": [{"figure": "supply_current_a"}]})", "/limits/0/at_most", "is missing"},
        {R"({"limits": [{"figure": "supply_current", "at_most": 1}]})", "/limits/0/figure",
         "did you mean \"supply_current_a\""},
        {R"({"limits": [{"figure": "supply_current_a", "at_most": "12 V"}]})", "/limits/0/at_most",
         "is a voltage, where a current", false},
        {R"({"limits": [{"figure": "balance_pct", "at_most": -2}]})", "/limits/0/at_most",
         "at least 0 %, is -2 %", false},
        {R"({"limits": [{"figure": "headroom_db", "at_most": 2, "at_least": 3}]})", "/limits/0/at_least",
         "must not be above at_most, 2 dB, is 3 dB", false},
        {R"({"limits": {"figure": "headroom_db"}})", "/limits", "must be a list"},
        {R"({"design_factors": {"plate_dissipation": 1.1}})", "/design_factors/plate_dissipation",
         "above 0 and at most 1"},
        {R"({"warm_up": "sequence"})", "/warm_up", "did you mean \"sequenced\"?"},
        {R"({"sensible": {"balance_pct": -1}})", "/sensible/balance_pct", "must be"},
        {R"({"sensible": {"balance": 10}})", "/sensible/balance", "did you mean \"balance_pct\""},
        {R"({"design_factors": {"plate_power": 1}})", "/design_factors/plate_power", "is not a known member"},
        {R"({"search": {"candidates": 0}})", "/search/candidates", "whole number from 1 to 100, is 0"},
        {R"({"search": {"candidates": 10.5}})", "/search/candidates", "is 10.5"},
        {R"({"search": {"effort": "normall"}})", "/search/effort", "did you mean \"normal\"?"},
        {R"({"search": {"seed": -1}})", "/search/seed", "whole number"},
        {R"({"search": {"seeds": 1}})", "/search/seeds", "did you mean \"seed\""},
        {R"({"objective": []})", "/objective", "did you mean \"objectives\""},
        {R"({"load_ohm": 1})", "/load_ohm", "is not a known member"}}},
      {gain_stage,
       {{R"({"variables": {"tail_fraction": 0.1}})", "/variables/tail_fraction",
         "has no meaning in a common_cathode stage"},
        {R"({"variables": {"plate_ohm_ratio": 1}})", "/variables/plate_ohm_ratio",
         "has no meaning in a common_cathode"},
        {R"({"variables": {"bias_form": ["self_biased"]}})", "/variables/bias_form",
         "has no meaning in a common_cathode"},
        {R"({"rail_v": -60})", "/rail_v", "has no meaning in a common_cathode stage"},
        {R"({"tail": {"output_ohm": "2M"}})", "/tail/output_ohm", "has no meaning in a common_cathode stage"},
        {R"({"grid_bypass_f": "1u"})", "/grid_bypass_f", "has no meaning in a common_cathode stage"},
        {R"({"grid_clamp": true})", "/grid_clamp", "has no meaning in a common_cathode stage"},
        {R"({"load": {"output_valve": "EL34"}})", "/load/output_valve",
         "has no meaning in a common_cathode stage"},
        {R"({"objectives": [{"figure": "balance_pct"}]})", "/objectives/0/figure",
         "a common_cathode stage has no balance", false}}}};
  for (const auto& group : groups) {
    REQUIRE(schema_error(schema, schema, group.base) == "");
    REQUIRE(good(group.base, library).space.tubes.size() == 1);
    for (const auto& row : group.table) {
      CAPTURE(row.patch);
      const auto brief = patched(group.base, row.patch);
      const auto result = read_brief_text(brief.dump(1), "brief", library);
      REQUIRE(std::holds_alternative<InputErrors>(result));
      CHECK(other_than(std::get<InputErrors>(result), row.pointer, row.description) == "");
      CHECK((schema_error(schema, schema, brief) != "") == row.schema_sees);
    }
  }
}

TEST_CASE("the output valve of the load takes its bias and capacitance from where they are given") {
  const auto library = example_library();
  const auto load = [&](const std::string& patch) { return good(patched(short_brief(), patch), library); };
  const auto card = load(R"({"load": {"output_valve": "EL34"}})");  // its card publishes one bias
  CHECK(card.space.given.output_valve == library.find_output_valve("EL34"));
  CHECK(card.space.given.output_valve_bias_v == -38.0);
  CHECK(card.space.given.load_f == 26e-12);
  CHECK(card.load_f_from_card);
  CHECK_FALSE(card.output_valve_bias_v);  // the swing is not touched by it
  const auto target = load(
      R"({"load": {"output_valve": "EL84", "farad": "40p"}, "target": {"swing_peak_v": null, "output_valve_bias_v": -12}})");
  CHECK(target.space.given.output_valve_bias_v == -12.0);
  CHECK(target.space.given.load_f == 40e-12);
  CHECK_FALSE(target.load_f_from_card);
  const auto said = load(R"({"load": {"output_valve": "EL84", "bias_v": -11}})");
  CHECK(said.space.given.output_valve_bias_v == -11.0);
  CHECK(said.space.given.load_f == 0.0);
  CHECK_FALSE(said.load_f_from_card);
}

// Expectation: the drive of the Philips EL84 data sheet, 8 V rms to each grid of a pair at 250 V and 10 V rms
// at 300 V, each with a common cathode resistor of 130 ohm (11.3 V and 14.15 V peak).
TEST_CASE("a pair with cathode bias is driven as its bias or its card says") {
  const TubeLibrary& library = testing::shipped();
  const auto load = [&](const std::string& patch) { return good(patched(short_brief(), patch), library); };
  constexpr auto kBias = R"({"load": {"ohm": "470k", "output_valve": "EL84", "bias": "cathode"},
                             "target": {"swing_peak_v": null, "output_valve_bias_v": -9}})";
  const auto by_bias = load(kBias);
  CHECK(by_bias.space.given.output_valve_bias == OutputBias::cathode);
  CHECK(by_bias.space.given.output_valve_bias_v == -9.0);
  CHECK(within(by_bias.space.given.swing_peak_v, 1.15 * 9, 1e-12));
  const auto by_card = load(R"({
    "load": {"ohm": "470k", "output_valve": "EL84", "bias": "cathode", "bias_v": -9},
    "target": {"swing_peak_v": null, "output_valve_cathode_ohm": 130, "output_valve_plate_v": 250,
               "drive_margin": 1}})");
  REQUIRE(by_card.output_valve_condition);
  CHECK(by_card.output_valve_condition->connection == "pentode");
  constexpr double kPrinted_v = 0.05 / 2;  // half a unit of the card's last digit, of one grid
  CHECK(within(by_card.space.given.swing_peak_v, 8 * std::numbers::sqrt2, kPrinted_v));
  const auto at_300 = load(R"({
    "load": {"ohm": "470k", "output_valve": "EL84", "bias": "cathode", "bias_v": -10.4},
    "target": {"swing_peak_v": null, "output_valve_cathode_ohm": "130 ohm", "output_valve_plate_v": 300}})");
  CHECK(within(at_300.space.given.swing_peak_v, 1.15 * 10 * std::numbers::sqrt2, 1.15 * kPrinted_v));
  CHECK(load(R"({"load": {"output_valve": "EL84", "bias": "fixed", "bias_v": -11.6}})")
            .space.given.output_valve_bias == OutputBias::fixed);

  const auto schema = read_schema("brief.schema.json");
  const BadFile table[] = {
      {R"({"load": {"bias_v": null}, "target": {"output_valve_bias_v": null, "swing_peak_v": 10}})",
       "/load/bias_v", "is missing: the grid against the cathode at rest", false},
      {R"({"load": {"bias": "self"}})", "/load/bias", "\"fixed\" or \"cathode\""},
      {R"({"load": {"output_valve": null}})", "/load/bias", "has no meaning without output_valve"},
      {R"({"target": {"output_valve_plate_v": 250}})", "/target/output_valve_plate_v",
       "has no meaning without output_valve_cathode_ohm"},
      {R"({"target": {"output_valve_cathode_ohm": 130}})", "/target",
       "must have one of swing_peak_v, output_valve_bias_v and output_valve_cathode_ohm, not several"}};
  for (const auto& row : table) {
    CAPTURE(row.patch);
    const auto brief = patched(patched(short_brief(), kBias), row.patch);
    const auto result = read_brief_text(brief.dump(1), "brief", library);
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(other_than(std::get<InputErrors>(result), row.pointer, row.description) == "");
    CHECK((schema_error(schema, schema, brief) != "") == row.schema_sees);
  }
  const BadFile conditions[] = {
      {"{}", "/target/output_valve_cathode_ohm", "say output_valve_plate_v"},
      {R"({"target": {"output_valve_cathode_ohm": 150}})", "/target/output_valve_cathode_ohm",
       "has no published drive with it; the card of the EL84 publishes 130"},
      {R"({"load": {"output_valve": "300B"}})", "/target/output_valve_cathode_ohm",
       "needs a published drive"},
      {R"({"load": {"bias": "fixed"}})", "/target/output_valve_cathode_ohm", "belongs to cathode bias"},
      {R"({"load": {"output_valve": null, "bias": null, "bias_v": null}})",
       "/target/output_valve_cathode_ohm", "needs the output valve in load"}};
  for (const auto& row : conditions) {
    CAPTURE(row.patch);
    const auto brief = patched(patched(short_brief(), R"({
      "load": {"output_valve": "EL84", "bias": "cathode", "bias_v": -9},
      "target": {"swing_peak_v": null, "output_valve_cathode_ohm": 130}})"),
                               row.patch);
    const auto result = read_brief_text(brief.dump(1), "brief", library);
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(other_than(std::get<InputErrors>(result), row.pointer, row.description) == "");
    CHECK(schema_error(schema, schema, brief) == "");
  }
}

TEST_CASE("directly coupled candidates have clamp diodes unless the brief says otherwise") {
  const auto library = example_library();
  const auto direct =
      patched(short_brief(), R"({"variables": {"bias_form": ["self_biased", "direct_coupled"]}})");
  CHECK(good(direct, library).space.given.bias.grid_clamp);
  CHECK_FALSE(good(patched(direct, R"({"grid_clamp": false})"), library).space.given.bias.grid_clamp);
  CHECK_FALSE(good(short_brief(), library).space.given.bias.grid_clamp);
}

TEST_CASE("a gain stage's brief may give its cathode bypass") {
  const auto library = example_library();
  const auto brief = patched(short_brief(), R"({"stage": "common_cathode", "cathode_bypass_f": "100u"})");
  CHECK(good(brief, library).space.given.cathode_bypass_f == 100e-6);
}

TEST_CASE("a negative rail may be given where the bias form is asked for, or left to the search") {
  const auto library = example_library();
  const auto brief = patched(short_brief(), R"({"variables": {"bias_form": ["negative_rail"]}})");
  CHECK(good(brief, library).space.given.bias.rail_v == 0.0);
  CHECK(good(patched(brief, R"({"rail_v": "-60 V"})"), library).space.given.bias.rail_v == -60.0);
}

TEST_CASE("a gain stage has no balance among its default objectives") {
  const auto library = example_library();
  const auto brief = good(patched(short_brief(), R"({"stage": "common_cathode"})"), library);
  for (const auto& o : brief.demands.objectives) CHECK(o.figure->name != "balance_pct");
  CHECK(brief.demands.objectives.size() == 3);
}

TEST_CASE("all faults of a brief are told at once, in the order of the file, with line and column") {
  const auto library = example_library();
  const std::string text = R"({
  "stage": "long_tailed_pair",
  "tubes": ["12AX7", "12AU8"],
  "target": {"swing_peak_v": "25 A"},
  "load": {"ohm": -1},
  "variables": {
    "supply_v": {"from": 400, "to": 300},
    "plate_current_a": {"from": "0.5m"},
    "plate_ohm": ["47k", "47k"]
  },
  "limit": []
})";
  CHECK(in_words(std::get<InputErrors>(read_brief_text(text, "b.json", library))) ==
        "b.json:3:22: /tubes/1: there is no tube card of a \"12AU8\"; did you mean \"12AU7\"?\n"
        "b.json:4:30: /target/swing_peak_v: \"25 A\" is a current, where a voltage in V is meant: write 300, "
        "\"0.3k\" or \"300 V\"\n"
        "b.json:5:19: /load/ohm: must be from 1 \u03a9 to 1 T\u03a9, is -1 \u03a9\n"
        "b.json:7:17: /variables/supply_v: runs backwards, from 400 V to 300 V\n"
        "b.json:8:24: /variables/plate_current_a/to: is missing: the upper end\n"
        "b.json:9:26: /variables/plate_ohm/1: stands in the list twice: 47 k\u03a9\n"
        "b.json:11:3: /limit: is not a known member here; did you mean \"limits\"?\n");
}

TEST_CASE("the digest is that of the bytes of the file") {
  const auto library = example_library();
  const auto text = short_brief().dump();
  CHECK(good(short_brief(), library).digest == sha256_hex(text));
  const auto with_comment =
      std::get<Brief>(read_brief_text(text + " // another digest, the same brief", "b", library));
  CHECK(with_comment.digest != sha256_hex(text));
}

TEST_CASE("the brief of the design contract is good") {
  // The example of the project's contract for brief files, member by member.
  const auto library = example_library();
  const auto brief = Json::parse(R"({
    "$schema": "../schema/brief.schema.json",
    "title": "Fixed-bias EL34 pair for a rehearsal room",
    "stage": "long_tailed_pair",
    "tubes": ["6SN7GT", "12AU7", "12AX7"],
    "target": {"output_valve_bias_v": -38, "drive_margin": 1.15},
    "load": {"ohm": "150k", "farad": "60p"},
    "variables": {
      "supply_v":        {"from": 300, "to": 400, "step": 10},
      "tail_fraction":   {"from": 0.08, "to": 0.35},
      "plate_current_a": {"from": "0.5m", "to": "8m"},
      "plate_ohm":       {"from": "22k", "to": "220k"},
      "plate_ohm_ratio": {"from": 0.95, "to": 1.4},
      "bias_form": ["self_biased", "direct_coupled"],
      "tail_form": ["resistor"]
    },
    "parts": {"resistors": "E24"},
    "objectives": [
      {"figure": "distortion_pct", "weight": 2}, {"figure": "output_impedance_ohm", "weight": 1},
      {"figure": "balance_pct", "weight": 1}, {"figure": "headroom_db", "weight": 1}
    ],
    "limits": [{"figure": "supply_current_a", "at_most": "12m"}],
    "search": {"candidates": 10, "effort": "normal", "seed": 1}
  })");
  CHECK(good(brief, library).demands.limits.size() == 1);
  const auto schema = read_schema("brief.schema.json");
  CHECK(schema_error(schema, schema, brief) == "");
}

TEST_CASE("a brief file that is missing is unreadable, not wrong") {
  const auto library = example_library();
  CHECK(std::get<InputErrors>(read_brief("/no/such/file", library)).unreadable);
}
