#include "stagemodels/tubes/type_scatter.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("a specimen draws so many times the current at the typical point, whatever its mu is") {
  int types = 0;
  for (const Tube& tube : shipped().tubes()) {
    const PublishedPoint* typical = typical_point(tube.published_points);
    if (!typical) continue;
    ++types;
    CAPTURE(tube.name);
    const double grid_v = grid_voltage_of(*typical).value();
    const double as_is = currents_at(tube.law(), grid_v, typical->plate_v).plate_a;
    for (const double mu : {0.9, 1.0, 1.08}) {
      const SectionSpread spread = specimen_of(tube.law(), *typical, 1.2, mu);
      CHECK(spread.mu == mu);
      const TriodeSection section{&tube, &tube.law(), spread};
      CHECK(within_ratio(section.currents_at(grid_v, typical->plate_v).plate_a, 1.2 * as_is, 1e-12));
    }
  }
  CHECK(types >= 24);
}

TEST_CASE("nineteen draws are those of a normal distribution, and another type's are others") {
  const auto draws = type_draws(0), other = type_draws(1);
  for (double TypeDraw::*member : {&TypeDraw::current, &TypeDraw::mu, &TypeDraw::bend}) {
    double sum = 0, squares = 0, least = INFINITY, largest = -INFINITY, product = 0;
    for (std::size_t k = 0; k < draws.size(); ++k) {
      const double z = draws[k].*member;
      sum += z, squares += z * z, product += z * other[k].*member;
      least = std::min(least, z), largest = std::max(largest, z);
    }
    // Points of a sequence of low discrepancy stand nearer to the distribution than chance, whose mean is
    // known to 1 / sqrt(19) = 0.23 and whose variance to sqrt(2 / 19) = 0.32.
    CHECK(std::abs(sum / kTypeDraws) < 0.23);
    CHECK(within(squares / kTypeDraws, 1, 0.32));
    CHECK(std::abs(product / kTypeDraws) < 0.46);
    // The least of nineteen has the probability 1 / 20 on average: z = -1.645, and the sequence's own step
    // beside it.
    CHECK(least < -1.2);
    CHECK(largest > 1.2);
  }
}
