#include "results/svg/plate_curves.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <regex>
#include <string>
#include <vector>

#include "results/describe/plate_currents.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

/// i = k (vg + va/mu)^1.5 with k = 1 mA/V^1.5 and mu = 20.
Tube three_halves() {
  Tube t;
  t.name = "A & B";
  t.ratings.plate_v_max = Sourced{300, "test"};
  t.ratings.plate_w_max = Sourced{2.5, "test"};
  t.models.push_back({ChildLangmuir{1e-3, 20, 0}, "test", true});
  PublishedPoint p;
  p.plate_v = 200;
  p.grid_v = -6;
  p.plate_current_a = 8e-3;
  p.mu = 20;
  t.published_points.push_back(p);
  return t;
}

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// Corners of the first path of a class, in pixels.
std::vector<std::pair<double, double>> corners(const std::string& svg, const std::string& kind,
                                               int which = 0) {
  const std::regex path("<path class=\"" + kind + "\" d=\"([^\"]*)\"/>");
  auto at = std::sregex_iterator(svg.begin(), svg.end(), path);
  std::advance(at, which);
  const std::string d = (*at)[1];
  std::vector<std::pair<double, double>> points;
  const std::regex corner("[ML]([0-9.]+) ([0-9.]+)");
  for (auto c = std::sregex_iterator(d.begin(), d.end(), corner); c != std::sregex_iterator(); ++c)
    points.emplace_back(std::stod((*c)[1]), std::stod((*c)[2]));
  return points;
}

}  // namespace

TEST_CASE("the table of plate currents holds the law, in round steps inside the ratings") {
  const Tube tube = three_halves();
  const PlateCurrents table = plate_currents(tube, tube.law());
  CHECK(table.plate_v == std::vector<double>{50, 100, 150, 200, 250, 300});
  CHECK(table.grid_v.front() == 0);
  // A fiftieth of 8 mA at 300 V: (0.16)^(2/3) V above the cut-off at -15 V.
  CHECK(table.grid_v.back() > -15);
  CHECK(table.grid_v.back() <= -15 + std::pow(0.16, 2.0 / 3) + 2);  // a step of 2 V
  for (std::size_t g = 1; g < table.grid_v.size(); ++g)
    CHECK(within_ratio(table.grid_v[g - 1] - table.grid_v[g], 2, 1e-12));
  for (std::size_t g = 0; g < table.grid_v.size(); ++g)
    for (std::size_t p = 0; p < table.plate_v.size(); ++p) {
      const double drive = std::max(0.0, table.grid_v[g] + table.plate_v[p] / 20);
      CHECK(std::abs(table.current_a[g][p] - 1e-3 * std::pow(drive, 1.5)) < 1e-6);
    }
}

TEST_CASE("a picture without readings: curves where the law has them, points, and the rated dissipation") {
  const Tube tube = three_halves();
  const std::string svg = plate_curves_svg(tube, tube.law(), {});
  CHECK(svg.starts_with("<svg "));
  CHECK(has(svg, "<title id=\"title\">A &amp; B: plate curves of child_langmuir</title>"));
  CHECK(has(svg, "<desc "));
  CHECK(has(svg, "plate voltage, V"));
  CHECK(has(svg, "plate current, mA"));
  CHECK(has(svg, "2.5 W, rated plate dissipation"));
  CHECK(has(svg, "1 published point<"));
  CHECK(has(svg, ">0 V</text>"));
  CHECK(count(svg, "<circle") == 0);
  CHECK(count(svg, "class=\"point\"") == 2);  // in the legend and on the sheet
  CHECK_FALSE(has(svg, "<script"));
  CHECK_FALSE(has(svg, "nan"));
  CHECK_FALSE(has(svg, "inf"));

  // The sheet: 860 by 600 with margins of 70, 64, 88 and 60; 1.02 times 280 V and 1.04 times 16 mA.
  const auto v = [](double x) { return (x - 70) / (860 - 70 - 64) * 1.02 * 280; };
  const auto ma = [](double y) { return (600 - 60 - y) / (600 - 88 - 60) * 1.04 * 16; };
  const auto curve = corners(svg, "law", 1);  // the first is the legend's
  REQUIRE(curve.size() > 20);
  for (const auto& [x, y] : curve)  // grid at 0 V; a pixel is 0.04 mA
    CHECK(std::abs(ma(y) - std::pow(v(x) / 20, 1.5)) < 0.1);
  const auto hyperbola = corners(svg, "watt", 1);
  REQUIRE(hyperbola.size() > 20);
  for (const auto& [x, y] : hyperbola) CHECK(within_ratio(v(x) * ma(y), 2500, 0.02));
}

TEST_CASE("every reading is a ring, of many curves some are drawn, and no name covers another") {
  const Tube tube = three_halves();
  std::vector<CurvePoint> readings;
  for (int k = 0; k < 40; ++k) readings.push_back({-0.25 * k, 100 + 5.0 * k, 1e-3});
  const std::string svg = plate_curves_svg(tube, tube.law(), readings);
  CHECK(count(svg, "<circle") == 41);        // and one in the legend
  CHECK(count(svg, "class=\"law\"") <= 17);  // 16, and one in the legend
  CHECK(has(svg, "40 readings"));
  const std::regex name("<text x=\"([0-9.]+)\" y=\"([0-9.]+)\"[^>]*>-?[0-9.]+ V</text>");
  std::vector<std::pair<double, double>> places;
  for (auto m = std::sregex_iterator(svg.begin(), svg.end(), name); m != std::sregex_iterator(); ++m)
    places.emplace_back(std::stod((*m)[1]), std::stod((*m)[2]));
  REQUIRE(places.size() > 3);
  for (std::size_t a = 0; a < places.size(); ++a)
    for (std::size_t b = 0; b < a; ++b)
      CHECK((std::abs(places[a].first - places[b].first) >= 40 ||
             std::abs(places[a].second - places[b].second) >= 11));
}

TEST_CASE("a tube with neither points nor readings still gives a sheet") {
  Tube tube = three_halves();
  tube.published_points.clear();
  tube.ratings.plate_w_max.reset();
  const std::string svg = plate_curves_svg(tube, tube.law(), {});
  CHECK(has(svg, ">300</text>"));
  CHECK_FALSE(has(svg, "dissipation"));
  CHECK_FALSE(has(svg, "nan"));
}
