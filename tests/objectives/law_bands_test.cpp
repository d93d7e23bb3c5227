// Bands over the credible laws of a tube are the figures under each law, no more; ranks in doubt are those
// that some law turns round.
#include "objectives/law_bands.h"

#include <doctest/doctest.h>

#include <algorithm>

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

}  // namespace

TEST_CASE("a band reaches from the least to the most that the credible laws give one by one") {
  const Tube tube = doubted(), first = tube_with(kKoren12AX7), second = tube_with(scaled(1.2));
  const LawBands bands = law_bands(pair_of(tube), distortion_first());
  REQUIRE(bands.laws == 2);
  Evaluation a, b;
  const Design under_first = pair_of(first), under_second = pair_of(second);
  evaluate(under_first, Depth::full, a);
  evaluate(under_second, Depth::full, b);
  REQUIRE(bands.figures.size() > 10);
  int wide = 0;
  for (const FigureBand& band : bands.figures) {
    CAPTURE(std::string(band.figure->name));
    const double va = band.figure->measure(under_first, a).value(),
                 vb = band.figure->measure(under_second, b).value();
    CHECK(band.value == va);
    CHECK(band.low == std::min(va, vb));
    CHECK(band.high == std::max(va, vb));
    CHECK_FALSE(band.missing);
    wide += band.high > band.low;
  }
  CHECK(wide > 8);
}

TEST_CASE("a figure that one law does not reach is told, and a single law has no band") {
  Tube tube = tube_with(kKoren12AX7);
  const LawBands alone = law_bands(pair_of(tube), distortion_first());
  CHECK(alone.laws == 1);
  for (const FigureBand& band : alone.figures) CHECK((band.low == band.value && band.high == band.value));

  tube.models.push_back({scaled(1e-6), "test", true});  // no gain to speak of
  const LawBands bands = law_bands(pair_of(tube), distortion_first());
  const auto distortion = std::find_if(bands.figures.begin(), bands.figures.end(), [](const FigureBand& b) {
    return b.figure->name == "distortion_pct";
  });
  REQUIRE(distortion != bands.figures.end());
  CHECK(distortion->missing);
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
