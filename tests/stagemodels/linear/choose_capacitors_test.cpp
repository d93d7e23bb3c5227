// Capacitors chosen for a low-frequency limit: that the limit holds, and that none of them could be smaller.
#include "stagemodels/linear/choose_capacitors.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <string_view>
#include <vector>

#include "stagemodels/evaluate.h"
#include "stagemodels/linear/frequency_figures.h"
#include "stagemodels/linear/network.h"
#include "stagemodels/members.h"
#include "tests/stagemodels/linear/linear_stage.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// E6 of IEC 60063, from 1 pF to 1 F.
const std::vector<double>& e6() {
  static const std::vector<double> all = [] {
    std::vector<double> v;
    for (int decade = -12; decade < 0; ++decade)
      for (const double s : {1.0, 1.5, 2.2, 3.3, 4.7, 6.8}) v.push_back(s * std::pow(10, decade));
    v.push_back(1);
    return v;
  }();
  return all;
}

struct Member {
  double Design::*at;
  std::vector<std::string_view> capacitors;  ///< names of the elements that take their value from it
  double share;
};
const std::vector<Member> kMembers{
    {&Design::coupling_f, {"output_capacitor_1", "output_capacitor_2"}, 1},
    {&Design::grid_bypass_f, {"grid_2_bypass"}, 1},
    {&Design::input_coupling_f, {"input_capacitor"}, 1},
    {&Design::cathode_bypass_f, {"cathode_bypass"}, 1},
    {&Design::reservoir_f, {"reservoir_capacitor"}, kReservoirShare},
};

double low_corner(const Design& d, const OperatingPoint& rest) {
  FrequencyFigures f;
  REQUIRE(frequency_figures(d, rest, frequency_part::all_but_curves, f));
  return std::max(f.low_corner_hz[0].value_or(0), f.low_corner_hz[1].value_or(0));
}

double resistance_seen(const Design& d, const OperatingPoint& rest, std::string_view capacitor) {
  const Element* e = element_named(d, capacitor);
  return e ? LinearNetwork::resistance_seen(d, rest, *e) : 0;
}

/// Condition (b): the pole of one capacitor, the others being shorts.
bool does_its_work(const Member& m, const Design& d, const OperatingPoint& rest, double lowest_hz) {
  for (const std::string_view c : m.capacitors) {
    const double ohm = resistance_seen(d, rest, c);
    if (ohm > 0 && corner_hz(d.*m.at, ohm) > lowest_hz / m.share) return false;
  }
  return true;
}

}  // namespace

TEST_CASE("the resistance a capacitor sees is that of the closed formulas") {
  const double mu = 100, rp = 65e3, R = parallel(100e3, 330e3);
  const Tube tube = tube_of(mu, rp);
  const OperatingPoint rest = rest_of(mu);
  const auto seen = [&](const Design& d, std::string_view c) { return resistance_seen(d, rest, c); };

  // gain stage: load and Rout in series; source and leak; Rk || (rp + R) / (mu + 1)
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.source_ohm = 10e3;
  CHECK(within_ratio(seen(d, "output_capacitor_1"), 330e3 + parallel(100e3, rp), 1e-9));
  CHECK(within_ratio(seen(d, "input_capacitor"), 10e3 + d.grid_leak_ohm, 1e-9));
  CHECK(within_ratio(seen(d, "cathode_bypass"), parallel(1500, (rp + R) / (mu + 1)), 1e-9));
  CHECK(seen(d, "grid_2_bypass") == 0);
  CHECK(seen(d, "reservoir_capacitor") == 0);
  d.main_supply_v = 400;
  d.dropping_ohm = 22e3;
  CHECK(within_ratio(seen(d, "reservoir_capacitor"), parallel(22e3, 100e3 + parallel(rp, 330e3)), 1e-9));

  // directly coupled: f2 = 1 / (2 pi Rg2 C2)
  Design pair = direct_pair(tube, 100e3, 330e3, 68e3);
  CHECK(within_ratio(seen(pair, "grid_2_bypass"), pair.grid_leak_ohm, 1e-9));
  // self-biased: (1 - h) / (2 pi Rg2 C2), leaks large
  pair.bias.form = BiasForm::self_biased;
  pair.bias.ohm = 470;
  pair.tail.ohm = 10e3;
  pair.grid_leak_ohm = 100e6;
  const double Rt = 10470, h = 10e3 / Rt * mu * Rt / (rp + R + 2 * (mu + 1) * Rt);
  CHECK(within_ratio(seen(pair, "grid_2_bypass"), pair.grid_leak_ohm / (1 - h), 1e-3));
}

TEST_CASE("the limit holds with what is chosen, and with no single one of them a step smaller") {
  RandomNumbers random{std::mt19937_64(5)};
  Tube tube = tube_with(kKoren12AX7);
  tube.capacitance = {1.7e-12, 1.6e-12, 0.4e-12, "RCA 12AX7-A data sheet, 1960"};
  int seen = 0, lowered = 0;
  for (int n = 0; n < 300; ++n) {
    Design d = any_stage(random, tube);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (e.operating_point.solved != Solved::yes) continue;
    if (random.below(3) == 0) {  // the linearised part alone
      d.main_supply_v = 400;
      d.dropping_ohm = random.log_between(1e3, 50e3);
    }
    const double lowest_hz = random.log_between(1, 50);
    Design chosen = d;
    const CapacitorChoice choice = choose_capacitors(chosen, e.operating_point, lowest_hz, e6());
    REQUIRE(choice.held);
    ++seen;
    CHECK(low_corner(chosen, e.operating_point) <= lowest_hz);
    int filled = 0;
    for (const Member& m : kMembers) {
      if (!(chosen.*m.at > 0)) continue;
      ++filled;
      CHECK(does_its_work(m, chosen, e.operating_point, lowest_hz));
      Design smaller = chosen;
      const auto level = std::find(e6().begin(), e6().end(), chosen.*m.at);
      REQUIRE(level != e6().end());
      REQUIRE(level != e6().begin());
      smaller.*m.at = *std::prev(level);
      const bool kept = low_corner(smaller, e.operating_point) <= lowest_hz &&
                        does_its_work(m, smaller, e.operating_point, lowest_hz) &&
                        !(smaller.reservoir_f > 0 && smaller.reservoir_f < kLeastReservoir_f);
      CHECK_FALSE(kept);
      ++lowered;
    }
    CHECK(filled == choice.chosen);
    if (chosen.reservoir_f > 0) CHECK(chosen.reservoir_f >= 1e-6);  // what is sold as a reservoir

    Design again = d;
    choose_capacitors(again, e.operating_point, lowest_hz, e6());
    for (const Member& m : kMembers) CHECK(again.*m.at == chosen.*m.at);
  }
  CHECK(seen > 200);
  CHECK(lowered > 400);
}

