#include "results/writers/report_page.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "results/describe/safety.h"
#include "results/page/assets.h"
#include "results/text/html.h"
#include "tests/results/support/sample_figures.h"

using namespace antiphase;

namespace {

std::string between(const std::string& text, const std::string& begin, const std::string& end) {
  const auto from = text.find(begin);
  REQUIRE(from != std::string::npos);
  const auto to = text.find(end, from + begin.size());
  REQUIRE(to != std::string::npos);
  return text.substr(from + begin.size(), to - from - begin.size());
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + what.size())) ++n;
  return n;
}

const std::string kDataTag = "<script type=\"application/json\" id=\"report-data\">";

}  // namespace

TEST_CASE("the page is one file: no address is fetched, nothing runs but what the policy names") {
  const std::string page = report_page(sample::report());
  const std::string policy = between(page, "Content-Security-Policy\" content=\"", "\">");
  CHECK(policy.find("default-src 'none'") == 0);
  const std::string solver = "'wasm-unsafe-eval'";  // WebAssembly alone; scripts from text stay forbidden
  const auto at = policy.find(solver);
  REQUIRE(at != std::string::npos);
  CHECK(std::string(policy).erase(at, solver.size()).find("unsafe") == std::string::npos);
  CHECK(policy.find("'" + csp_hash(chart_script()) + "'") != std::string::npos);
  CHECK(policy.find("'" + csp_hash(page_script()) + "'") != std::string::npos);
  CHECK(policy.find("style-src '" + csp_hash(page_style()) + "'") != std::string::npos);
  CHECK(count(page, "<script") == 4);  // data, solver, charts, page
  CHECK(count(page, "</script") == 4);
  CHECK(count(page, "<style") == 1);
  const std::string ours = page.substr(0, page.find(kDataTag));
  for (const char* never : {" style=", " onclick=", " src=", "<link", "<iframe", "url("})
    CHECK_MESSAGE(ours.find(never) == std::string::npos, never);
}

TEST_CASE("what the browser hashes is exactly the embedded text") {
  const std::string page = report_page(sample::report());
  CHECK(page.find("<script>" + std::string(chart_script().text) + "</script>") != std::string::npos);
  CHECK(page.find("<script>" + std::string(page_script().text) + "</script>") != std::string::npos);
  CHECK(page.find("<style>" + std::string(page_style().text) + "</style>") != std::string::npos);
  for (const PageAsset* a : {&chart_script(), &page_script(), &page_style()}) {
    CHECK(a->text.find('\r') == std::string_view::npos);  // a browser would turn it into a line feed first
    CHECK(a->text.find("</script") == std::string_view::npos);
    CHECK(a->text.find("</style") == std::string_view::npos);
    CHECK(a->text.find("<!--") == std::string_view::npos);
  }
}

TEST_CASE("text from a brief is shown as text") {
  Report report = sample::report();
  const std::string evil = "</script><b>x\"'&</title></style>";
  report.title = evil;
  report.brief_in_words = {evil};
  report.blocked_by = {evil};
  report.candidates[0].remark = evil;
  report.run.brief_file = evil;
  report.run.families[0].name = evil;
  report.cloud_family[0] = evil;
  const std::string page = report_page(report);
  CHECK(page.find("<b>x") == std::string::npos);
  CHECK(count(page, "</script") == 4);
  CHECK(count(page, "</style") == 1);
  CHECK(count(page, "</title>") == count(report_page(sample::report()), "</title>"));
  CHECK(page.find(html(evil)) != std::string::npos);
  const auto data = nlohmann::json::parse(between(page, kDataTag, "</script>"));
  CHECK(data["families"].at(data["cloud"][0]["family"].get<std::size_t>()) ==
        evil);  // whole, but unable to end its element
}

TEST_CASE("the data of the pictures parses, is finite and covers every design of the table") {
  const Report report = sample::report();
  const std::string page = report_page(report);
  const auto data = nlohmann::json::parse(between(page, kDataTag, "</script>"));
  CHECK(data["figures"].size() == figures().size());
  CHECK(data["entries"].size() == count(page, "<input type=\"radio\""));
  CHECK(data["entries"].size() >= report.candidates.size());
  CHECK(data["front"].size() == report.pareto.size());
  for (const auto& entry : data["entries"]) {
    REQUIRE(entry["sections"].size() == 2);
    CHECK(entry["sections"][0]["curves"].size() == entry["sections"][0]["grids"].size());
    CHECK(entry["sections"][0]["path"].size() > 10);
    CHECK(entry["harmonic_v"][0].size() == 11);
  }
}

TEST_CASE("safety stands on top and with every parts list, licences at the end") {
  const Report report = sample::report();
  const std::string page = report_page(report);
  const std::string line = html(kSafetyLine);
  CHECK(page.find(line) < page.find("<main>"));
  CHECK(count(page, line) == 1 + count(page, "<article"));
  for (std::string_view note : kSafetyNotes) CHECK(page.find(html(note)) != std::string::npos);
  for (const char* notice : {"Apache License", "The Apache Software Foundation", "Baidu", "Mike Bostock"})
    CHECK_MESSAGE(page.find(notice) != std::string::npos, notice);
}

TEST_CASE("a page without any design says so and draws nothing") {
  const std::string page = report_page({});
  CHECK(page.find("No design was found.") != std::string::npos);
  CHECK(page.find("<input type=\"radio\"") == std::string::npos);
}

TEST_CASE("near misses are not sold as solutions") {
  Report report = sample::report();
  for (Record& r : report.candidates) r.feasible = false;
  report.blocked_by = {"supply current at most 1 mA"};
  const std::string page = report_page(report);
  CHECK(page.find("Nothing satisfies this brief") != std::string::npos);
  CHECK(page.find("Near miss 1") != std::string::npos);
  CHECK(page.find("supply current at most 1 mA") != std::string::npos);
}

TEST_CASE("every picture of the whole circuit has its place, and a table behind it") {
  Report report = sample::report();
  report.candidates[0] = sample::whole_circuit();
  const std::string page = report_page(report);
  for (const char* id : {"picture-levels", "picture-response", "picture-balance"})
    CHECK_MESSAGE(page.find("<figure class=\"picture\" id=\"" + std::string(id)) != std::string::npos, id);
  for (const char* caption : {"Distortion in % against level", "Gain and phase against frequency",
                              "Two tones at once", "How far it goes cleanly", "Driven past the target"})
    CHECK_MESSAGE(page.find("<caption>" + std::string(caption)) != std::string::npos, caption);
}
