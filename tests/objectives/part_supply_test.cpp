// Counting pieces, and values of two resistors: by hand.
#include "objectives/part_supply.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/design_problem.h"
#include "objectives/part_levels.h"
#include "stagemodels/members.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Design pair() {
  Design d;
  d.circuit = CircuitKind::long_tailed_pair;
  d.tube = {shipped().find("12AX7"), shipped().find("12AX7")};
  d.supply_v = 300;
  d.plate_ohm = {100e3, 100e3};
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 1e3;
  d.tail.ohm = 22e3;
  d.grid_leak_ohm = 1e6;
  return d;
}

Stock stock() {
  return {{{1e3, 1}, {22e3, 1}, {100e3, 2}, {1e6, 2}}, {}};
}

}  // namespace

TEST_CASE("every piece of a pair counts: two plates, bias, tail, two grid leaks") {
  PartSupply supply{stock(), {}};
  CHECK(pieces_missing(supply, pair()) == 0);
  supply.on_hand->resistors[2].pieces = 1;  // 100 k
  CHECK(pieces_missing(supply, pair()) == 1);
  supply.on_hand->resistors[3].pieces = 0;  // 1 M
  CHECK(pieces_missing(supply, pair()) == 3);
  Design direct = pair();  // one grid leak only, no bias resistor
  direct.bias.form = BiasForm::direct_coupled;
  supply.on_hand = stock();
  supply.on_hand->resistors[3].pieces = 1;
  CHECK(pieces_missing(supply, direct) == 0);
  Design same = pair();  // bias and tail of one value need two of it
  same.tail.ohm = same.bias.ohm;
  CHECK(pieces_missing(supply, same) == 2);  // a second 1 k, a second 1 M
  CHECK(pieces_missing({}, pair()) == 0);    // no list, no limit
}

TEST_CASE("a given part that is not listed counts as there, coupling capacitors are two") {
  PartSupply supply{stock(), {}};
  Design d = pair();
  d.grid_leak_ohm = 470e3;
  CHECK(pieces_missing(supply, d) == 0);
  supply.on_hand->capacitors = {{100e-9, 1}};
  d.coupling_f = 100e-9;
  CHECK(pieces_missing(supply, d) == 1);
  d.grid_bypass_f = 100e-9;
  CHECK(pieces_missing(supply, d) == 2);
}

TEST_CASE("a plate resistor of two takes both its pieces") {
  PartSupply supply{stock(), {{100e3, 1e3, false, 101e3, 0}}};
  Design d = pair();
  d.plate_ohm[1] = 101e3;
  d.bias.ohm = 22e3;
  d.tail.ohm = 1e3;
  REQUIRE(made_of(supply, 101e3) != nullptr);
  CHECK(made_of(supply, 100e3) == nullptr);
  CHECK(pieces_missing(supply, d) == 1);  // 1 k in the plate and in the tail
  supply.on_hand->resistors[0].pieces = 2;
  CHECK(pieces_missing(supply, d) == 0);
}

TEST_CASE("values of one or two: singles all stand, sums and parallel values keep their distance") {
  const std::vector<double> singles{1e3, 10e3, 47e3};
  const auto parts = one_or_two(singles, 8e3, 60e3);
  // By hand: 10 k; 47 k; sums 10 k + 1 k = 11 k, 47 k + 1 k = 48 k, 47 k + 10 k = 57 k; parallel 10 k and 47
  // k = 470/57 k = 8.2456 k. (1 k with 10 k or 47 k is below 8 k.)
  std::vector<double> values;
  for (const auto& p : parts) values.push_back(p.value);
  REQUIRE(values.size() == 6);
  const std::vector<double> expected{470e3 / 57, 10e3, 11e3, 47e3, 48e3, 57e3};
  for (std::size_t i = 0; i < 6; ++i) CHECK(within_ratio(values[i], expected[i], 1e-12));
  CHECK(parts[0].parallel);
  CHECK(parts[1].second == 0);

  const std::vector<double> e24 = engine::members(engine::Series::e24, 100, 10e6);
  const auto many = one_or_two(e24, 20e3, 100e3);
  int alone = 0;
  for (std::size_t i = 0; i < many.size(); ++i) {
    const auto& p = many[i];
    const double made = p.second == 0 ? p.first
                        : p.parallel  ? p.first * p.second / (p.first + p.second)
                                      : p.first + p.second;
    CHECK(within_ratio(p.value, made, 1e-12));
    for (const double part : {p.first, p.second})
      if (part > 0) CHECK(std::binary_search(e24.begin(), e24.end(), part));
    alone += p.second == 0;
    if (i > 0) CHECK(p.value >= many[i - 1].value * (1 + kClosest_pct / 100) * (1 - 1e-9));
  }
  CHECK(alone == 18);  // E24 from 20 k to 100 k
  CHECK(many.size() > 100);
  // No gap that a combination could have filled: ln(5)/ln(1.005) = 322 is the most there can be.
  CHECK(many.size() <= 323);
}

TEST_CASE("levels come from the part's own series, from what is on hand, or from two resistors") {
  Brief brief = brief_named("best_set_for_a_swing.json");
  brief.space.own_series = {{&member::bias_ohm, engine::Series::e6}};
  const auto levels = [&](const char* pointer) {
    const DesignProblem problem(brief.space, brief.demands);
    for (const auto& axis : problem.families().at(0).parts.axes)
      if (axis.name == pointer) return axis.levels;
    return std::vector<double>{};
  };
  for (const double v : levels("/bias/ohm"))
    CHECK(within_ratio(engine::nearest(engine::Series::e6, v), v, 1e-12));
  CHECK(levels("/plate_ohm/0") == engine::members(engine::Series::e96, 22e3, 150e3));
  brief.space.plate_2_of_two = true;
  CHECK(levels("/plate_ohm/1").size() > levels("/plate_ohm/0").size());
  brief.space.plate_2_of_two = false;
  brief.space.on_hand =
      Stock{{{470, 1}, {820, 1}, {4.7e3, 2}, {10e3, 1}, {15e3, 2}, {22e3, 2}, {47e3, 2}}, {}};
  CHECK(levels("/plate_ohm/0") == std::vector<double>{22e3, 47e3});
  brief.space.on_hand->resistors = {{470, 1}, {1e6, 5}};
  const DesignProblem nothing(brief.space, brief.demands);
  CHECK(nothing.families().empty());
  REQUIRE(!nothing.left_out().empty());
  CHECK(nothing.left_out()[0].find("nothing on hand for the plate resistor 1") != std::string::npos);
}
