#include "results/svg/search_plots.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <set>

#include "results/svg/plot.h"
#include "tests/results/support/sample_figures.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + what.size())) ++n;
  return n;
}

/// The number behind the n-th `before` in `text`.
double number_behind(const std::string& text, const std::string& before, std::size_t from = 0) {
  const auto at = text.find(before, from);
  REQUIRE(at != std::string::npos);
  return std::strtod(text.c_str() + at + before.size(), nullptr);
}

}  // namespace

TEST_CASE("a point lies where its axes put it, on a plain and on a logarithmic one") {
  Plot plot;
  plot.x = {"frequency", "Hz", 1, 1e4, true};
  plot.y = {"level", "V", -10, 10};
  plot.series.push_back({"", PlotSeries::Look::rings, {{1, -10}, {100, 0}, {1e4, 10}}});
  const std::string svg = plot_svg(plot);
  // Three points on the diagonal, the second in its middle: halfway in decades and in volts.
  std::size_t at = svg.find("<g class=\"rings\">");
  std::vector<double> x, y;
  for (int k = 0; k < 3; ++k) {
    at = svg.find("<circle", at + 1);
    x.push_back(number_behind(svg, "cx=\"", at));
    y.push_back(number_behind(svg, "cy=\"", at));
  }
  CHECK(std::abs(x[1] - 0.5 * (x[0] + x[2])) < 0.11);  // printed to a tenth
  CHECK(std::abs(y[1] - 0.5 * (y[0] + y[2])) < 0.11);
  CHECK(x[0] < x[2]);
  CHECK(y[0] > y[2]);  // up is less in SVG
}

TEST_CASE("what lies outside the axes is not drawn, a limit inside them is, and text stays text") {
  Plot plot;
  plot.title = "</svg><b>";
  plot.x = {"a", "V", 0, 1};
  plot.y = {"b", "V", 0, 1};
  plot.series.push_back({"<i>", PlotSeries::Look::diamonds, {{0.5, 0.5}, {2, 0.5}, {0.5, -1}}});
  plot.marks = {{true, 0.5, "at most <1>"}, {false, 3, "beyond"}};
  const std::string svg = plot_svg(plot);
  CHECK(count(svg, "l4.5 4.5l-4.5") == 2);  // the point and the legend's
  CHECK(count(svg, "class=\"mark\"") == 1);
  CHECK(svg.find("beyond") == std::string::npos);
  CHECK(svg.find("<b>") == std::string::npos);
  CHECK(svg.find("<i>") == std::string::npos);
  CHECK(svg.find("at most &lt;1&gt;") != std::string::npos);
  CHECK(count(svg, "</svg>") == 1);
}

TEST_CASE("axes end at round values that hold what is asked of them") {
  const PlotAxis plain = axis_for("a", "V", 3.1, 41, false);
  CHECK(plain.from <= 3.1);
  CHECK(plain.to >= 41);
  CHECK_FALSE(plain.logarithmic);
  const PlotAxis decades = axis_for("a", "%", 0.02, 7, true);
  CHECK(within(decades.from, 0.01, 1e-12));
  CHECK(within(decades.to, 10, 1e-12));
  CHECK_FALSE(axis_for("a", "V", -1, 7, true).logarithmic);  // no logarithm of it
  const PlotAxis one_value = axis_for("a", "V", 5, 5, false);
  CHECK(one_value.to > one_value.from);
}

TEST_CASE(
    "the plots of a search: every front member and candidate is there, names are apart, nothing is NaN") {
  Report report = sample::report();
  report.candidates[0] = sample::whole_circuit();
  report.demands.limits.push_back({find_figure("distortion_pct"), *report.candidates[1].figures[0]});
  const auto files = search_plots(report);
  std::set<std::string> names;
  for (const FileToSave& f : files) {
    CHECK(names.insert(f.name).second);
    CHECK(f.content.find("nan") == std::string::npos);
    CHECK(f.content.find("inf") == std::string::npos);
    CHECK(f.content.find("<title") != std::string::npos);
    CHECK(f.content.find("<desc") != std::string::npos);
    CHECK(f.content.find("High voltage can kill") != std::string::npos);
  }
  for (const char* name : {"trade_off.svg", "plate_curves_1.svg", "plate_curves_2.svg",
                           "distortion_by_level.svg", "gain_by_frequency.svg"})
    CHECK_MESSAGE(names.count(name) == 1, name);
  CHECK(files[0].name == "trade_off.svg");
  CHECK(count(files[0].content, "l4.5 4.5l-4.5") == report.pareto.size() + 1);  // and the legend's
  CHECK(files[0].content.find("at most ") != std::string::npos);
  CHECK(search_plots({}).empty());
}

TEST_CASE("a gain stage has one picture of plate curves") {
  Report report;
  report.demands = sample::demands();
  report.candidates = {sample::record(sample::gain_stage())};
  std::set<std::string> names;
  for (const FileToSave& f : search_plots(report)) names.insert(f.name);
  CHECK(names.count("plate_curves.svg") == 1);
  CHECK(names.count("plate_curves_2.svg") == 0);
}
