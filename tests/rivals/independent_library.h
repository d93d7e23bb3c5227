/// The independent optimization library (Debian: libpagmo-dev) on our problems: for tests and benches only.
#pragma once

#include <pagmo/algorithm.hpp>
#include <pagmo/algorithms/moead.hpp>
#include <pagmo/algorithms/nsga2.hpp>
#include <pagmo/population.hpp>
#include <pagmo/problem.hpp>
#include <string>
#include <utility>
#include <vector>

#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/problem.h"
#include "optimize/engine/unit_cube.h"

namespace antiphase::engine::rivals {

/// What one run saw; the library copies its problems, so they share this.
struct Log {
  Archive archive;
  int evaluations = 0, most = 0;
  Judge judge;
};

/// The unit cube of one of our problems, with everything seen in an archive. Neither method of the library
/// knows limits: a point that breaks them is answered with `above` + violation in each objective, which
/// orders them as Deb's rule does.
struct Cube {
  const Problem* problem = nullptr;
  Log* log = nullptr;
  double above = 1e9;

  std::vector<double> fitness(const std::vector<double>& u) const {
    const UnitCube cube(*problem);
    const std::vector<double> x = cube.to_x(u);
    const Judged judged = log->judge(x);
    if (log->evaluations < log->most) log->archive.insert({x, judged, 0});
    ++log->evaluations;
    std::vector<double> f(judged.objective.begin(), judged.objective.begin() + problem->objectives);
    if (!judged.feasible())
      for (double& t : f) t = above * (1 + judged.violation);
    return f;
  }
  std::size_t get_nobj() const { return static_cast<std::size_t>(problem->objectives); }
  std::pair<std::vector<double>, std::vector<double>> get_bounds() const {
    const std::size_t size = static_cast<std::size_t>(UnitCube(*problem).size());
    return {std::vector<double>(size, 0.0), std::vector<double>(size, 1.0)};
  }
  template <class A>
  void serialize(A&, unsigned) {}
};

enum class Rival { nsga2, moead };

/// Everything that a run with `evaluations` judgements saw. Settings: the library's own, with a mutation rate
/// of one unknown (Deb et al., IEEE Trans. Evol. Comput. 6 (2002) 182-197); 100 members, with fewer than
/// 5000 judgements 40. The grid of directions wants its own numbers of members: 4 objectives 120 or 35.
inline std::vector<Point> everything_seen(Rival rival, const Problem& problem, int evaluations,
                                          unsigned seed) {
  Log log{Archive(problem.objectives), 0, evaluations, problem.make_judge()};
  const bool few = evaluations < 5000;
  unsigned members = few ? 40u : 100u;
  if (rival == Rival::moead && problem.objectives == 3) members = few ? 36u : 105u;
  if (rival == Rival::moead && problem.objectives == 4) members = few ? 35u : 120u;
  const unsigned rounds = static_cast<unsigned>(evaluations) / members;
  pagmo::population people(pagmo::problem(Cube{&problem, &log}), members, seed);
  const double rate = 1.0 / UnitCube(problem).size();
  pagmo::algorithm method = rival == Rival::nsga2
                                ? pagmo::algorithm(pagmo::nsga2(rounds, 0.9, 15., rate, 20., seed))
                                : pagmo::algorithm(pagmo::moead(rounds, "grid", "tchebycheff", 20, 1., 0.5,
                                                                20., 0.9, 2, true, seed));
  method.evolve(people);
  return log.archive.members();
}

}  // namespace antiphase::engine::rivals
