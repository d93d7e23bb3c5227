#include "optimize/engine/search.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <mutex>
#include <set>
#include <stdexcept>
#include <string>
#include <thread>

#include "optimize/engine/lattice/enumerate.h"
#include "optimize/engine/ledger_queries.h"
#include "optimize/engine/order.h"
#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/pareto/dominance.h"
#include "tests/optimize/support/outcome_bytes.h"
#include "tests/optimize/support/valley.h"

using namespace antiphase::engine;
using namespace antiphase::engine::testing;

namespace {

std::vector<Family> families(int count, double span, std::uint64_t first_seed = 1) {
  std::vector<Family> all;
  for (int i = 0; i < count; ++i)
    all.push_back(valley_family(Valley(first_seed + static_cast<std::uint64_t>(i)), span));
  return all;
}

/// Small enough for many runs, large enough that every round has work.
SearchOptions small_options(std::uint64_t seed = 1) {
  SearchOptions o;
  o.seed = seed;
  o.global_evaluations_per_family = 300;
  o.screening_evaluations_per_family = 150;
  o.local_evaluations = 100;
  o.lattice_evaluations_per_start = 400;
  o.lattice_starts_per_family = 3;
  o.front_directions = 20;
  o.front_evaluations_per_direction = 60;
  o.families_kept = 3;
  return o;
}

/// Counts every judgement, on whatever thread.
void count_calls(Problem& problem, std::atomic<std::int64_t>& calls) {
  problem.make_judge = [make = problem.make_judge, &calls] {
    return [judge = make(), &calls](std::span<const double> x) {
      ++calls;
      return judge(x);
    };
  };
}

bool on_lattice(const Family& family, const std::vector<double>& x) {
  if (x.size() != family.parts.axes.size()) return false;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const auto& levels = family.parts.axes[i].levels;
    if (!std::binary_search(levels.begin(), levels.end(), x[i])) return false;
  }
  return true;
}

}  // namespace

TEST_CASE("the search finds the exact best of every kinked valley and of the set") {
  // 8 sets of 3 valleys of some 16 000 points, which the search may only sample: 2700 points in each at most
  // before the front is widened.
  int exact = 0, sets_exact = 0;
  for (int set = 0; set < 8; ++set) {
    const std::vector<Family> all = families(3, 1.45, static_cast<std::uint64_t>(100 + 3 * set));
    SearchOptions options;
    options.seed = static_cast<std::uint64_t>(set + 1);
    options.lattice_evaluations_per_start = 600;
    options.lattice_starts_per_family = 3;
    options.screening_evaluations_per_family = 300;
    options.front_directions = 0;
    const SearchOutcome out = search(all, options, {2}, {}, nullptr);
    CHECK(out.stop == Stop::finished);
    Point best_of_all;
    for (int f = 0; f < 3; ++f) {
      const Ledger ledger = enumerate(all[f].parts, 1 << 30, nullptr).fresh;
      const Point best = best_of(all[f].parts, ledger, f, 1)[0];
      CHECK(out.evaluations_parts < ledger.size());  // of all three together
      exact += out.best_by_family[f].x == best.x;
      if (f == 0 || better(best, best_of_all)) best_of_all = best;
    }
    sets_exact += out.best[0].x == best_of_all.x && out.best[0].family == best_of_all.family;
  }
  MESSAGE("exact best in " << exact << " of 24 families and " << sets_exact << " of 8 sets");
  CHECK(exact >= 23);
  CHECK(sets_exact == 8);
}

