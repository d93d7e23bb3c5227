// Test points: one list for drawing, sheet and files of readings.
#include "objectives/diagnosis/test_points.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "configs/read_design.h"
#include "results/make_record.h"
#include "results/page/circuit_drawing.h"
#include "tests/support/shipped.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

std::vector<Design> shipped_designs() {
  std::vector<Design> all;
  for (const auto& file : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/designs")) {
    const auto read = read_design(file.path().string(), shipped());
    REQUIRE(std::holds_alternative<Design>(read));
    all.push_back(std::get<Design>(read));
  }
  return all;
}

/// As points_of() writes them: "2", "1-2".
std::vector<std::string> numbers_in(const std::string& points) {
  const auto dash = points.find('-');
  if (dash == points.npos) return {points};
  return {points.substr(0, dash), points.substr(dash + 1)};
}

}  // namespace

TEST_CASE("each node that a reading needs has one number, counted from 1") {
  for (const Design& d : shipped_designs()) {
    const auto points = test_points(d);
    std::set<Node> nodes;
    for (std::size_t k = 0; k < points.size(); ++k) {
      CHECK(points[k].number == static_cast<int>(k) + 1);
      CHECK(nodes.insert(points[k].node).second);
    }
    for (const BenchReading& r : bench_readings(d)) {
      CAPTURE(r.name);
      for (const std::string& number : numbers_in(points_of(r, points))) {
        const auto n = static_cast<std::size_t>(std::stoi(number));
        REQUIRE(n >= 1);
        REQUIRE(n <= points.size());
      }
      CHECK(points[static_cast<std::size_t>(std::stoi(points_of(r, points))) - 1].node == r.a);
    }
  }
}

TEST_CASE("every test point of a reading at a tube or a supply is in the drawing once") {
  for (const Design& d : shipped_designs()) {
    const Schematic drawn = test_point_schematic(make_record(d, {}, Depth::rest));
    const auto points = test_points(d);
    const auto times = [&](const std::string& words) {
      return std::count_if(drawn.texts().begin(), drawn.texts().end(), [&](const Schematic::Words& w) {
        return w.text == words || w.text.ends_with(", " + words);  // beside an output's own
      });
    };
    CAPTURE(static_cast<int>(d.circuit));
    for (const BenchReading& r : bench_readings(d))
      for (const std::string& number : numbers_in(points_of(r, points))) {
        CAPTURE(r.name);
        CHECK(times("TP" + number) == 1);
      }
  }
}