TEST_CASE("which capacitors are chosen follows from the circuit") {
  const Tube tube = tube_of(100, 62.5e3);
  const OperatingPoint rest = rest_of(100);
  const auto chosen = [&](Design d) {
    choose_capacitors(d, rest, 10, e6());
    std::vector<bool> which;
    for (const Member& m : kMembers) which.push_back(d.*m.at > 0);
    return which;
  };
  using Which = std::vector<bool>;  // coupling, grid bypass, input, cathode bypass, reservoir
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  CHECK(chosen(d) == Which{true, true, false, false, false});
  d.bias.form = BiasForm::negative_rail;
  CHECK(chosen(d) == Which{true, false, false, false, false});
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 1000;
  CHECK(chosen(d) == Which{true, true, true, false, false});
  Design stage = gain_stage(tube, 100e3, 330e3, 1500);
  CHECK(chosen(stage) == Which{true, false, false, true, false});
  stage.cathode_unbypassed_ohm = 1500;
  stage.main_supply_v = 400;
  stage.dropping_ohm = 10e3;
  CHECK(chosen(stage) == Which{true, false, false, false, true});
}

TEST_CASE("what is given stays, and a given one that is too small is told") {
  const Tube tube = tube_of(100, 62.5e3);
  const OperatingPoint rest = rest_of(100);
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  d.coupling_f = 1e-6;
  CapacitorChoice choice = choose_capacitors(d, rest, 10, e6());
  CHECK(choice.held);
  CHECK(choice.chosen == 1);
  CHECK(d.coupling_f == 1e-6);
  CHECK(d.grid_bypass_f > 0);

  d.grid_bypass_f = 0;
  d.coupling_f = 10e-9;  // 41 Hz with load and output impedance
  choice = choose_capacitors(d, rest, 10, e6());
  CHECK_FALSE(choice.held);
  CHECK(d.coupling_f == 10e-9);
  CHECK(low_corner(d, rest) > 10);
  // the open one still does its work: 1 / (2 pi 1M C) <= 10 Hz is met by 22 nF
  CHECK(within_ratio(d.grid_bypass_f, 22e-9, 1e-12));

  d.coupling_f = d.grid_bypass_f = 1e-6;
  choice = choose_capacitors(d, rest, 10, e6());
  CHECK(choice.held);
  CHECK(choice.chosen == 0);
}

TEST_CASE("a capacitor with values of its own takes one of these, the smallest that will do") {
  const Tube tube = tube_of(100, 62.5e3);
  const OperatingPoint rest = rest_of(100);
  const std::array<double, 3> few{33e-9, 150e-9, 330e-9};
  const std::array<double, 2> small{1e-9, 10e-9};
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  const std::array own{OwnCapacitorLevels{&member::coupling_f, few}};
  CHECK(choose_capacitors(d, rest, 10, e6(), own).held);
  CHECK(std::find(few.begin(), few.end(), d.coupling_f) != few.end());
  CHECK(low_corner(d, rest) <= 10);
  CHECK(std::find(e6().begin(), e6().end(), d.grid_bypass_f) != e6().end());

  // 10 nF is too small by the closed formula (41 Hz, above); the largest of them is taken, and it is told
  Design short_of = direct_pair(tube, 100e3, 330e3, 68e3);
  const std::array too_small{OwnCapacitorLevels{&member::coupling_f, small}};
  CHECK_FALSE(choose_capacitors(short_of, rest, 10, e6(), too_small).held);
  CHECK(short_of.coupling_f == 10e-9);

  // a bypass that a grounded grid can do without is there if it has values of its own
  Design rail = direct_pair(tube, 100e3, 330e3, 68e3);
  rail.bias.form = BiasForm::negative_rail;
  rail.bias.rail_v = -100;
  const std::array wanted{OwnCapacitorLevels{&member::grid_bypass_f, few}};
  choose_capacitors(rail, rest, 10, e6(), wanted);
  CHECK(std::find(few.begin(), few.end(), rail.grid_bypass_f) != few.end());
}

TEST_CASE("one capacitor alone comes out as the closed formula has it") {
  // only coupling_f: 1 / (2 pi C (RL + Zo)) <= 10 Hz, Zo = Ra || rp of a bypassed stage
  const Tube tube = tube_of(100, 62.5e3);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.cathode_unbypassed_ohm = 1500;
  const double ohm = 330e3 + parallel(100e3, 62.5e3 + 101 * 1500.0);
  const double least = 1 / (2 * std::numbers::pi * 10 * ohm);
  choose_capacitors(d, rest_of(100), 10, e6());
  CHECK(d.coupling_f == *std::lower_bound(e6().begin(), e6().end(), least));
}