TEST_CASE("every group is searched as it would be alone, evaluation by evaluation") {
  // Groups of unlike sizes, not in order; small lattices among them, which are judged to their ends.
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    std::vector<Family> all = families(7, seed % 2 ? 1.45 : 1.12, 500 + 10 * seed);
    const std::vector<int> groups{0, 1, 0, 2, 1, 0, 0};
    for (std::size_t f = 0; f < all.size(); ++f) all[f].group = groups[f];
    std::vector<SearchOptions> passes{small_options(seed), small_options(seed)};
    for (SearchOptions& pass : passes) pass.front_kept = 100000;
    const SearchOutcome together = search(all, passes, {}, {2}, {}, nullptr);
    CHECK(bytes_of(search(all, passes, {}, {1}, {}, nullptr)) == bytes_of(together));
    Archive front(all[0].parts.objectives);
    std::int64_t planned = 0;
    for (int group = 0; group < 3; ++group) {
      std::vector<Family> own;
      std::vector<int> place;
      for (std::size_t f = 0; f < all.size(); ++f)
        if (groups[f] == group) {
          own.push_back(all[f]);
          own.back().group = 0;
          place.push_back(static_cast<int>(f));
        }
      planned += planned_evaluations(own, passes);
      const SearchOutcome alone = search(own, passes, {}, {2}, {}, nullptr);
      for (std::size_t f = 0; f < own.size(); ++f) {
        const auto at = static_cast<std::size_t>(place[f]);
        CHECK(alone.best_by_family[f].x == together.best_by_family[at].x);
        CHECK(alone.best_by_family[f].judged.cost == together.best_by_family[at].judged.cost);
        CHECK(alone.evaluations_by_family[f] == together.evaluations_by_family[at]);
      }
      for (Point point : alone.front) {
        point.family = place[static_cast<std::size_t>(point.family)];
        front.insert(point);
      }
    }
    CHECK(planned_evaluations(all, passes) == planned);
    const std::vector<Point> members = front.members();
    REQUIRE(members.size() == together.front.size());
    for (const Point& point : together.front)
      CHECK(std::any_of(members.begin(), members.end(), [&](const Point& other) {
        return other.family == point.family && other.x == point.x;
      }));
  }
}

TEST_CASE("with the default options the search finds the exact best among millions of points") {
  for (std::uint64_t seed : {1, 2}) {
    const std::vector<Family> all = families(1, 3.2, 40 + seed);
    const SearchOutcome out = search(all, SearchOptions{}, {2}, {}, nullptr);
    REQUIRE(lattice_size(all[0].parts) > 3e6);
    const Judge judge = all[0].parts.make_judge();
    Levels levels(5, 0);
    std::vector<double> x(5);
    Point best;
    for (bool more = true, first = true; more; first = false) {
      values_of(all[0].parts, levels, x);
      const Judged judged = judge(x);
      if (first || !better(best.judged, judged)) {
        const Point here{x, judged, 0};
        if (first || better(here, best)) best = here;
      }
      more = false;
      for (std::size_t i = 5; i-- > 0 && !more;) {
        more = ++levels[i] < static_cast<int>(all[0].parts.axes[i].levels.size());
        if (!more) levels[i] = 0;
      }
    }
    CHECK(out.best[0].x == best.x);
    CHECK(out.evaluations_parts < 0.03 * lattice_size(all[0].parts));
  }
}

TEST_CASE("the outcome is the same to the last byte for 1, 2, 3 and 8 threads") {
  const std::vector<Family> all = families(4, 1.8);
  for (std::uint64_t seed : {1, 7}) {
    const std::string one = bytes_of(search(all, small_options(seed), {1}, {}, nullptr));
    for (const int threads : {2, 3, 8}) {
      CAPTURE(threads);
      CHECK(bytes_of(search(all, small_options(seed), {threads}, {}, nullptr)) == one);
    }
    CHECK(one.size() > 10000);
  }
  CHECK(bytes_of(search(all, small_options(1), {2}, {}, nullptr)) !=
        bytes_of(search(all, small_options(2), {2}, {}, nullptr)));
}

TEST_CASE("the watcher and the load change nothing in the outcome") {
  const std::vector<Family> all = families(2, 1.8);
  std::vector<Family> slow = all;
  for (Family& f : slow)
    f.parts.make_judge = [make = f.parts.make_judge] {
      return [judge = make(), n = 0](std::span<const double> x) mutable {
        if (++n % 50 == 0) std::this_thread::sleep_for(std::chrono::microseconds(200));
        return judge(x);
      };
    };
  std::int64_t last = 0;
  bool rising = true, sensible = true;
  std::set<std::string> stages;
  const Watch watch = [&](const Snapshot& s) {
    rising = rising && s.evaluations >= last;
    sensible = sensible && s.evaluations_expected > 0 && (!s.best_cost || *s.best_cost > 0);
    last = s.evaluations;
    stages.emplace(s.stage);
  };
  const std::string watched = bytes_of(search(slow, small_options(), {3}, watch, nullptr));
  CHECK(watched == bytes_of(search(all, small_options(), {1}, {}, nullptr)));
  CHECK(rising);
  CHECK(sensible);
  CHECK(stages.size() == 5);
}

