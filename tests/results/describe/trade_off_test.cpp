#include "results/describe/trade_off.h"

#include <doctest/doctest.h>

#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

Report two_designs() {
  Report report;
  report.demands.objectives = {{find_figure("distortion_pct"), 1, 1}, {find_figure("headroom_db"), 1, 1}};
  for (int i : {0, 1}) {
    Record r;
    r.design = sample::self_biased_pair();
    r.design.supply_v += i;
    r.figures.resize(figures().size());
    r.figures[index_of(*find_figure("distortion_pct"))] = i == 0 ? 0.4 : 0.9;
    r.figures[index_of(*find_figure("headroom_db"))] = i == 0 ? 2 : 5;
    report.pareto.push_back(r);
  }
  return report;
}

}  // namespace

TEST_CASE("each objective's best member is named the right way round") {
  const Report report = two_designs();
  const auto points = trade_off(report);
  REQUIRE(points.size() == 2);
  CHECK(points[0].name == "Least distortion");
  CHECK(points[0].record == &report.pareto[0]);
  CHECK(points[1].name == "Most headroom");
  CHECK(points[1].record == &report.pareto[1]);
  CHECK(points[0].figures == "distortion 0.4 %, headroom 2 dB");
}

TEST_CASE("a design that is best in two ways stands once with both names") {
  Report report = two_designs();
  report.pareto[1].remark = "knee";
  const auto points = trade_off(report);
  REQUIRE(points.size() == 2);
  CHECK(points[1].name == "Most headroom, knee");
}

TEST_CASE("designs are the same only if every member that applies is") {
  Design a = sample::self_biased_pair(), b = a;
  CHECK(same_design(a, b));
  b.bias.grid_v = 90;  // has no meaning for self bias
  CHECK(same_design(a, b));
  b.tail.ohm += 1;
  CHECK_FALSE(same_design(a, b));
  b = a;
  b.tube[1] = &sample::tube_12au7();
  CHECK_FALSE(same_design(a, b));
}

TEST_CASE("figures to show begin with the objectives and leave out what no candidate has") {
  Report report = two_designs();
  report.candidates = report.pareto;
  const auto shown = figures_to_show(report);
  REQUIRE(shown.size() == 2);  // the other headline figures have no values here
  CHECK(figures()[shown[0]].name == "distortion_pct");
  CHECK(figures()[shown[1]].name == "headroom_db");
}
