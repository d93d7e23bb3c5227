#include <doctest/doctest.h>

#include "configs/tube_library.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::test;

TEST_CASE("every number of a card arrives in SI units with its source") {
  const auto result = read_tube_text(whole_card().dump(), "card");
  REQUIRE(std::holds_alternative<Tube>(result));
  const auto& t = std::get<Tube>(result);
  CHECK(t.name == "12AX7");
  CHECK(t.also_known_as == std::vector<std::string>{"ECC83", "7025"});
  CHECK(t.sections == 2);
  REQUIRE(t.base);
  CHECK(t.base->socket == "noval");
  CHECK(t.base->basing == "9A");
  REQUIRE(t.base->pins.size() == 9);
  CHECK(t.base->pins[0] == Pin::plate_2);
  CHECK(t.base->pins[6] == Pin::grid_1);
  CHECK(t.base->pins[8] == Pin::heater_tap);
  CHECK(t.base->source == "made up");
  CHECK(t.curve_files == std::vector<std::string>{"../curves/a.csv"});
  CHECK(t.ratings.plate_v_max->value == 300.0);
  CHECK(t.ratings.plate_v_max->source == "made up");
  CHECK(t.ratings.plate_cold_v_max->value == 550.0);
  CHECK(t.ratings.plate_w_max->value == 1.0);
  CHECK(t.ratings.plates_total_w_max->value == 2.0);
  CHECK(t.ratings.cathode_current_a_max->value == 8e-3);
  CHECK(t.ratings.grid_v_negative_max->value == 50.0);
  CHECK(t.ratings.heater_cathode_v_max_cathode_positive->value == 180.0);
  CHECK(t.ratings.heater_cathode_v_max_cathode_negative->value == 180.0);
  CHECK(t.ratings.heater_cathode_v_max_cathode_positive_dc->value == 100.0);
  CHECK(t.ratings.grid_leak_ohm_max_fixed_bias->value == 1e6);
  CHECK(t.ratings.grid_leak_ohm_max_self_bias->value == 2.2e6);
  CHECK(t.heater.volt_v == 6.3);
  CHECK(t.heater.current_a == 0.3);
  CHECK(t.capacitance.grid_plate_f == 1.7e-12);
  CHECK(t.capacitance.grid_cathode_f == 1.6e-12);
  CHECK(t.capacitance.plate_cathode_f == 0.46e-12);
  CHECK(t.grid_conduction_v.value == -0.6);
  // the diode takes 0.3 uA at the onset, and its resistance and slope are the card's
  CHECK(within_ratio(t.grid_diode.current_a(-0.6), 0.3e-6, 1e-9));
  CHECK(within_ratio(1 / t.grid_diode.siemens, 1500, 1e-12));
  CHECK(t.grid_diode.slope_v == 0.088);
  CHECK(t.grid_diode_source == "made up");
  CHECK(t.plate_current_spread_pct == 30.0);
  CHECK(t.notes == "Nothing here is from a data sheet.");
  REQUIRE(t.models.size() == 3);
  const auto& koren = std::get<Koren1996>(t.law());
  CHECK(koren.kg1 == 1060.0);
  CHECK(koren.vct == 0.1);
  CHECK(std::get<DempwolfZoelzer2011>(t.models[1].law).ig0 == 8.025e-8);
  CHECK(std::get<ChildLangmuir>(t.models[2].law).offset_v == 0.2);
  REQUIRE(t.published_points.size() == 2);
  CHECK(t.published_points[0].grid_v == -2.0);
  CHECK(t.published_points[0].plate_current_a == 1.2e-3);
  CHECK(t.published_points[0].gm_s == 1.6e-3);
  CHECK(t.published_points[0].rp_ohm == 62.5e3);
  CHECK_FALSE(t.published_points[0].cathode_ohm);
  CHECK(t.published_points[1].cathode_ohm == 270.0);
  CHECK_FALSE(t.published_points[1].mu);
}

