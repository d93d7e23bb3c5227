#include "results/json/design_json.h"

#include <doctest/doctest.h>

#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>

#include "configs/read_design.h"
#include "results/describe/trade_off.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

const OutputValve& output_valve() {
  static const OutputValve valve = [] {
    OutputValve v;
    v.name = "EL34";
    return v;
  }();
  return valve;
}

std::vector<Design> designs() {
  Design mixed = sample::self_biased_pair();
  mixed.tube[1] = &sample::tube_12au7();
  mixed.heater_v = 40;
  mixed.load_f = 61.3e-12;
  mixed.spread = {SectionSpread{1.07, 1}, SectionSpread{0.9, 0.97}};
  Design bare = sample::gain_stage();
  bare.cathode_unbypassed_ohm = 0;
  Design dropped = sample::direct_pair();
  dropped.supply_v = 0;
  dropped.main_supply_v = 400;
  dropped.dropping_ohm = 12e3;
  dropped.reservoir_f = 22e-6;
  dropped.bias.grid_clamp = true;
  dropped.output_valve = &output_valve();
  dropped.output_valve_bias_v = -38;
  Design cathode = dropped;
  cathode.output_valve_bias = OutputBias::cathode;
  return {dropped,
          cathode,
          sample::self_biased_pair(),
          sample::direct_pair(),
          sample::rail_pair(),
          sample::gain_stage(),
          mixed,
          bare};
}

}  // namespace

TEST_CASE("a written design has the layout of a design file") {
  const auto j = nlohmann::json::parse(design_json(sample::self_biased_pair()));
  CHECK(j == nlohmann::json::parse(R"({"stage": "long_tailed_pair", "tube": "12AX7", "supply_v": 320,
      "plate_ohm": [100000, 110000], "bias": {"form": "self_biased", "ohm": 820},
      "tail": {"form": "resistor", "ohm": 39000}, "grid_leak_ohm": 1000000, "load_ohm": 220000,
      "coupling_f": 1e-07, "swing_peak_v": 32, "clean_limit_pct": 3})"));
}

TEST_CASE("what a design hangs on and drives is written, and no supply that is solved") {
  const auto j = nlohmann::json::parse(design_json(designs().front()));
  CHECK_FALSE(j.contains("supply_v"));
  CHECK(j.at("main_supply_v") == 400);
  CHECK(j.at("bias") ==
        nlohmann::json::parse(R"({"form": "direct_coupled", "grid_clamp": true, "grid_v": 90})"));
  CHECK(j.at("output_valve") == nlohmann::json::parse(R"({"type": "EL34", "bias_v": -38})"));
  Design cathode = designs().front();
  cathode.output_valve_bias = OutputBias::cathode;
  CHECK(nlohmann::json::parse(design_json(cathode)).at("output_valve") ==
        nlohmann::json::parse(R"({"type": "EL34", "bias": "cathode", "bias_v": -38})"));
}

TEST_CASE("the design reader takes back every written design, value for value") {
  TubeLibrary library;
  library.add(sample::tube_12ax7());
  library.add(sample::tube_12au7());
  library.add(output_valve());
  const std::string file = "design_json_test.tmp.json";
  for (const Design& written : designs()) {
    std::ofstream(file) << design_json(written);
    const auto read = read_design(file, library);
    if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
    Design back = std::get<Design>(read);
    for (std::size_t i : {0u, 1u})  // the library owns other copies of the same cards
      if (back.tube[i])
        back.tube[i] = back.tube[i]->name == "12AX7" ? &sample::tube_12ax7() : &sample::tube_12au7();
    if (back.output_valve) {
      CHECK(back.output_valve == library.find_output_valve("EL34"));
      back.output_valve = &output_valve();
    }
    if (sections(written.circuit) == 1) back.tube[1] = written.tube[1];
    CHECK(same_design(back, written));
  }
  std::remove(file.c_str());
}
