#include "optimize/engine/ledger_queries.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "optimize/engine/lattice/enumerate.h"
#include "optimize/engine/order.h"
#include "optimize/engine/random_numbers.h"
#include "tests/optimize/support/valley.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;
using namespace antiphase::engine::testing;

TEST_CASE("the best of a ledger are its first ones in order") {
  const Problem lattice = valley_lattice(Valley(1), 1.2);
  const Ledger ledger = enumerate(lattice, 1 << 30, nullptr).fresh;
  std::vector<Point> all;
  for (int e = 0; e < ledger.size(); ++e) all.push_back(point_of(lattice, ledger, e, 7));
  std::sort(all.begin(), all.end(), [](const Point& a, const Point& b) { return better(a, b); });
  const std::vector<Point> ten = best_of(lattice, ledger, 7, 10);
  REQUIRE(ten.size() == 10);
  for (int i = 0; i < 10; ++i) {
    CHECK(ten[i].x == all[i].x);
    CHECK(ten[i].family == 7);
  }
  CHECK(best_of(lattice, ledger, 7, 1 << 30).size() == all.size());
  CHECK(best_of(lattice, ledger, 7, 0).empty());
  CHECK(best_of(lattice, Ledger{}, 7, 5).empty());
}

TEST_CASE("the lottery draws the same points whatever the order of the ledger") {
  const Problem lattice = valley_lattice(Valley(1), 1.2);
  const Ledger forwards = enumerate(lattice, 1 << 30, nullptr).fresh;
  Ledger backwards(lattice);
  for (int e = forwards.size(); e-- > 0;) backwards.add(forwards.levels(e), forwards.judged(e));
  const std::vector<SampleKey> a = uniform_sample(forwards, 3, 40), b = uniform_sample(backwards, 3, 40);
  REQUIRE(a.size() == 40);
  REQUIRE(b.size() == 40);
  for (int i = 0; i < 40; ++i) {
    CHECK(a[i].number == b[i].number);
    CHECK(forwards.levels(a[i].entry) == backwards.levels(b[i].entry));
    CHECK(forwards.judged(a[i].entry).feasible());
  }
}

TEST_CASE("the lottery is fair: a tenth of the points stands for all of them") {
  const Problem lattice = valley_lattice(Valley(1), 1.45);
  const Ledger ledger = enumerate(lattice, 1 << 30, nullptr).fresh;
  double all = 0, square = 0, drawn = 0;
  int sound = 0;
  for (int e = 0; e < ledger.size(); ++e)
    if (const Judged j = ledger.judged(e); j.feasible()) {
      all += j.cost;
      square += j.cost * j.cost;
      ++sound;
    }
  const int count = sound / 10;
  for (const SampleKey& t : uniform_sample(ledger, 0, count)) drawn += ledger.judged(t.entry).cost;
  const double mean = all / sound, deviation = std::sqrt(square / sound - mean * mean);
  CHECK(within(drawn / count, mean, 5 * deviation / std::sqrt(count)));  // five standard deviations
}
