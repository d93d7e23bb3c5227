#include "optimize/engine/lattice/complete.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "optimize/engine/order.h"
#include "tests/optimize/support/valley.h"

using namespace antiphase::engine;
using antiphase::engine::testing::Valley;
using antiphase::engine::testing::valley_lattice;

namespace {

/// The valley, with a staged judge that turns away what its first limit alone breaks, and drops blocks whose
/// first two unknowns alone show it. Its proof: exp is monotone, and the bound takes each end that helps.
Problem judged_staged(const Valley& valley, double span) {
  Problem p = valley_lattice(valley, span);
  p.stages = {"by a quick look"};
  // A quarter of the points is shut off by a limit of its own, so that blocks can be dropped.
  const auto over = [](double first, double second) { return first / 350 * 68e3 / second - 1.05; };
  const auto judge = [valley, over](std::span<const double> x) {
    Judged j = valley(x);
    j.violation += std::max(0.0, over(x[0], x[1]));
    return j;
  };
  p.make_judge = [judge] { return judge; };
  p.make_staged_judge = [judge, over] {
    return StagedJudge{[over](std::span<const double> low, std::span<const double> high, double) {
                         return over(low[0], high[1]) > 0;
                       },
                       [judge, over](std::span<const double> x) {
                         if (over(x[0], x[1]) > 0) return StagedJudgement{0, {}};
                         return StagedJudgement{1, judge(x)};
                       }};
  };
  return p;
}

Family family_of(Problem lattice) {
  Family family;
  family.parts = std::move(lattice);
  return family;
}

CompleteFindings all_of(const std::vector<Family>& families, const CompleteOptions& options,
                        int threads = 2) {
  CompleteRun run(families, options);
  while (!run.finished()) run.advance({threads}, {}, nullptr);
  return run.findings();
}

/// Plainly: every point, one after the other, against every other.
struct Plain {
  std::vector<Point> best, front;
};
Plain plain(const std::vector<Family>& families, int most) {
  std::vector<Point> feasible;
  for (int f = 0; f < static_cast<int>(families.size()); ++f) {
    const Problem& lattice = families[static_cast<std::size_t>(f)].parts;
    const Judge judge = lattice.make_judge();
    Levels levels(lattice.axes.size(), 0);
    std::vector<double> x(levels.size());
    for (bool more = true; more;) {
      values_of(lattice, levels, x);
      if (const Judged j = judge(x); j.feasible()) feasible.push_back({x, j, f});
      more = false;
      for (std::size_t i = levels.size(); i-- > 0 && !more;) {
        more = ++levels[i] < static_cast<int>(lattice.axes[i].levels.size());
        if (!more) levels[i] = 0;
      }
    }
  }
  std::sort(feasible.begin(), feasible.end(), [](const Point& a, const Point& b) { return better(a, b); });
  Plain out;
  const int n = families[0].parts.objectives;
  std::vector<Point> by_sum =
      feasible;  // then only an earlier one can dominate; families weigh their costs apart
  std::stable_sort(by_sum.begin(), by_sum.end(), [n](const Point& a, const Point& b) {
    double sum_a = 0, sum_b = 0;
    for (int k = 0; k < n; ++k) {
      sum_a += a.judged.objective[k];
      sum_b += b.judged.objective[k];
    }
    return sum_a < sum_b;
  });
  for (const Point& p : by_sum) {
    const bool beaten = std::any_of(out.front.begin(), out.front.end(), [&](const Point& q) {
      for (int k = 0; k < n; ++k)
        if (q.judged.objective[k] > p.judged.objective[k]) return false;
      return true;
    });
    if (!beaten) out.front.push_back(p);
  }
  std::sort(out.front.begin(), out.front.end(), [](const Point& a, const Point& b) { return better(a, b); });
  out.best.assign(feasible.begin(), feasible.begin() + std::min<std::ptrdiff_t>(most, feasible.size()));
  return out;
}

bool same(const std::vector<Point>& a, const std::vector<Point>& b) {
  return a.size() == b.size() &&
         std::equal(a.begin(), a.end(), b.begin(), [](const Point& p, const Point& q) {
           return p.family == q.family && p.x == q.x && p.judged.cost == q.judged.cost &&
                  p.judged.objective == q.judged.objective;
         });
}

bool same(const CompleteFindings& a, const CompleteFindings& b) {
  return a.chunks_done == b.chunks_done && a.coverage == b.coverage && same(a.best, b.best) &&
         same(a.front, b.front) && a.front_whole == b.front_whole;
}

}  // namespace

