// A starting brief out of a handful of facts: the reader takes it, and it says where its values are from.
#include "optimize/studies/start/starting_brief.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "configs/read_brief.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

std::string brief_for(const StartingFacts& facts) {
  const auto made = starting_brief(facts, shipped(), "brief.schema.json");
  if (const auto* trouble = std::get_if<Trouble>(&made)) FAIL(trouble->what);
  return std::get<std::string>(made);
}

std::string trouble_for(const StartingFacts& facts) {
  const auto made = starting_brief(facts, shipped(), "brief.schema.json");
  const auto* trouble = std::get_if<Trouble>(&made);
  return trouble ? trouble->what : "";
}

Brief read(const std::string& text) {
  const auto brief = read_brief_text(text, "new", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&brief)) FAIL(in_words(*errors), text);
  return std::get<Brief>(brief);
}

/// A note that begins with a name, or nothing.
std::string note_of(const std::string& text, const std::string& name) {
  const json brief = json::parse(text);
  for (const auto& note : brief.at("notes"))
    if (note.get<std::string>().starts_with(name)) return note;
  return "";
}

/// The bias of a type whose card publishes none.
std::string bias_not_on_card(const OutputValve& valve) {
  return valve.conditions.empty() ? "-70" : "";
}

}  // namespace

TEST_CASE(
    "for every output valve and kind of bias the reader takes the brief, and the leak is within its card") {
  for (const OutputValve& valve : shipped().output_valves())
    for (const char* bias : {"", "fixed", "cathode"})
      for (const char* stage : {"", "split_load", "gain_and_splitter", "gain_and_split_load",
                                "floating_paraphase", "gain_and_paraphase"}) {
        CAPTURE(valve.name);
        CAPTURE(bias);
        CAPTURE(stage);
        StartingFacts facts;
        facts.pair = valve.name;
        facts.bias = bias;
        facts.bias_v = bias_not_on_card(valve);
        facts.stage = stage;
        // A paraphase's resistors would draw a fixed bias away: such a pair gets none.
        const bool paraphase = std::string(stage).find("paraphase") != std::string::npos;
        if (const std::string no = trouble_for(facts); paraphase && std::string(bias) != "cathode") {
          if (std::string(bias) == "fixed") REQUIRE(!no.empty());
          if (!no.empty()) CHECK(no.find("--bias cathode") != std::string::npos);
          if (!no.empty()) continue;
        }
        const std::string text = brief_for(facts);
        const Brief brief = read(text);
        const Design& given = brief.space.given;
        CHECK(given.output_valve == &valve);
        CHECK(given.output_valve_bias_v < 0);
        CHECK(given.swing_peak_v > 0);
        const auto& limit = given.output_valve_bias == OutputBias::cathode
                                ? valve.grid_leak_ohm_max_self_bias
                                : valve.grid_leak_ohm_max_fixed_bias;
        CHECK(given.load_ohm <= limit->value);
        CHECK((std::string(bias) != "cathode" || given.output_valve_bias == OutputBias::cathode));
        CHECK((!paraphase || given.output_valve_bias == OutputBias::cathode));
        CHECK(given.main_supply_v > brief.space.supply_v.high);
        CHECK(json::parse(text).at("$schema") == "brief.schema.json");
        for (const char* name : {"supply ", "target:", "load.ohm:", "variables.supply_v:", "heater_v:"})
          CHECK(note_of(text, name) != "");
      }
}

TEST_CASE("what is not said follows from the card, and the note tells how") {
  StartingFacts facts;
  facts.pair = "EL84";
  facts.supply = "300";
  const std::string text = brief_for(facts);
  // The EL84's card: 130 ohm at 300 V, 28.3 V from grid to grid, and -14.7 V fixed at the same voltage.
  const Brief brief = read(text);
  CHECK(within(brief.space.given.swing_peak_v, 28.3 / 2 * 1.15, 0.006));
  CHECK(brief.space.given.output_valve_bias_v == -14.7);
  CHECK(brief.space.given.output_valve_bias == OutputBias::cathode);
  CHECK(brief.space.given.load_ohm == 470e3);  // the card allows 1 Mohm with cathode bias
  CHECK(note_of(text, "bias cathode, not said").find("Philips EL84") != std::string::npos);
  CHECK(note_of(text, "bias-v -14.7 V").find("fixed bias at the same plate voltage") != std::string::npos);
  CHECK(note_of(text, "supply ").empty());  // it was said

  facts.bias = "fixed";
  const Brief fixed = read(brief_for(facts));
  CHECK(fixed.output_valve_bias_v == -14.7);
  CHECK(within(fixed.space.given.swing_peak_v, 14.7 * 1.15, 1e-9));

  facts.pair =
      "7591";  // 200 ohm at 450 V, 28 V from grid to grid; fixed -21 V at another plate voltage or screen
  facts.supply = "450";
  facts.bias = "cathode";
  CHECK(within(read(brief_for(facts)).space.given.swing_peak_v, 28 / 2 * 1.15, 0.006));

  facts.pair = "6V6";  // fixed conditions only
  facts.supply = "285 V";
  const std::string derived = brief_for(facts);
  CHECK(read(derived).output_valve_bias_v == -19);
  CHECK(note_of(derived, "bias-v").find("has no condition with a cathode resistor") != std::string::npos);
}

