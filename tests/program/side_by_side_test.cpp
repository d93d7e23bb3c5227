// `antiphase evaluate A.json B.json`: the same figures as one by one, beside each other.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "results/text/lines.h"
#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kDesigns = ANTIPHASE_SOURCE "/configs/designs/";

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::vector<std::string> every_design() {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator(kDesigns))
    files.push_back(entry.path().string());
  return files;
}

}  // namespace

TEST_CASE("designs side by side have the figures that each has alone") {
  std::string all;
  for (const std::string& file : every_design()) all += " " + file;
  const Answer answer = run("evaluate --json" + all);
  REQUIRE(answer.code == 0);
  const json list = json::parse(answer.out);
  REQUIRE(list.size() == every_design().size());
  for (std::size_t k = 0; k < list.size(); ++k) {
    CHECK(list[k].at("file") == every_design()[k]);
    const json alone = json::parse(run("evaluate --json " + every_design()[k]).out);
    CHECK(list[k].at("evaluation") == alone);
    std::size_t broken = 0;
    for (const json& limit : alone.at("limits")) broken += limit.at("kept") == false;
    CHECK((broken == 0) == list[k].at("limits_broken").empty());
  }
}

TEST_CASE("a table of any number of designs fits a terminal, with a caution") {
  std::string all;
  for (const std::string& file : every_design()) {
    all += " " + file;
    if (all.find(' ', 1) == std::string::npos) continue;  // one design has its own report
    const Answer answer = run("evaluate" + all);
    REQUIRE(answer.code == 0);
    CHECK(has(answer.out, "High voltage can kill."));
    for (const char* row : {"gain", "distortion", "output impedance", "limits broken"})
      CHECK(has(answer.out, "\n  " + std::string(row)));
    for (std::size_t from = 0; from < answer.out.size();) {
      const std::size_t end = std::min(answer.out.find('\n', from), answer.out.size());
      const std::string line = answer.out.substr(from, end - from);
      CAPTURE(line);
      CHECK(display_width(line) <= 80);
      from = end + 1;
    }
  }
}

TEST_CASE("what several designs cannot have is refused, and each faulty file is told") {
  const std::string one = kDesigns + "negative_rail_sink.json", two = kDesigns + "high_mu_self_biased.json";
  Folder folder;
  const std::string parts = (folder / "parts.csv").string();
  CHECK(run("evaluate " + one + " " + two + " --parts " + parts).code == 2);
  CHECK_FALSE(std::filesystem::exists(parts));
  const std::string brief = ANTIPHASE_SOURCE "/configs/briefs/rehearsal_room.json";
  const Answer mixed = run("evaluate " + one + " " + brief + " " + (folder / "none.json").string());
  CHECK(mixed.code == 3);
  CHECK(mixed.out.empty());
  CHECK(has(mixed.err, "rehearsal_room.json:1:1: is a brief, not a design"));
  CHECK(has(mixed.err, "none.json"));
  const Answer design = run("search " + one);
  CHECK(design.code == 2);
  CHECK(has(design.err, "is a design, not a brief"));
  CHECK(std::count(design.err.begin(), design.err.end(), '\n') == 1);
}