TEST_CASE("going through all gives the best and the front that plain enumeration gives, and drops blocks") {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    CAPTURE(seed);
    const std::vector<Family> families{family_of(judged_staged(Valley(seed), 1.25)),
                                       family_of(judged_staged(Valley(seed + 100), 1.3))};
    CompleteOptions options;
    options.best_kept = 50;
    const CompleteFindings found = all_of(families, options);
    const Plain want = plain(families, options.best_kept);
    REQUIRE(!want.best.empty());
    CHECK(same(found.best, want.best));
    CHECK(same(found.front, want.front));
    const Coverage& c = found.coverage;
    CHECK(static_cast<double>(c.covered) == combinations(families));
    CHECK(c.covered == c.discarded + c.turned_away[0] + c.judged_whole);
    CHECK(c.discarded > 0);
    CHECK(c.turned_away[0] > 0);
    CHECK(c.feasible <= c.judged_whole);
  }
}

TEST_CASE("slices merge to the whole, and a run goes on where it was interrupted") {
  // large enough for many chunks: 2^18 points each at most
  const std::vector<Family> families{family_of(judged_staged(Valley(3), 2.2)),
                                     family_of(judged_staged(Valley(4), 1.9))};
  CompleteOptions options;
  options.best_kept = 60;
  CompleteRun whole(families, options);
  REQUIRE(whole.chunks() >= 7);
  while (!whole.finished()) whole.advance({2}, {}, nullptr);
  const CompleteFindings want = whole.findings();

  std::vector<CompleteFindings> slices;
  std::int64_t points = 0;
  for (int slice = 1; slice <= 3; ++slice) {
    CompleteOptions part = options;
    part.slice = slice;
    part.slices = 3;
    CompleteRun run(families, part);
    points += run.points();
    // interrupted again and again: from inside a chunk, by whoever watches
    for (int round = 0; !run.finished(); ++round) {
      std::atomic<bool> stop{false};
      int told = 0;
      run.advance(
          {1}, [&](const Snapshot&) { stop = ++told >= 1 + round % 2; }, &stop);
      run = CompleteRun(families, part, run.findings());
    }
    CHECK(run.coverage().covered == run.points());
    slices.push_back(run.findings());
  }
  CHECK(static_cast<double>(points) == combinations(families));
  CHECK(same(merge(slices, families, options), want));
}

TEST_CASE("the same findings for any number of threads") {
  const std::vector<Family> families{family_of(judged_staged(Valley(7), 2.0))};
  const CompleteFindings want = all_of(families, {}, 1);
  for (const int threads : {2, 3, 8}) CHECK(same(all_of(families, {}, threads), want));
}

TEST_CASE("a front beyond its limit is thinned and says so, an empty lattice has nothing to go through") {
  const std::vector<Family> families{family_of(judged_staged(Valley(5), 1.25))};
  CompleteOptions options;
  options.front_most = 20;
  const CompleteFindings found = all_of(families, options);
  CHECK(!found.front_whole);
  CHECK(found.front.size() <= 20);
  CHECK(same(found.best, all_of(families, {}).best));

  Family nothing;
  nothing.parts.axes = {Axis{"a", 0, 1, false, {}}};
  const std::vector<Family> none{nothing};
  CompleteRun run(none, {});
  CHECK(run.finished());
  CHECK(run.points() == 0);
}
