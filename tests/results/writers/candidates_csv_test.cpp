#include "results/writers/candidates_csv.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>
#include <string>
#include <vector>

#include "configs/read_design.h"
#include "configs/tube_library.h"
#include "results/describe/safety.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

/// A reader of RFC 4180, so that the writer is not checked by itself.
std::vector<std::vector<std::string>> rows_of(const std::string& text) {
  std::vector<std::vector<std::string>> rows{{""}};
  bool quoted = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (quoted) {
      if (c != '"')
        rows.back().back() += c;
      else if (i + 1 < text.size() && text[i + 1] == '"')
        rows.back().back() += text[++i];
      else
        quoted = false;
    } else if (c == '"') {
      quoted = true;
    } else if (c == ',') {
      rows.back().emplace_back();
    } else if (c == '\r' && text[i + 1] == '\n') {
      ++i;
      rows.push_back({""});
    } else {
      rows.back().back() += c;
    }
  }
  rows.pop_back();
  return rows;
}

std::string cell(const std::vector<std::vector<std::string>>& rows, std::size_t row,
                 const std::string& column) {
  const auto it = std::find(rows[0].begin(), rows[0].end(), column);
  REQUIRE_MESSAGE(it != rows[0].end(), column);
  return rows[row][static_cast<std::size_t>(it - rows[0].begin())];
}

}  // namespace

TEST_CASE("one row a candidate, every row as long as the header, names with units") {
  const Report report = sample::report();
  const auto rows = rows_of(candidates_csv(report));
  REQUIRE(rows.size() == report.candidates.size() + 1);
  for (const auto& row : rows) CHECK(row.size() == rows[0].size());
  CHECK(cell(rows, 1, "rank") == "1");
  CHECK(cell(rows, 1, "supply_v") == "320");
  CHECK(std::stod(cell(rows, 1, "plate_ohm_2")) == report.candidates[0].design.plate_ohm[1]);
  for (const Figure& f : figures()) {
    const bool given_too = f.name == "supply_v" || f.name == "feedback_output_impedance_ohm";
    CHECK(!cell(rows, 0, (given_too ? "solved_" : "") + std::string(f.name)).empty());
  }
  CHECK(std::stod(cell(rows, 1, "distortion_pct")) ==
        *report.candidates[0]
             .figures[static_cast<std::size_t>(find_figure("distortion_pct") - figures().data())]);
}

TEST_CASE("bands over draws of the type stand beside the figures, and are empty where there are none") {
  Report report;
  Record banded = sample::record(sample::self_biased_pair()), single = banded;
  banded.bands.draws = 19;
  banded.bands.figures = {{find_figure("plate_current_a"), 1e-3, 0.9e-3, 1.2e-3, false},
                          {find_figure("distortion_pct"), 0.42, 0.3, 0.7, false}};
  banded.rank_in_doubt = true;
  single.bands.draws = 0;
  single.bands.figures = {{find_figure("distortion_pct"), 0.42, 0.42, 0.42, false}};
  report.candidates = {banded, single};
  const auto rows = rows_of(candidates_csv(report));
  CHECK(std::stod(cell(rows, 1, "plate_current_a_low")) == 0.9e-3);
  CHECK(std::stod(cell(rows, 1, "plate_current_a_high")) == 1.2e-3);
  CHECK(cell(rows, 1, "distortion_pct_low") == "0.3");
  CHECK(cell(rows, 1, "distortion_pct_high") == "0.7");
  CHECK(cell(rows, 1, "gain_low").empty());  // a figure that the design has not
  CHECK(cell(rows, 1, "rank_in_doubt") == "yes");
  CHECK(cell(rows, 2, "distortion_pct_low").empty());
  CHECK(cell(rows, 2, "distortion_pct_high").empty());
  CHECK(cell(rows, 2, "rank_in_doubt") == "no");
  report.pareto = {single};  // no bands are worked out for the front
  const auto front = rows_of(pareto_csv(report))[0];
  CHECK(std::find(front.begin(), front.end(), "distortion_pct_low") == front.end());
}

TEST_CASE("the caution stands in every row from which somebody may build") {
  const Report report = sample::report();
  for (const std::string& csv : {candidates_csv(report), pareto_csv(report)}) {
    const auto rows = rows_of(csv);
    for (std::size_t k = 1; k < rows.size(); ++k) CHECK(cell(rows, k, "safety") == kSafetyLine);
  }
}

TEST_CASE("members that apply to no design have no column, where one does not apply its cell is empty") {
  Report report;
  report.candidates = {sample::record(sample::self_biased_pair()), sample::record(sample::rail_pair())};
  const auto rows = rows_of(candidates_csv(report));
  CHECK(std::find(rows[0].begin(), rows[0].end(), "cathode_ohm") == rows[0].end());
  CHECK(cell(rows, 1, "bias_ohm") == "820");
  CHECK(cell(rows, 2, "bias_ohm").empty());
  CHECK(cell(rows, 2, "bias_rail_v") == "-100");
  CHECK(cell(rows, 2, "tail_form") == "constant_current");
}

TEST_CASE("pareto.csv has one row a member of the front and no rank") {
  const Report report = sample::report();
  const auto rows = rows_of(pareto_csv(report));
  CHECK(rows.size() == report.pareto.size() + 1);
  CHECK(rows[0][0] == "score");
}

TEST_CASE("a figure that cannot be reached is an empty cell, and a hostile remark is disarmed") {
  Report report;
  report.candidates = {sample::record(sample::self_biased_pair())};
  report.candidates[0].figures[0] = std::nullopt;
  report.candidates[0].figures[1] = std::nan("");
  report.candidates[0].remark = "=HYPERLINK(\"x\"), knee";
  const auto rows = rows_of(candidates_csv(report));
  CHECK(cell(rows, 1, std::string(figures()[0].name)).empty());
  CHECK(cell(rows, 1, std::string(figures()[1].name)).empty());
  CHECK(cell(rows, 1, "remark") == "'=HYPERLINK(\"x\"), knee");
}

TEST_CASE("no two columns have one name, whatever kinds of designs stand in the rows") {
  const auto library = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  Report all;
  for (const auto& entry : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/designs")) {
    const auto design = read_design(entry.path().string(), std::get<TubeLibrary>(library));
    REQUIRE(std::holds_alternative<Design>(design));
    all.candidates.push_back(sample::record(std::get<Design>(design)));
    all.candidates.back().builds = BuildsRecord{};
  }
  REQUIRE(all.candidates.size() > 10);
  all.pareto = all.candidates;
  all.builds_ranking = BuildsRanking{};
  for (const std::string& text : {candidates_csv(all), pareto_csv(all)}) {
    const auto header = rows_of(text)[0];
    CHECK(std::set<std::string>(header.begin(), header.end()).size() == header.size());
  }
  // What was given and what the solved circuit has stand beside each other.
  const auto rows = rows_of(candidates_csv(all));
  bool dropped = false;
  for (std::size_t row = 1; row < rows.size(); ++row) {
    CHECK(!cell(rows, row, "solved_supply_v").empty());
    dropped |= cell(rows, row, "supply_v").empty();
  }
  CHECK(dropped);
}
