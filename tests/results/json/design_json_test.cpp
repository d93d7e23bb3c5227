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

std::vector<Design> designs() {
  Design mixed = sample::self_biased_pair();
  mixed.tube[1] = &sample::tube_12au7();
  mixed.heater_v = 40;
  mixed.load_f = 61.3e-12;
  Design bare = sample::gain_stage();
  bare.cathode_unbypassed_ohm = 0;
  return {sample::self_biased_pair(),
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

TEST_CASE("the design reader takes back every written design, value for value") {
  TubeLibrary library;
  library.add(sample::tube_12ax7());
  library.add(sample::tube_12au7());
  const std::string file = "design_json_test.tmp.json";
  for (const Design& written : designs()) {
    std::ofstream(file) << design_json(written);
    const auto read = read_design(file, library);
    if (const auto* faults = std::get_if<Faults>(&read)) FAIL(in_words(*faults));
    Design back = std::get<Design>(read);
    for (std::size_t i : {0u, 1u})  // the library owns other copies of the same cards
      if (back.tube[i])
        back.tube[i] = back.tube[i]->name == "12AX7" ? &sample::tube_12ax7() : &sample::tube_12au7();
    if (sections(written.circuit) == 1) back.tube[1] = written.tube[1];
    CHECK(same_design(back, written));
  }
  std::remove(file.c_str());
}
