#include "results/describe/candidate_columns.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

std::size_t place_of(const char* figure) {
  return static_cast<std::size_t>(find_figure(figure) - figures().data());
}

std::string only_cell(const Record& r, const char* figure) {
  return figure_columns({&r}, {place_of(figure)}).front().cells.front();
}

}  // namespace

TEST_CASE("a split load has its loads in plate and cathode, a pair two plate resistors") {
  Design d = sample::self_biased_pair(sample::tube_12au7());
  const auto headings = [](const Design& design) {
    Record r;
    r.design = design;
    std::string all;
    for (const TextColumn& c : build_columns({&r})) all += c.heading + "|";
    return all;
  };
  CHECK(headings(d).find("plate 2\nkΩ") != std::string::npos);
  d.circuit = CircuitKind::split_load;
  CHECK(headings(d).find("plate 1") == std::string::npos);
  CHECK(headings(d).find("plate 2") == std::string::npos);
  CHECK(headings(d).find("plate\nload kΩ|cathode\nload kΩ") != std::string::npos);
}

TEST_CASE("what shows in no decimal is 0, and a corner that is not there is none") {
  Record r;
  r.figures.assign(figures().size(), std::nullopt);
  r.figures[place_of("balance_pct")] = 3e-6;
  r.figures[place_of("low_corner_hz")] = FrequencyFigures::kLowest_hz;
  r.figures[place_of("high_corner_hz")] = FrequencyFigures::kHighest_hz;
  CHECK(only_cell(r, "balance_pct") == "0");
  CHECK(only_cell(r, "low_corner_hz") == "none");
  CHECK(only_cell(r, "high_corner_hz") == "none");
  r.figures[place_of("low_corner_hz")] = 6.2;
  CHECK(only_cell(r, "low_corner_hz") == "6.20");
}

TEST_CASE("scores have three digits, large or small") {
  Record r;
  r.score = 0.03924;
  CHECK(score_text(r) == "0.0392");
  r.score = 1.1331;
  CHECK(score_text(r) == "1.13");
}
