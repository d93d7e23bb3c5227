// Words of explanations, conflicts and steps along the front, from made-up numbers.
#include "results/describe/explain.h"

#include <doctest/doctest.h>

#include "results/describe/conflict.h"
#include "results/describe/parts_list.h"
#include "results/describe/trade_off.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

Demands demands() {
  Demands d;
  d.objectives = {{find_figure("distortion_pct"), 2, 1}, {find_figure("output_impedance_ohm"), 1, 50e3}};
  return d;
}

LimitResult row(std::string_view label, double value, double limit, bool at_least = false) {
  LimitResult r;
  r.name = r.label = label;
  r.unit = "A";
  r.value = value;
  r.limit = limit;
  r.at_least = at_least;
  r.margin_pct = 100 * (at_least ? value - limit : limit - value) / limit;
  r.kept = r.margin_pct >= 0;
  return r;
}

}  // namespace

TEST_CASE("what binds, what leads and what would have to give, in words") {
  Record r;
  CHECK(binding_in_words(r).empty());  // not explained
  r.feasible = true;
  r.explanation.neighbours = 50;
  CHECK(has(binding_in_words(r).at(0), "No limit binds"));
  r.explanation.binding = {row("supply current", 9.8e-3, 10e-3)};
  CHECK(binding_in_words(r).at(0) ==
        "One limit binds (kept with less than 5 % in hand): supply current (9.8 mA ≤ 10 mA, 2 % in hand).");

  CHECK(lead_in_words({}, demands(), "the next").empty());
  CHECK(lead_in_words({0.09, {0.12, -0.03}}, demands(), "the next") ==
        "It outranks the next by 0.0900 of score: it gains 0.120 in distortion, and gives back 0.0300 in "
        "output "
        "impedance.");
  CHECK(has(lead_in_words({-0.5, {-0.5, 0.0}}, demands(), "the best there"),
            "It stands behind the best there by 0.500"));

  CHECK(has(loosenings_in_words(r, demands()).at(0), "none would be better"));
  Loosening l;
  l.change.score = -0.05;
  l.change.bought = {0.06, -0.01};
  l.change.broken = {row("supply current", 10.3e-3, 10e-3)};
  l.change.parts = {{find_design_field("/tail/ohm"), 6.2e3, false}};
  l.loosen_pct = 3;
  r.explanation.loosenings = {l};
  CHECK(loosenings_in_words(r, demands()).at(0) ==
        "3 % (300 µA) more supply current would buy 0.0500 of score: 0.0600 in distortion, giving back "
        "0.0100 in "
        "output impedance (tail resistor 6.2 kΩ).");
}

TEST_CASE("the table of steps has a row for each value that there is, and says what a step breaks") {
  Record r;
  CHECK(step_table(r, demands()).empty());
  PartSteps part{find_design_field("/tail/ohm"), 6.8e3, {}};
  Change down;
  down.parts = {{part.field, 6.2e3, false}};
  down.score = 0.25;
  down.figures = {0.1, 2.5e3};
  down.target = Solved::yes;
  down.broken = {row("supply current", 11e-3, 10e-3)};
  part.step[0] = down;
  r.explanation.steps = {part};
  const ValueTable table = step_table(r, demands());
  REQUIRE(table.rows.size() == 1);
  CHECK(table.rows[0] == std::vector<std::string>{"tail resistor 6.8 kΩ → 6.2 kΩ", "+0.250", "+0.1 %",
                                                  "+2.5 kΩ", "supply current"});
  CHECK(table.columns.size() == table.rows[0].size());
}

