#include "results/terminal/report_text.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

#include "results/describe/safety.h"
#include "results/text/lines.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

void fits_the_screen(const std::string& text, std::size_t screen = 80) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    CHECK_MESSAGE(display_width(line) <= screen, line);
    CHECK_MESSAGE((line.empty() || line.back() != ' '), line);
  }
}

}  // namespace

TEST_CASE("what a search prints fits 80 columns and ends with the safety line") {
  const std::string text = report_text(sample::report());
  fits_the_screen(text);
  CHECK(text.find(wrapped(kSafetyLine)) == text.size() - wrapped(kSafetyLine).size());
  CHECK(text.find('\x1b') == std::string::npos);
}

TEST_CASE("the widest values still fit 80 columns") {
  Report report = sample::report();
  for (Record& r : report.candidates) {
    r.rank = 100;
    r.remark = "balance nearest zero, most headroom";
    r.score = -1234.5678;
    r.design.plate_ohm = {12.1e3, 13.3e3};
    r.design.supply_v = 1450;
    for (auto& f : r.figures) f = -12345.678;
  }
  fits_the_screen(ranked_table(report));
}

TEST_CASE("ranks stand in both tables, in order, and no more than asked") {
  const Report report = sample::report();
  const std::string text = ranked_table(report, 2);
  const auto second_table = text.find("What it does");
  REQUIRE(second_table != std::string::npos);
  CHECK(text.find("\n   1 ") < second_table);
  CHECK(text.find("\n   1 ", second_table) < text.find("\n   2 ", second_table));
  CHECK(text.find("\n   3 ") == std::string::npos);
  CHECK(text.find("3 more stand in the files.") != std::string::npos);
}

TEST_CASE("the trade-off names each end and the knee once") {
  const std::string text = pareto_summary(sample::report());
  fits_the_screen(text);
  for (const char* name :
       {"east distortion", "east output impedance", "alance nearest zero", "ost headroom", "nee"})
    CHECK_MESSAGE(text.find(name) != std::string::npos, name);
}

TEST_CASE("an unsatisfiable brief is told as such, with what stands in the way") {
  Report report = sample::report();
  for (Record& r : report.candidates) r.feasible = false;
  report.blocked_by = {"supply current \x1b[2J at most 1 mA"};
  const std::string text = report_text(report);
  CHECK(text.find("Nothing satisfies this brief") != std::string::npos);
  CHECK(text.find("at most 1 mA") != std::string::npos);
  CHECK(text.find('\x1b') == std::string::npos);
}

TEST_CASE("an interrupted search says that it is incomplete") {
  Report report = sample::report();
  report.run.finished = false;
  report.run.why_stopped = "interrupted";
  CHECK(report_text(report).find("interrupted") != std::string::npos);
  CHECK(report_text(sample::report()).find("interrupted") == std::string::npos);
}

TEST_CASE("a report without candidates prints no table") {
  CHECK(ranked_table({}) == "No candidates.\n");
}

TEST_CASE("the answer fits any screen of 40 to 80 columns") {
  const Report report = sample::report();
  for (std::size_t screen = 40; screen <= 80; screen += 10) {
    fits_the_screen(report_text(report, screen), screen);
    fits_the_screen(short_report_text(report, screen), screen);
  }
}

TEST_CASE("ten candidates are told in 40 lines, with what is asked first in the table") {
  Report report = sample::report();
  while (report.candidates.size() < 10) report.candidates.push_back(report.candidates.back());
  report.candidates.resize(10);
  const std::string text = short_report_text(report);
  CHECK(std::count(text.begin(), text.end(), '\n') <= 40);
  for (const char* heading : {"gain", "input", "drive"})
    CHECK_MESSAGE(text.find(heading) != std::string::npos, heading);
  CHECK(text.find(wrapped(kSafetyLine)) == text.size() - wrapped(kSafetyLine).size());
  CHECK(text.find("The trade-off") == std::string::npos);
}

TEST_CASE("cautions stand before the tables") {
  Report report = sample::report();
  // No published limit before warm-up, and a supply above the working rating.
  Tube tube = sample::tube_12ax7();
  tube.ratings.plate_cold_v_max.reset();
  report.candidates.front() = sample::record(sample::self_biased_pair(tube), report.demands);
  report.candidates.front().rank = 1;
  for (const std::string& text : {report_text(report), short_report_text(report)}) {
    const auto caution = text.find("Caution, for the first: Until the cathodes are warm");
    REQUIRE(caution != std::string::npos);
    CHECK(caution < text.find("rank"));
  }
}

TEST_CASE("a short answer says what stands in the way, and which sentence stands behind the first") {
  Report report = sample::report();
  Record& first = report.candidates.front();
  first.feasible = true;
  first.explanation.neighbours = 50;
  first.lead.total = 0.25;
  first.lead.figures = {0.2, 0.1, -0.05, 0.0};
  first.rank_in_doubt = true;
  CHECK(short_report_text(report).find("Rank 1 leads the next by 0.250 of score, above all in distortion") !=
        std::string::npos);
  CHECK(short_report_text(report).find("in doubt") != std::string::npos);
  first.feasible = false;
  report.blocked_by = {"supply current at most 1 mA"};
  const std::string blocked = short_report_text(report);
  CHECK(blocked.find("Nothing satisfies this brief") < blocked.find("rank"));
  CHECK(blocked.find("at most 1 mA") != std::string::npos);
  CHECK(blocked.find("leads the next") == std::string::npos);
}