TEST_CASE("a card may leave out what is not published, and offsets of laws") {
  auto card = patched(whole_card(),
                      R"({"$schema": null, "also_known_as": null, "sections": null, "published_points": null,
    "base": null, "curves": null, "notes": null, "grid_current": null, "ratings": {"grid_v_negative_max": null, "plate_cold_v_max": null, "plates_total_w_max": null, "cathode_current_a_max": null,
    "heater_cathode_v_max": null, "grid_leak_ohm_max": null}})");
  card["models"][0].erase("vct");
  card["models"][2].erase("offset_v");
  const auto result = read_tube_text(card.dump(), "card");
  REQUIRE(std::holds_alternative<Tube>(result));
  const auto& t = std::get<Tube>(result);
  CHECK(t.sections == 2);
  CHECK_FALSE(t.ratings.cathode_current_a_max);
  CHECK(std::get<Koren1996>(t.law()).vct == 0.0);
  CHECK(std::get<ChildLangmuir>(t.models[2].law).offset_v == 0.0);
  CHECK(t.published_points.empty());
  CHECK_FALSE(t.base);
  CHECK(t.curve_files.empty());
  CHECK_FALSE(t.ratings.grid_v_negative_max);
  CHECK(within_ratio(t.grid_diode.current_a(-0.6), 0.3e-6, 1e-9));
  CHECK(within_ratio(1 / t.grid_diode.siemens, 2000, 1e-12));  // Koren 1996
  CHECK(t.grid_diode.slope_v == 0.09);                         // kT/e at 1044 K
  CHECK(t.grid_diode_source.find("usual values") == 0);
  const auto schema = read_schema("tube.schema.json");
  CHECK(schema_error(schema, schema, card) == "");
}