TEST_CASE("steps along the front name what changes by more than a twentieth of what it spans") {
  Report report;
  report.demands = demands();
  const std::size_t d = index_of(*find_figure("distortion_pct")),
                    z = index_of(*find_figure("output_impedance_ohm"));
  for (const auto& [pct, ohm] : {std::pair{0.1, 40e3}, std::pair{0.104, 30e3}, std::pair{0.2, 20e3}}) {
    Record r;
    r.figures.resize(figures().size());
    r.figures[d] = pct;
    r.figures[z] = ohm;
    r.choice = true;
    report.pareto.push_back(r);
  }
  const auto points = choices(report);
  REQUIRE(points.size() == 3);
  CHECK(points[0].name == "Least distortion");
  CHECK(points[1].name == "Choice 1");
  CHECK(points[2].name == "Least output impedance");
  // Distortion spans 0.1: 0.004 of it is less than a twentieth.
  CHECK(trade_off_steps(report) ==
        std::vector<std::string>{"From least distortion to choice 1: 10 kΩ less output impedance.",
                                 "From choice 1 to least output impedance: 10 kΩ less output impedance for "
                                 "0.096 points more distortion."});
  report.pareto.resize(1);
  CHECK(trade_off_steps(report).empty());
}

TEST_CASE("a conflict is told by its demands, each with how far the nearest design falls short") {
  Demands d = demands();
  d.limits = {{find_figure("supply_current_a"), 10e-3}};
  Record nearest = sample::record(sample::self_biased_pair());
  nearest.limits = {row("supply_current_a", 12e-3, 10e-3)};
  Conflict conflict;
  conflict.note = "As far as it tells.";
  conflict.sides = {conflict_side(d, "supply_current_a", false, 70, nearest, true)};
  CHECK(conflict.sides[0].demand == "supply current at most 10 mA");
  CHECK(conflict.sides[0].reached == "12 mA where 10 mA or less is allowed");
  CHECK(conflict.sides[0].shortfall == "2 mA (20 %) too much");
  CHECK(has(conflict_in_words(conflict).at(0), "One demand alone"));
  nearest.design.swing_peak_v = 35;
  conflict.sides.push_back(conflict_side(d, "target swing", true, 70, nearest, true));
  CHECK(conflict.sides[1].shortfall == "35 V (50 %) too little");
  conflict.sides.push_back(conflict_side(d, "plate_dissipation_w", false, 70, std::nullopt, true));
  CHECK(conflict.sides[2].demand == "limit on plate dissipation");
  const auto words = conflict_in_words(conflict);
  REQUIRE(words.size() == 5);
  CHECK(has(words[0],
            "no smaller set of them does: supply current at most 10 mA, target swing of 70 V peak and"));
  CHECK(words.back() == "As far as it tells.");
}

TEST_CASE(
    "two resistors share voltage in series and current in parallel, and their powers add up to the whole") {
  const Record r = sample::record(sample::self_biased_pair());
  REQUIRE(r.evaluation.at_target.solved == Solved::yes);
  const double whole = r.design.plate_ohm[1];
  const auto power_of = [&](const std::vector<PartLine>& parts, std::string_view start) {
    double sum = 0;
    int lines = 0;
    for (const PartLine& p : parts)
      if (p.label.rfind(start, 0) == 0) {
        sum += *p.power_worst_w;
        ++lines;
      }
    CHECK(lines == (start == "plate resistor 2," ? 2 : 1));
    return sum;
  };
  const double one = power_of(parts_list(r.design, r.evaluation, {}), "plate resistor 2");
  for (const bool parallel : {false, true}) {
    engine::TwoPart two{0.9 * whole, 0.1 * whole, false, whole, 0};
    if (parallel) two = {whole / 0.9, whole / 0.1, true, whole, 0};
    const auto parts = parts_list(r.design, r.evaluation, {}, two);
    CHECK(within_ratio(power_of(parts, "plate resistor 2,"), one, 1e-9));
  }
  CHECK(two_in_words({91e3, 3.9e3, false, 94.9e3, 0}) == "91 kΩ + 3.9 kΩ in series");
  CHECK(two_in_words({47e3, 390e3, true, 41.95e3, 0}) == "47 kΩ and 390 kΩ in parallel");
}
