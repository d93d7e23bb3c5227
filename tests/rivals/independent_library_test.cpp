// Our front tools against an independent optimization library (Debian: libpagmo-dev): volumes, dominance, and
// fronts at equal and at a tenth of its judgements. The whole table: bench_fronts.cpp.
#include "tests/rivals/independent_library.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <pagmo/utils/hypervolume.hpp>
#include <pagmo/utils/multi_objective.hpp>

#include "optimize/engine/pareto/hypervolume.h"
#include "optimize/engine/random_numbers.h"
#include "tests/rivals/front_evolution.h"
#include "tests/rivals/front_problems.h"
#include "tests/support/within.h"

using namespace antiphase::engine;
using namespace antiphase::engine::published;
using namespace antiphase::engine::rivals;

namespace {

/// Random places of the unit cube; with `coarse`, on a grid of six, so that there are many ties.
std::vector<std::vector<double>> places(int count, int objectives, bool coarse, std::uint64_t seed) {
  RandomNumbers random(seed);
  std::vector<std::vector<double>> all(static_cast<std::size_t>(count));
  for (std::vector<double>& p : all)
    for (int o = 0; o < objectives; ++o) p.push_back(coarse ? random.below(6) / 5.0 : random.unit());
  return all;
}

double held(const FrontProblem& f, int evaluations, std::uint64_t seed) {
  FrontTask task;
  task.base.problem = &f.problem;
  task.base.evaluations = evaluations;
  task.base.seed = seed;
  return share(f, front_evolution(task).front);
}

}  // namespace

TEST_CASE("volumes agree with the library's for two to six objectives") {
  for (int objectives = 2; objectives <= 6; ++objectives)
    for (const bool coarse : {false, true})
      for (std::uint64_t seed = 1; seed <= 4; ++seed) {
        CAPTURE(objectives);
        CAPTURE(coarse);
        const auto points = places(60, objectives, coarse, seed);
        const std::vector<double> reference(static_cast<std::size_t>(objectives), 1.1);
        const double theirs = pagmo::hypervolume(points).compute(reference);
        // Some hundred thousand sums of numbers around one.
        CHECK(antiphase::within_ratio(hypervolume(points, reference), theirs, 1e-10));
        if (objectives == 3) CHECK(antiphase::within_ratio(sliced_volume(points, reference), theirs, 1e-10));
      }
}

TEST_CASE("the archive holds the library's first front") {
  for (int objectives = 2; objectives <= 6; ++objectives)
    for (const bool coarse : {false, true})
      for (std::uint64_t seed = 1; seed <= 4; ++seed) {
        CAPTURE(objectives);
        CAPTURE(coarse);
        const auto points = places(300, objectives, coarse, seed);
        std::vector<std::vector<double>> theirs;
        const auto sorted = pagmo::fast_non_dominated_sorting(points);
        for (const auto i : std::get<0>(sorted)[0]) theirs.push_back(points[i]);
        Archive archive(objectives);
        for (const std::vector<double>& p : points) {
          Judged judged;
          std::copy(p.begin(), p.end(), judged.objective.begin());
          archive.insert({p, judged, 0});
        }
        std::vector<std::vector<double>> kept;
        for (const Point& p : archive.members()) kept.push_back(p.x);
        std::sort(kept.begin(), kept.end());
        std::sort(theirs.begin(), theirs.end());  // equal points: the archive keeps one
        theirs.erase(std::unique(theirs.begin(), theirs.end()), theirs.end());
        CHECK(kept == theirs);
      }
}

// What holds, with room: the tenth holds on ZDT6 alone, equality not on BNH, SRN, TNK (within 0.03) and
// DTLZ2, where the bench has the figures. Set by measurement, no published figure.
TEST_CASE(
    "at equal numbers of judgements our fronts hold more on ZDT1-3 and 6, and a tenth is enough on ZDT6") {
  const auto theirs = [](const FrontProblem& f, int evaluations, unsigned seed) {
    double most = 0;
    for (const rivals::Rival rival : {rivals::Rival::nsga2, rivals::Rival::moead})
      most = std::max(most, share(f, rivals::everything_seen(rival, f.problem, evaluations, seed)));
    return most;
  };
  for (const FrontProblem& f : {zdt(1), zdt(2), zdt(3), zdt(6)})
    for (unsigned seed = 1; seed <= 2; ++seed) {
      CAPTURE(f.name);
      CAPTURE(seed);
      CHECK(held(f, 10000, seed) >= theirs(f, 10000, seed));
    }
  const FrontProblem f = zdt(6);
  for (unsigned seed = 1; seed <= 2; ++seed)
    for (const int evaluations : {10000, 50000})
      CHECK(held(f, evaluations / 10, seed) >= theirs(f, evaluations, seed));
}
