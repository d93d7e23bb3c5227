// Spread from design to sheet, as its user sees it.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {
const std::string kDesign = ANTIPHASE_SOURCE "/configs/designs/high_mu_self_biased.json";
}

TEST_CASE("spread gives the same bytes for any number of threads, others for another seed") {
  const std::string ask = "spread " + kDesign + " --samples 1000 --select --json --threads ";
  const Answer one = run(ask + "1"), three = run(ask + "3"), other = run(ask + "3 --seed 2");
  REQUIRE(one.code == 0);
  CHECK(one.out == three.out);
  CHECK(one.out != other.out);
  const json document = json::parse(one.out);
  CHECK(document.at("builds") == 1000);
  for (const json& f : document.at("figures")) {
    CAPTURE(f.at("name").get<std::string>());
    CHECK(f.at("least") <= f.at("low"));
    CHECK(f.at("low") <= f.at("median"));
    CHECK(f.at("median") <= f.at("high"));
    CHECK(f.at("high") <= f.at("most"));
  }
  const json& y = document.at("yield");
  CHECK(y.at("low_95") <= y.at("value"));
  CHECK(y.at("value") <= y.at("high_95"));
  CHECK(document.at("measuring_sheet").at("safety").get<std::string>().find("kill") != std::string::npos);
}

TEST_CASE("the terminal sheet begins with safety and stays within 80 columns") {
  const Answer answer = run("spread " + kDesign + " --samples 500 --sheet");
  CHECK(answer.code == 0);
  CHECK(answer.out.find("High voltage can kill") < answer.out.find("Without signal"));
  for (std::size_t i = 0, width = 0; i < answer.out.size(); ++i) {
    width = answer.out[i] == '\n' ? 0 : width + ((answer.out[i] & 0xc0) != 0x80);
    REQUIRE(width <= 80);
  }
}

TEST_CASE("wrong tolerances are named with their place") {
  Folder folder;
  write_text(folder / "t.json", "{\n  \"resistor_pct\": 80,\n  \"single\": {\"/plate_ohm/7\": 1}\n}\n");
  const Answer answer = run("spread " + kDesign + " --tolerances " + (folder / "t.json").string());
  CHECK(answer.code == 2);
  CHECK(answer.err.find(":2:") != std::string::npos);
  CHECK(answer.err.find("/resistor_pct") != std::string::npos);
  CHECK(answer.err.find(":3:") != std::string::npos);
}