TEST_CASE("the watcher is not called more than some ten times a second") {
  std::vector<Family> all = families(1, 1.8);
  int calls = 0;
  const auto begin = std::chrono::steady_clock::now();
  search(
      all, SearchOptions{}, {2}, [&](const Snapshot&) { ++calls; }, nullptr);
  const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  CHECK(calls <= 5 + 10 * seconds + 1);  // five stages, and every 100 ms
}

TEST_CASE("every judgement is counted, and no more are made than were planned") {
  std::vector<Family> all = families(4, 1.8);
  std::atomic<std::int64_t> ideal{0}, parts{0};
  for (Family& f : all) {
    count_calls(f.ideal, ideal);
    count_calls(f.parts, parts);
  }
  std::int64_t expected = 0;
  const SearchOutcome out = search(
      all, small_options(), {2}, [&](const Snapshot& s) { expected = s.evaluations_expected; }, nullptr);
  CHECK(out.evaluations_ideal == ideal);
  CHECK(out.evaluations_parts == parts);
  std::int64_t sum = 0;
  for (const std::int64_t n : out.evaluations_by_family) sum += n;
  CHECK(sum == ideal + parts);
  CHECK(ideal + parts <= expected);
}

TEST_CASE("later rounds do not judge again what earlier ones judged") {
  std::vector<Family> all = families(1, 1.8);
  std::set<std::vector<double>> different;
  all[0].parts.make_judge = [make = all[0].parts.make_judge, &different] {
    return [judge = make(), &different](std::span<const double> x) {
      different.emplace(x.begin(), x.end());
      return judge(x);
    };
  };
  SearchOptions options = small_options();
  options.lattice_starts_per_family = 1;  // tasks of one round cannot know of each other: one at a time
  options.front_directions = 1;
  const SearchOutcome out = search(all, options, {1}, {}, nullptr);
  CHECK(out.evaluations_parts >
        options.screening_evaluations_per_family + options.lattice_evaluations_per_start);
  CHECK(different.size() == static_cast<std::size_t>(out.evaluations_parts));
}

TEST_CASE("two tasks of one round throw different dice") {
  std::vector<Family> all = families(1, 3.2);
  all.push_back(all[0]);  // the same question twice
  std::vector<std::set<std::vector<double>>> asked(2);
  for (int f : {0, 1})
    all[f].ideal.make_judge = [make = all[f].ideal.make_judge, &asked, f] {
      return [judge = make(), &asked, f](std::span<const double> x) {
        asked[f].emplace(x.begin(), x.end());
        return judge(x);
      };
    };
  search(all, small_options(), {1}, {}, nullptr);
  std::size_t shared = 0;
  for (const auto& x : asked[0]) shared += asked[1].contains(x);
  CHECK(asked[0].size() > 300);
  CHECK(shared == 0);
}

TEST_CASE("the outcome holds what it promises") {
  const std::vector<Family> all = families(4, 1.8);
  SearchOptions options = small_options();
  options.best_kept = 50;
  options.front_kept = 30;
  options.cloud_kept = 100;
  const SearchOutcome out = search(all, options, {2}, {}, nullptr);
  CHECK(out.best.size() == 50);
  CHECK(out.front.size() == 30);
  CHECK(out.cloud.size() == 100);
  REQUIRE(out.best_by_family.size() == 4);
  const auto by_better = [](const Point& a, const Point& b) { return better(a, b); };
  for (const auto* list : {&out.best, &out.front, &out.cloud}) {
    CHECK(std::is_sorted(list->begin(), list->end(), by_better));
    CHECK(std::adjacent_find(list->begin(), list->end(), [](const Point& a, const Point& b) {
            return a.family == b.family && a.x == b.x;
          }) == list->end());
    for (const Point& p : *list) {
      CHECK(on_lattice(all[p.family], p.x));
      CHECK(all[p.family].parts.make_judge()(p.x).cost == p.judged.cost);
    }
  }
  for (const Point& p : out.front) {
    CHECK(p.judged.feasible());
    for (const auto* list : {&out.front, &out.best, &out.cloud})
      for (const Point& q : *list) CHECK_FALSE(dominates(q.judged, p.judged, 3));
  }
  for (const Point& p : out.cloud) CHECK(p.judged.feasible());
  for (int f = 0; f < 4; ++f) {
    CHECK(out.best_by_family[f].family == f);
    CHECK_FALSE(better(out.best[0].judged, out.best_by_family[out.best[0].family].judged));
  }
}

