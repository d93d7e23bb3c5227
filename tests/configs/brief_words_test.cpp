#include <doctest/doctest.h>

#include "configs/read_brief.h"
#include "tests/configs/example_files.h"
#include "tests/support/shipped.h"

using namespace antiphase;
using namespace antiphase::test;

namespace {

std::string words_of(const std::string& patch) {
  const auto library = example_library();
  std::string text;
  for (const auto& sentence :
       brief_in_words(std::get<Brief>(read_brief_text(patched(short_brief(), patch).dump(), "b", library)))) {
    CHECK(sentence.back() == '.');
    text += sentence + "\n";
  }
  return text;
}

}  // namespace

TEST_CASE("the words of a brief say the target and where it comes from") {
  CHECK(words_of("{}").find("Each output has to swing 25 V peak.\n") != std::string::npos);
  CHECK(words_of(R"({"target": {"swing_peak_v": null, "output_valve_bias_v": -38}})")
            .find("swing 43.7 V peak: the output valve's bias of -38 V, times 1.15 for margin.\n") !=
        std::string::npos);
  std::string text;
  const auto brief = patched(short_brief(), R"({
    "load": {"output_valve": "EL84", "bias": "cathode", "bias_v": -9},
    "target": {"swing_peak_v": null, "output_valve_cathode_ohm": 130, "output_valve_plate_v": 250,
               "drive_margin": 1.2}})");
  for (const auto& sentence :
       brief_in_words(std::get<Brief>(read_brief_text(brief.dump(), "b", testing::shipped()))))
    text += sentence + "\n";
  CHECK(text.find(
            "swing 13.56 V peak: half of 22.6 V, the drive from grid to grid that the card publishes for a "
            "pair with a cathode resistor of 130 \u03a9 at 250 V (Philips EL84 data sheet") !=
        std::string::npos);
  CHECK(text.find("type EL84, biased by its cathode, at -9 V, with a leak of") != std::string::npos);
}

TEST_CASE("the words of a brief say every range as it was given") {
  const auto words = words_of(
      R"({"variables": {"supply_v": {"from": 300, "to": 400, "step": 10}, "plate_ohm": ["47k", "100k"]}})");
  CHECK(words.find("supply 300 V to 400 V in steps of 10 V") != std::string::npos);
  CHECK(words.find("plate current 500 \u00b5A to 5 mA per section") != std::string::npos);
  CHECK(words.find("plate resistor 47 k\u03a9 or 100 k\u03a9") != std::string::npos);
  CHECK(words.find("tail 0.05 to 0.4") != std::string::npos);
}

TEST_CASE("the words of a brief say what is given of single parts, and no default in its place") {
  const auto words = words_of(
      R"({"variables": {"tail_ohm": ["22k", "10k"], "bias_ohm": "1k", "grid_leak_ohm": "470k", "rail_v": -60,
                        "bias_form": ["self_biased", "negative_rail"]}})");
  CHECK(words.find("tail resistor 10 k\u03a9 or 22 k\u03a9") != std::string::npos);
  CHECK(words.find("bias resistor 1 k\u03a9") != std::string::npos);
  CHECK(words.find("grid leak 470 k\u03a9") != std::string::npos);
  CHECK(words.find("grid leak 1 M\u03a9") == std::string::npos);
  CHECK(words.find("negative rail -60 V") != std::string::npos);
  CHECK(words.find("rail is open") == std::string::npos);
}

TEST_CASE("the words of a brief name limits, forms, parts and seed") {
  const auto words = words_of(
      R"({"variables": {"bias_form": ["self_biased", "negative_rail"], "tail_form": ["constant_current"]},
    "rail_v": -60, "parts": {"resistors": "E96"}, "limits": [{"figure": "balance_pct", "at_most": 2}], "search": {"seed": 7}})");
  CHECK(words.find("Bias: self-biased or tail to a negative rail; tail: a constant-current sink.\n") !=
        std::string::npos);
  CHECK(words.find("The negative rail is -60 V.\n") != std::string::npos);
  CHECK(words.find("E96") != std::string::npos);
  CHECK(words.find("Limit: size of balance at most 2 %.\n") != std::string::npos);
  CHECK(words.find("seed 7.\n") != std::string::npos);
}

TEST_CASE("the words of a brief say what the low frequency asks for") {
  CHECK(words_of("{}").find("low end") == std::string::npos);
  CHECK(words_of(R"({"low_frequency_hz": 10, "parts": {"capacitors": "E12"}})")
            .find("Each output's -3 dB point at the low end is at or below 10 Hz; capacitors that are not "
                  "given are "
                  "chosen for it from the E12 series.\n") != std::string::npos);
  CHECK(words_of(R"({"stage": "common_cathode", "low_frequency_hz": "7.5 Hz"})").find("below 7.5 Hz") !=
        std::string::npos);
}

TEST_CASE("a gain stage is not told about tails") {
  const auto words = words_of(R"({"stage": "common_cathode"})");
  CHECK(words.find("tail") == std::string::npos);
  CHECK(words.find("The output has to swing 25 V peak.\n") != std::string::npos);
}

TEST_CASE("the words of a brief tell the output valve and where its capacitance is from") {
  CHECK(words_of(R"({"load": {"output_valve": "EL34"}})")
            .find("Each output drives the grid of an output valve, type EL34 at -38 V, with a leak of 220 "
                  "k\u03a9 and a "
                  "capacitance of 26 pF, the valve's own as its card has it, without wiring.\n") !=
        std::string::npos);
  CHECK(words_of(R"({"load": {"output_valve": "EL84", "bias_v": -11}})")
            .find("a capacitance of 0 F (its card gives none).\n") != std::string::npos);
}

TEST_CASE("the words of a brief tell the main supply and the clamp diodes") {
  const auto words = words_of(
      R"({"main_supply_v": 380, "reservoir_f": "22u", "variables": {"bias_form": ["direct_coupled"]}})");
  CHECK(words.find("hangs on a main supply of 380 V behind a dropping resistor") != std::string::npos);
  CHECK(words.find("The reservoir capacitor is 22 \u00b5F.\n") != std::string::npos);
  CHECK(words.find("have a clamp diode from each grid to the cathode") != std::string::npos);
  const auto bare = words_of(R"({"grid_clamp": false, "variables": {"bias_form": ["direct_coupled"]}})");
  CHECK(bare.find("so such stages break the limit for cold grids.\n") != std::string::npos);
  CHECK(words_of("{}").find("clamp") == std::string::npos);
}