TEST_CASE("what is said counts: bias, tubes, stage, feedback, series") {
  StartingFacts facts;
  facts.pair = "6CA7";
  facts.supply = "430";
  facts.bias = "fixed";
  facts.bias_v = "36.5";  // a size is a bias too
  facts.stage = "gain_and_splitter";
  facts.at_hand = "12AT7, ecc82";
  facts.feedback = "14 dB";
  facts.source_v = "0.7";
  facts.power = "35";
  facts.series = "E12";
  const std::string text = brief_for(facts);
  const Brief brief = read(text);
  CHECK(brief.output_valve_bias_v == -36.5);
  REQUIRE(brief.space.tubes.size() == 2);
  CHECK(brief.space.tubes[1]->name == "12AU7");
  CHECK(brief.space.given.feedback.wanted_db == 14);
  CHECK(brief.space.given.feedback.source_v_rms == 0.7);
  // 35 W into 8 ohm: sqrt(2 x 35 x 8) V peak, for 36.5 V at each grid
  CHECK(within(brief.space.given.feedback.output_gain, std::sqrt(2 * 35 * 8.0) / 36.5, 6e-4));
  CHECK(json::parse(text).at("parts").at("resistors") == "E12");
  CHECK(note_of(text, "feedback.output_gain").find("35 W into 8 ohm") != std::string::npos);
}

TEST_CASE("facts that cannot be are told with the option and what would be right") {
  StartingFacts facts;
  CHECK(trouble_for(facts).starts_with("--pair is missing"));
  facts.pair = "EL48";
  CHECK(trouble_for(facts).find("did you mean \"EL84\"") != std::string::npos);
  facts.pair = "300B";
  CHECK(trouble_for(facts).find("--bias-v is missing") == 0);
  CHECK(trouble_for(facts).find("publishes no bias") != std::string::npos);
  facts.pair = "EL84";
  facts.supply = "5 mA";
  CHECK(trouble_for(facts).find("--supply: \"5 mA\" is a current, where a voltage in V is meant") == 0);
  facts.supply = "300,5";
  CHECK(trouble_for(facts) == "--supply: \"300,5\" has a decimal comma; write \"300.5\"");
  facts.supply = "300";
  facts.bias = "cathod";
  CHECK(trouble_for(facts).find("did you mean \"cathode\"") != std::string::npos);
  facts.bias = "";
  facts.at_hand = "12AX8";
  CHECK(trouble_for(facts).find("--at-hand: there is no tube card of a \"12AX8\"") == 0);
  facts.at_hand = "";
  facts.feedback = "12";
  CHECK(trouble_for(facts).find("--feedback belongs to overall feedback") == 0);
  facts.stage = "gain_and_splitter";
  CHECK(trouble_for(facts).find("--power is missing") == 0);
  facts.series = "E23";
  facts.power = "12";
  CHECK(trouble_for(facts).find("--series") == 0);
}

TEST_CASE("answers are asked for one by one, wrong ones again, and empty ones are the default") {
  std::vector<std::string> asked, wrongs;
  const auto made =
      starting_brief({}, shipped(), "s",
                     [&](const StartingFact& fact, const FactDefault& fallback, const std::string& wrong) {
                       asked.emplace_back(fact.flag);
                       wrongs.push_back(wrong);
                       if (fact.flag == "pair")
                         return std::optional<std::string>(wrong.empty() ? "EL43x" : "EL34");
                       CHECK((!fallback.text.empty() && !fallback.reason.empty()));
                       return std::optional<std::string>("");
                     });
  REQUIRE(std::holds_alternative<std::string>(made));
  CHECK(asked ==
        std::vector<std::string>{"pair", "pair", "supply", "bias", "bias-v", "stage", "at-hand", "series"});
  CHECK(wrongs[1].find("EL43x") != std::string::npos);
  StartingFacts same;
  same.pair = "EL34";
  CHECK(std::get<std::string>(made) == std::get<std::string>(starting_brief(same, shipped(), "s")));
  const auto ended =
      starting_brief({}, shipped(), "s", [](const auto&...) { return std::optional<std::string>(); });
  CHECK(std::get<Trouble>(ended).what.find("ended") != std::string::npos);
}