TEST_CASE("small lattices are judged whole, so that best, front and cloud are exact") {
  const std::vector<Family> all = families(2, 1.2);
  SearchOptions options;
  options.front_kept = 100000;
  options.cloud_kept = 100000;
  options.best_kept = 100000;
  const SearchOutcome out = search(all, options, {2}, {}, nullptr);
  Archive front(3);
  std::size_t points = 0, sound = 0;
  Point best;
  for (int f = 0; f < 2; ++f) {
    const Ledger ledger = enumerate(all[f].parts, 1 << 30, nullptr).fresh;
    for (int e = 0; e < ledger.size(); ++e) {
      const Point p = point_of(all[f].parts, ledger, e, f);
      front.insert(p);
      sound += p.judged.feasible();
      if (points++ == 0 || better(p, best)) best = p;
    }
  }
  REQUIRE(points < 12000);
  CHECK(out.best.size() == points);
  CHECK(out.cloud.size() == sound);
  CHECK(out.best[0].x == best.x);
  REQUIRE(out.front.size() == front.size());
  const std::vector<Point> want = front.members();
  for (std::size_t i = 0; i < want.size(); ++i) CHECK(out.front[i].x == want[i].x);
}

TEST_CASE("the whole front of a ZDT1 lattice is found") {
  // Zitzler, Deb & Thiele 2000: f2 = g (1 - sqrt(f1 / g)), g = 1 + 9 mean(x2 ...); front: x2 ... = 0, g = 1.
  // On a lattice with 21 levels of x1 and 21^4 of the others, those 21 points are all of it.
  Family family;
  Axis axis{"x", 0, 1, false, {}};
  for (int i = 0; i <= 20; ++i) axis.levels.push_back(i / 20.0);
  family.parts.axes.assign(5, axis);
  family.parts.objectives = 2;
  family.parts.make_judge = [] {
    return [](std::span<const double> x) {
      const double g = 1 + 9 * (x[1] + x[2] + x[3] + x[4]) / 4;
      Judged j;
      j.objective = {x[0], g * (1 - std::sqrt(x[0] / g))};
      j.cost = j.objective[0] + j.objective[1];
      return j;
    };
  };
  const SearchOutcome out = search({family}, SearchOptions{}, {2}, {}, nullptr);
  REQUIRE(out.front.size() == 21);
  for (const Point& p : out.front) CHECK(p.x[1] + p.x[2] + p.x[3] + p.x[4] == 0);
}

TEST_CASE("where nothing keeps the limits the least violation comes first and the front is empty") {
  std::vector<Family> all = families(2, 1.45);
  for (Family& f : all)
    for (Problem* p : {&f.ideal, &f.parts})
      p->make_judge = [make = p->make_judge] {
        return [judge = make()](std::span<const double> x) {
          Judged j = judge(x);
          j.violation += 0.25 + 0.01 * j.objective[2];
          return j;
        };
      };
  const SearchOutcome out = search(all, small_options(), {2}, {}, nullptr);
  CHECK(out.stop == Stop::finished);
  CHECK(out.front.empty());
  CHECK(out.cloud.empty());
  double least = 1e300;
  for (const Family& f : all) {
    const Ledger ledger = enumerate(f.parts, 1 << 30, nullptr).fresh;
    for (int e = 0; e < ledger.size(); ++e) least = std::min(least, ledger.judged(e).violation);
  }
  CHECK(out.best[0].judged.violation == least);
}