TEST_CASE("each wrong member of a card is one fault at its place, and the schema sees it too") {
  const auto schema = read_schema("tube.schema.json");
  CHECK(schema_error(schema, schema, whole_card()) == "");
  const std::vector<BadFile> table{
      {R"({"tube": null})", "/tube", "is missing"},
      {R"({"tube": " "})", "/tube", "must not be empty"},
      {R"({"tube": 12})", "/tube", "must be text, is 12"},
      {R"({"sections": 3})", "/sections", "whole number from 1 to 2"},
      {R"({"also_known_as": [1]})", "/also_known_as/0", "must be text"},
      {R"({"base": "noval"})", "/base", "must be an object {}"},
      {R"({"base": {"socket": null}})", "/base/socket", "is missing: the kind of socket"},
      {R"({"base": {"source": null}})", "/base/source", "from memory"},
      {R"({"base": {"pins": null}})", "/base/pins", "what each pin leads to"},
      {R"({"base": {"pins": ["plate 1"]}})", "/base/pins", "4"},
      {R"({"base": {"pins": ["plate 1", "grid", "cathode 1", "heater"]}})", "/base/pins/1", "grid 1"},
      {R"({"curves": [1]})", "/curves/0", "must be text"},
      {R"({"ratings": null})", "/ratings", "is missing"},
      {R"({"ratings": {"plate_v_max": null}})", "/ratings/plate_v_max", "is missing"},
      {R"({"ratings": {"plate_w_max": null}})", "/ratings/plate_w_max", "is missing"},
      {R"({"ratings": {"plate_v_max": 300}})", "/ratings/plate_v_max", "must be an object {}, is 300"},
      {R"({"ratings": {"plate_v_max": {"source": null}}})", "/ratings/plate_v_max/source", "from memory"},
      {R"({"ratings": {"plate_v_max": {"source": ""}}})", "/ratings/plate_v_max/source", "must not be empty"},
      {R"({"ratings": {"plate_v_max": {"value": -300}}})", "/ratings/plate_v_max/value",
       "from 1 V to 10 kV, is -300 V"},
      {R"({"ratings": {"plate_v_max": {"value": "300 W"}}})", "/ratings/plate_v_max/value",
       "is a power, where a voltage"},
      {R"({"ratings": {"plate_max_v": {"value": 300, "source": "s"}}})", "/ratings/plate_max_v",
       "is not a known member"},
      {R"({"ratings": {"heater_cathode_v_max": {"positive": {"value": 300, "source": "s"}}}})",
       "/ratings/heater_cathode_v_max/positive", "is not a known member"},
      {R"({"ratings": {"grid_leak_ohm_max": {"fixed_bias": null, "fixed": {"value": 300, "source": "s"}}}})",
       "/ratings/grid_leak_ohm_max/fixed", "did you mean \"fixed_bias\""},
      {R"({"heater": {"current_a": 0}})", "/heater/current_a", "above 0 A and at most 10 A, is 0 A"},
      {R"({"heater": {"source": null}})", "/heater/source", "is missing"},
      {R"({"capacitance_f": {"grid_plate": 1.7}})", "/capacitance_f/grid_plate", "at most 100 pF, is 1.7 F"},
      {R"({"grid_conduction_v": {"value": 12}})", "/grid_conduction_v/value", "from -3 V to 1 V"},
      {R"({"ratings": {"grid_v_negative_max": {"value": -50}}})", "/ratings/grid_v_negative_max/value",
       "from 1 V to 10 kV, is -50 V"},
      {R"({"grid_current": {"series_ohm": null}})", "/grid_current/series_ohm",
       "is missing: resistance in series"},
      {R"({"grid_current": {"series_ohm": 1}})", "/grid_current/series_ohm",
       "from 10 \u03a9 to 1 M\u03a9, is 1 \u03a9"},
      {R"({"grid_current": {"slope_v": 0.9}})", "/grid_current/slope_v", "from 50 mV to 200 mV, is 900 mV"},
      {R"({"grid_current": {"source": null}})", "/grid_current/source", "from memory"},
      {R"({"grid_current": 3})", "/grid_current", "must be an object {}, is 3"},
      {R"({"grid_conduction_v": null})", "/grid_conduction_v", "is missing"},
      {R"({"spread_pct": {"plate_current": 120}})", "/spread_pct/plate_current", "from 0 % to 100 %"},
      {R"({"models": []})", "/models", "must not be empty"},
      {R"({"models": [{"form": "koren", "mu": 100, "source": "s"}]})", "/models/0/form",
       "did you mean \"koren_1996\"?"},
      {R"({"models": [{"source": "s"}]})", "/models/0/form", "is missing"},
      {R"({"models": [{"form": "child_langmuir", "k": 1e-3, "source": "s"}]})", "/models/0/mu",
       "amplification factor"},
      {R"({"models": [{"form": "child_langmuir", "k": 1e-3, "mu": 1e4, "source": "s"}]})", "/models/0/mu",
       "from 1 to 500"},
      {R"({"models": [{"form": "child_langmuir", "k": 1e-3, "mu": 100, "kp": 1, "source": "s"}]})",
       "/models/0/kp", "not a known member"},
      {R"({"models": [{"form": "child_langmuir", "k": 1e-3, "mu": 100}]})", "/models/0/source", "is missing"},
      {R"({"published_points": [{"plate_v": 250, "plate_current_a": 1e-3}]})", "/published_points/0/source",
       "is missing"},
      {R"({"published_points": [{"plate_v": 250, "source": "s"}]})", "/published_points/0/plate_current_a",
       "is missing"},
      {R"({"published_points": [{"plate_v": 250, "plate_current_a": 1.2, "source": "s"}]})",
       "/published_points/0/plate_current_a", "to 1 A, is 1.2 A"},
      {R"({"published_points": [{"plate_v": 250, "plate_current_a": 1e-3, "grid_v": -2, "cathode_ohm": 500, "source": "s"}]})",
       "/published_points/0/cathode_ohm", "exclude each other"},
      {R"({"notes": ["a"]})", "/notes", "must be text, is a list"},
      {R"({"note": "a"})", "/note", "is not a known member"},
  };
  for (const auto& row : table) {
    CAPTURE(row.patch);
    const auto card = patched(whole_card(), row.patch);
    const auto result = read_tube_text(card.dump(1), "card");
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(other_than(std::get<InputErrors>(result), row.pointer, row.description) == "");
    CHECK((schema_error(schema, schema, card) != "") == row.schema_sees);
  }
}

TEST_CASE("all faults of a card are told at once") {
  const auto card =
      patched(whole_card(),
              R"({"tube": 1, "heater": {"volt_v": 0}, "models": [{"form": "x", "source": ""}], "y": 2})");
  CHECK(std::get<InputErrors>(read_tube_text(card.dump(), "card")).list.size() == 5);
  CHECK(std::get<InputErrors>(read_tube_text("[]", "card")).list.size() == 1);
}
