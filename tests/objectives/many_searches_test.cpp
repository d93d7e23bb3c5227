// Long evenings: very many searches in one process through the library. Memory stays flat, answers the same.
#include <doctest/doctest.h>

#include <unistd.h>

#include <fstream>
#include <string>
#include <variant>

#include "configs/read_brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/search.h"
#include "tests/support/shipped.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Of this process, by the system's own count (proc(5), statm).
long resident_bytes() {
  std::ifstream file("/proc/self/statm");
  long all = 0, resident = 0;
  file >> all >> resident;
  REQUIRE(file.good());
  return resident * sysconf(_SC_PAGESIZE);
}

/// The brief is read, the problem made and searched: all that an embedding program does.
engine::Point best_of_a_search() {
  const auto read = read_brief(ANTIPHASE_SOURCE "/configs/briefs/only_100k_plates.json", shipped());
  REQUIRE(std::holds_alternative<Brief>(read));
  const Brief& brief = std::get<Brief>(read);
  const DesignProblem problem(brief.space, brief.demands);
  engine::SearchOptions small;
  small.global_evaluations_per_family = small.local_evaluations = 20;
  small.screening_evaluations_per_family = 50;
  small.lattice_starts_per_family = small.refined_points_per_family = 1;
  small.lattice_evaluations_per_start = 50;
  small.front_directions = 2;
  small.front_evaluations_per_direction = 20;
  small.families_kept = 1;
  small.best_kept = small.front_kept = small.cloud_kept = 10;
  const engine::SearchOutcome found = engine::search(problem.families(), small, {.threads = 2}, {}, nullptr);
  REQUIRE_FALSE(found.best.empty());
  return found.best.front();
}

}  // namespace

TEST_CASE("ten thousand searches in one process give one answer and hold no more memory than a thousand" *
          doctest::test_suite("long")) {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  constexpr int kSearches = 200, kWarm = 100;  // what the checks add takes ten times as long
#else
  constexpr int kSearches = 10'000, kWarm = 1'000;
#endif
  [[maybe_unused]] constexpr long kAllowed_bytes =
      2 << 20;  // the allocator's own tides: thread caches, fragments
  const engine::Point first = best_of_a_search();
  long warm = 0;
  for (int n = 1; n < kSearches; ++n) {
    const engine::Point best = best_of_a_search();
    // not CHECK: a count of ten thousand would drown the rest
    if (best.x != first.x || best.judged.cost != first.judged.cost)
      FAIL("search ", n, " found something else");
    if (n == kWarm) warm = resident_bytes();
  }
  const long grown = resident_bytes() - warm;
  MESSAGE(kSearches, " searches; memory ", warm >> 10, " KB after ", kWarm, ", ", grown >> 10,
          " KB more at the end");
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
  CHECK(grown < kAllowed_bytes);  // a sanitizer keeps freed memory aside
#endif
}
