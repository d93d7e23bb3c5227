// The table of figures: one contract for every row.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "configs/read_design.h"
#include "objectives/figures/catalogue.h"
#include "stagemodels/linear/feedback.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// A pair; for figures of a first stage and of feedback a chain with feedback.
Design stage_with(const Figure& figure, const Tube& tube) {
  if (!figure.name.starts_with("first_") && !figure.name.starts_with("feedback_")) return pair_of(tube);
  const auto read = read_design(ANTIPHASE_SOURCE "/configs/designs/chain_direct_coupled.json", shipped());
  REQUIRE(std::holds_alternative<Design>(read));
  return std::get<Design>(read);
}

}  // namespace

TEST_CASE("every figure is found by its name, has a scale, and measures a solved stage") {
  const Tube tube = tube_with(kKoren12AX7);
  Evaluation e;
  for (const Figure& figure : figures()) {
    CAPTURE(figure.name);
    CHECK(find_figure(figure.name) == &figure);
    CHECK(figure.scale > 0);
    CHECK_FALSE(figure.label.empty());
    CHECK_FALSE(figure.description.empty());
    const Design d = stage_with(figure, tube);
    evaluate(d, Depth::with_frequency, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    const std::optional<double> value = figure.measure(d, e);
    REQUIRE(value);
    CHECK(std::isfinite(*value));
    CHECK(std::count_if(figures().begin(), figures().end(),
                        [&](const Figure& f) { return f.name == figure.name; }) == 1);
  }
  CHECK(find_figure("distortion") == nullptr);
}

TEST_CASE("sections and tubes are counted as a builder counts them on the chassis") {
  Tube twin = tube_with(kKoren12AX7), other = twin, single = twin;
  twin.sections = other.sections = 2;
  single.sections = 1;
  struct Row {
    CircuitKind circuit;
    const Tube *first, *one, *two;
    int sections, tubes;
  };
  // By hand: bottles of two sections hold two of their type.
  const Row table[] = {{CircuitKind::long_tailed_pair, nullptr, &twin, &twin, 2, 1},
                       {CircuitKind::long_tailed_pair, nullptr, &twin, &other, 2, 2},
                       {CircuitKind::long_tailed_pair, nullptr, &single, &single, 2, 2},
                       {CircuitKind::common_cathode, nullptr, &twin, nullptr, 1, 1},
                       {CircuitKind::split_load, nullptr, &twin, nullptr, 1, 1},
                       {CircuitKind::gain_and_splitter, &twin, &twin, &twin, 3, 2},
                       {CircuitKind::gain_and_splitter, &single, &single, &single, 3, 3},
                       {CircuitKind::gain_and_splitter, &other, &twin, &other, 3, 2}};
  const Evaluation unsolved{};  // both hang on the types alone
  for (const Row& row : table) {
    Design d = pair_of(twin);
    d.circuit = row.circuit;
    d.first_stage.tube = row.first;
    d.tube = {row.one, row.two};
    CHECK(find_figure("sections")->measure(d, unsolved) == row.sections);
    CHECK(find_figure("tubes")->measure(d, unsolved) == row.tubes);
  }
}

TEST_CASE("a table that shows some figures has places from 1 without a gap, each once") {
  for (int FigurePlaces::*table :
       {&FigurePlaces::law_bands, &FigurePlaces::ranked_bands, &FigurePlaces::band_columns}) {
    const std::vector<const Figure*> shown = figures_shown_in(table);
    REQUIRE_FALSE(shown.empty());
    int place = 0;
    for (const Figure* figure : shown) {
      CAPTURE(figure->name);
      CHECK(figure->shown.*table == ++place);
    }
    CHECK(std::count_if(figures().begin(), figures().end(),
                        [&](const Figure& figure) { return figure.shown.*table != 0; }) == place);
  }
}

TEST_CASE("what a figure needs is enough to measure it, and no less") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const Figure& figure : figures()) {
    CAPTURE(figure.name);
    const Design d = stage_with(figure, tube);
    Evaluation e;
    evaluate(d, figure.needs, e);
    CHECK(figure.measure(d, e));
  }
}

TEST_CASE("a figure that cannot be reached is empty, not a number") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.swing_peak_v = 500;
  Evaluation e;
  evaluate(d, Depth::full, e);
  REQUIRE(e.at_target.solved == Solved::target_out_of_reach);
  for (const char* name : {"distortion_pct", "thd_differential_pct", "balance_pct", "input_peak_v"})
    CHECK_FALSE(find_figure(name)->measure(d, e));
  CHECK(find_figure("gain")->measure(d, e));

  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 1500;
  d.swing_peak_v = 5;
  evaluate(d, Depth::with_frequency, e);
  for (const char* name :
       {"balance_pct", "balance_small_signal_pct", "balance_20khz_pct", "tail_fraction", "plate_ohm_ratio"})
    CHECK_FALSE(find_figure(name)->measure(d, e));
}

TEST_CASE("headline figures are the worse of the two outputs") {
  const Tube tube = tube_with(kKoren12AX7);
  const Design d = pair_of(tube);
  Evaluation e;
  evaluate(d, Depth::full, e);
  CHECK(*find_figure("distortion_pct")->measure(d, e) ==
        std::max(e.at_target.thd_pct[0], e.at_target.thd_pct[1]));
  CHECK(*find_figure("output_impedance_ohm")->measure(d, e) ==
        std::max(e.small_signal.output_impedance_alone_ohm[0], e.small_signal.output_impedance_alone_ohm[1]));
  // balance by the definition: 100 (|c1 of 1| - |c1 of 2|) / mean
  const double a = e.at_target.output_peak_v[0], b = e.at_target.output_peak_v[1];
  CHECK(within(*find_figure("balance_pct")->measure(d, e), 100 * (a - b) / (0.5 * (a + b)), 1e-12));
  CHECK(within(*find_figure("headroom_db")->measure(d, e),
               20 * std::log10(e.clean.swing_peak_v / d.swing_peak_v), 1e-12));
}

TEST_CASE("a cost is the figure, minus the figure, or its size") {
  CHECK(as_cost(*find_figure("distortion_pct"), 2) == 2);
  CHECK(as_cost(*find_figure("headroom_db"), 2) == -2);
  CHECK(as_cost(*find_figure("balance_pct"), -2) == 2);
}

TEST_CASE("a figure takes no more of the frequency figures than the parts that it names") {
  const Tube tube = tube_with(kKoren12AX7);
  Evaluation all, asked;
  int seen = 0;
  for (const Figure& figure : figures()) {
    CAPTURE(figure.name);
    if (figure.needs != Depth::with_frequency) {
      CHECK(figure.parts == 0);
      continue;
    }
    const Design d = stage_with(figure, tube);
    evaluate(d, Depth::with_frequency, all);
    evaluate(d, Depth::full, asked);
    REQUIRE(asked.at_target.solved == Solved::yes);
    asked.frequency_known = frequency_figures(d, asked.operating_point, figure.parts, asked.frequency);
    if (has_feedback(d))
      feedback_figures(d, asked.operating_point, asked.at_target, figure.parts, asked.feedback);
    const std::optional<double> value = figure.measure(d, asked);
    REQUIRE(value);
    CHECK(value == figure.measure(d, all));
    ++seen;
  }
  CHECK(seen >= 12);
}