TEST_CASE(
    "families without an ideal, without a way to parts, or with a failing one are searched all the same") {
  std::vector<Family> all = families(4, 1.45);
  all[0].ideal = Problem{};
  all[1].round_to_parts = nullptr;
  all[2].round_to_parts = [](std::span<const double>) { return std::vector<double>{}; };
  all[3].round_to_parts = [](std::span<const double>) {  // not levels, not even inside
    return std::vector<double>{1e9, -5, 1, 1e12, 3};
  };
  SearchOptions options = small_options();
  options.families_kept = 4;
  options.lattice_evaluations_per_start = 1500;
  const SearchOutcome out = search(all, options, {2}, {}, nullptr);
  for (int f = 0; f < 4; ++f) {
    CAPTURE(f);
    const Ledger ledger = enumerate(all[f].parts, 1 << 30, nullptr).fresh;
    CHECK(out.best_by_family[f].x == best_of(all[f].parts, ledger, f, 1)[0].x);
  }
}

TEST_CASE("a family with an empty lattice yields nothing and disturbs nobody") {
  std::vector<Family> all = families(2, 1.45);
  Family hollow = all[0];
  hollow.parts.axes[2].levels.clear();
  all.insert(all.begin() + 1, hollow);
  const SearchOutcome out = search(all, small_options(), {2}, {}, nullptr);
  CHECK(out.stop == Stop::finished);
  CHECK(out.best_by_family[1].x.empty());
  CHECK_FALSE(out.best_by_family[0].x.empty());
  CHECK_FALSE(out.best_by_family[2].x.empty());
  CHECK(search({hollow}, small_options(), {2}, {}, nullptr).stop == Stop::empty);
  CHECK(search({}, small_options(), {2}, {}, nullptr).stop == Stop::empty);
  CHECK(SearchOutcome{}.stop == Stop::not_run);
}

TEST_CASE("one objective needs no front directions") {
  std::vector<Family> all = families(1, 1.8);
  all[0].parts.objectives = all[0].ideal.objectives = 1;
  const SearchOutcome out = search(all, small_options(), {1}, {}, nullptr);
  CHECK(out.front.size() == 1);
}

TEST_CASE("an interrupted search ends soon and gives what it has") {
  // The flag goes up inside the judge, after so many evaluations: no clock, so no load can upset it.
  for (const int stop_at : {10, 3000, 12000, 40000}) {  // the last two while the parts are searched
    CAPTURE(stop_at);
    std::vector<Family> all = families(6, 3.2);
    std::atomic<bool> stop{false};
    std::atomic<int> judged{0};
    for (Family& f : all)
      for (Problem* p : {&f.ideal, &f.parts})
        p->make_judge = [make = p->make_judge, &stop, &judged, stop_at] {
          return [judge = make(), &stop, &judged, stop_at](std::span<const double> x) {
            if (++judged >= stop_at) stop = true;
            return judge(x);
          };
        };
    constexpr int kThreads = 2;
    const SearchOutcome out = search(all, SearchOptions{}, {kThreads}, {}, &stop);
    CHECK(out.stop == Stop::interrupted);
    MESSAGE("asked to stop after " << stop_at << " evaluations, made " << judged.load() << ", kept "
                                   << out.best.size() << " points");
    // one evaluation a thread may be under way, and one more task a thread may begin
    CHECK(judged.load() <= stop_at + 4 * kThreads);
    if (stop_at >= 12000) CHECK_FALSE(out.best.empty());
    CHECK(out.best_by_family.size() == 6);
  }
}

TEST_CASE("a stop before the start judges nothing") {
  const std::atomic<bool> stop{true};
  const SearchOutcome out = search(families(2, 1.45), small_options(), {2}, {}, &stop);
  CHECK(out.stop == Stop::interrupted);
  CHECK(out.evaluations_ideal + out.evaluations_parts == 0);
  CHECK(out.best.empty());
  CHECK(out.best_by_family.size() == 2);
}

TEST_CASE("what a judge throws reaches the caller of the search") {
  std::vector<Family> all = families(2, 1.45);
  all[1].parts.make_judge = []() -> Judge { throw std::runtime_error("no judge to be had"); };
  CHECK_THROWS_WITH_AS(search(all, small_options(), {2}, {}, nullptr), "no judge to be had",
                       std::runtime_error);
}
