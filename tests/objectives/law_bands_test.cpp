// Bands are as wide as what is not known of a type makes them; ranks in doubt are those that some law turns
// round.
#include "objectives/law_bands.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Koren1996 scaled(double current) {
  Koren1996 law = kKoren12AX7;
  law.kg1 /= current;
  return law;
}

/// Three laws, of which the last is only for comparison.
Tube doubted() {
  Tube tube = tube_with(kKoren12AX7);
  tube.models.push_back({scaled(1.2), "test", true});
  tube.models.push_back({scaled(3), "test", false});
  return tube;
}

Demands distortion_first() {
  Demands demands;
  Objective o;
  o.figure = find_figure("distortion_pct");
  demands.objectives.push_back(o);
  return demands;
}

LawBands with_scores(std::vector<std::optional<double>> score) {
  LawBands bands;
  bands.laws = static_cast<int>(score.size());
  bands.feasible.assign(score.size(), true);
  bands.score = std::move(score);
  return bands;
}

FigureBand band_named(const LawBands& bands, const char* name) {
  const FigureBand* band = band_of(bands, *find_figure(name));
  REQUIRE(band);
  return *band;
}

}  // namespace

TEST_CASE("scores stand law by law, and each figure lies within its band of nineteen draws") {
  const Tube tube = doubted(), first = tube_with(kKoren12AX7), second = tube_with(scaled(1.2));
  const LawBands bands = law_bands(pair_of(tube), distortion_first());
  REQUIRE(bands.laws == 2);
  REQUIRE(bands.score.size() == 2);
  CHECK(bands.draws == 19);
  CHECK(bands.score[0] == law_bands(pair_of(first), distortion_first()).score[0]);
  CHECK(bands.score[1] == law_bands(pair_of(second), distortion_first()).score[0]);
  REQUIRE(bands.figures.size() > 10);
  Evaluation e;
  evaluate(pair_of(first), Depth::full, e);
  int wide = 0;
  for (const FigureBand& band : bands.figures) {
    CAPTURE(std::string(band.figure->name));
    CHECK(band.value == band.figure->measure(pair_of(first), e).value());
    CHECK(band.low <= band.value);
    CHECK(band.high >= band.value);
    CHECK_FALSE(band.missing);
    wide += band.high > band.low;
  }
  CHECK(wide > 8);
}

TEST_CASE("a source of constant current leaves nothing to the type but what a law leaves of one figure") {
  // The source's 1 mA is shared half and half by alike sections whatever they are; its own megohms and the
  // grids' currents take less than a thousandth. What is left of a current is 2.6 % (kTypeScatter), and the
  // least and largest of nineteen draws of a normal number stand at 1.5 to 1.9 standard deviations, stretched
  // by 1.415 / 1.645.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::self_biased, TailForm::constant_current);
  d.plate_ohm = {150e3, 150e3};
  const FigureBand current = band_named(law_bands(d, distortion_first()), "plate_current_a");
  CHECK(std::log(current.value / current.low) > 0.026 * 1.4 * 0.860 - 1e-3);
  CHECK(std::log(current.value / current.low) < 0.026 * 2.0 * 0.860 + 1e-3);
  CHECK(std::log(current.high / current.value) > 0.026 * 1.4 * 0.860 - 1e-3);
  CHECK(std::log(current.high / current.value) < 0.026 * 2.0 * 0.860 + 1e-3);
}

TEST_CASE("the band of distortion is as wide as sources scatter about laws") {
  // Between sources a factor with the deviation 0.274 of its logarithm, of one statement 0.279: together
  // 0.391, of which nine tenths lie within 1.415. The draws of current and mu add to that, by less than as
  // much again.
  const Tube tube = tube_with(kKoren12AX7);
  const FigureBand distortion = band_named(law_bands(pair_of(tube), distortion_first()), "distortion_pct");
  const double half_width = 0.5 * std::log(distortion.high / distortion.low);
  CHECK(half_width > 0.85 * 1.415 * 0.391);
  CHECK(half_width < 2 * 1.415 * 0.391);
}

TEST_CASE("a figure that one law does not reach is told, and a single law has a band too") {
  Tube tube = tube_with(kKoren12AX7);
  const LawBands alone = law_bands(pair_of(tube), distortion_first());
  CHECK(alone.laws == 1);
  CHECK(alone.draws == 19);
  const FigureBand gain = band_named(alone, "gain"), swing = band_named(alone, "clean_swing_peak_v"),
                   headroom = band_named(alone, "headroom_db");
  // Headroom is that swing over the target, in decibels.
  CHECK(within(headroom.high - headroom.low, 20 * std::log10(swing.high / swing.low), 1e-9));
  CHECK(gain.low < gain.value);
  CHECK(gain.high > gain.value);

  tube.models.push_back({scaled(1e-6), "test", true});  // no gain to speak of
  const LawBands bands = law_bands(pair_of(tube), distortion_first());
  CHECK(band_named(bands, "distortion_pct").missing);
  CHECK(bands.feasible[0]);
  CHECK_FALSE(bands.feasible[1]);
}

TEST_CASE("the same tube is compared law by law, other tubes by their whole bands") {
  const Tube tube = doubted(), other = doubted();
  const Design a = pair_of(tube), b = pair_of(tube), c = pair_of(other);
  // The bands 1 … 3 and 2 … 4 overlap, but under each law the first is better.
  CHECK_FALSE(rank_in_doubt(a, with_scores({1.0, 3.0}), b, with_scores({2.0, 4.0})));
  CHECK(rank_in_doubt(a, with_scores({1.0, 3.0}), c, with_scores({2.0, 4.0})));
  CHECK(rank_in_doubt(a, with_scores({1.0, 3.0}), b, with_scores({2.0, 2.5})));
  CHECK_FALSE(rank_in_doubt(a, with_scores({1.0, 1.5}), c, with_scores({2.0, 4.0})));
  // A law under which a limit breaks ranks last.
  LawBands broken = with_scores({1.0, 1.0});
  broken.feasible[1] = false;
  CHECK(rank_in_doubt(a, broken, b, with_scores({2.0, 2.0})));
}
