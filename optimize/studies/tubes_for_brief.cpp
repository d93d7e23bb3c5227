#include "optimize/studies/tubes_for_brief.h"

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "objectives/design_problem.h"
#include "optimize/engine/passes.h"
#include "optimize/studies/effort.h"
#include "results/make_record.h"

namespace antiphase {
namespace {

TubeTrial trial_of(const Tube& tube, const DesignProblem& problem, const engine::SearchOutcome& found) {
  TubeTrial trial;
  trial.tube = &tube;
  if (found.best.empty()) {
    trial.stands_in_the_way = problem.left_out();
    if (trial.stands_in_the_way.empty())
      trial.stands_in_the_way = {"no design of it with parts of the series could be judged"};
    return trial;
  }
  const engine::Point& best = found.best.front();
  trial.best = make_record(problem, problem.design_at(best.family, best.x));
  trial.violation = best.judged.violation;
  if (!trial.met()) explain_miss(trial);
  return trial;
}

/// Empty: no tube has met the brief so far.
std::optional<double> best_score(const TubeRanking& ranking) {
  std::optional<double> best;
  for (const TubeTrial& trial : ranking.trials)
    if (trial.met() && (!best || *trial.best->score < *best)) best = *trial.best->score;
  return best;
}

/// Shows the search of the next tube as a part of all searches, each of which may make so many evaluations.
engine::Watch as_part_of_all(const TubeRanking& ranking, const Tube& tube, std::int64_t planned,
                             const engine::Watch& watch) {
  const std::size_t done = ranking.trials.size();
  const std::string stage =
      tube.name + " (" + std::to_string(done + 1) + " of " + std::to_string(ranking.tubes) + ")";
  const std::int64_t before = ranking.evaluations;
  const std::int64_t expected = before + planned * static_cast<std::int64_t>(ranking.tubes - done);
  return [=, &watch, best = best_score(ranking)](const engine::Snapshot& s) {
    engine::Snapshot all = s;
    all.stage = stage;
    all.evaluations_expected = expected;
    all.evaluations = before + s.evaluations;
    if (best && (!s.best_cost || *best < *s.best_cost)) all.best_cost = best;
    if (watch) watch(all);
  };
}

/// The search of a problem with the brief's own effort and seed.
engine::SearchOutcome search_for(const Brief& brief, const DesignProblem& problem, const Tube& tube,
                                 int threads, const TubeRanking& ranking, const engine::Watch& watch,
                                 const std::atomic<bool>& stop) {
  const std::vector<engine::SearchOptions> passes = engine::passes_for(brief.effort, brief.seed);
  const std::int64_t planned = engine::planned_evaluations(problem.families(), passes);
  return engine::search(problem.families(), passes, {}, {.threads = threads},
                        as_part_of_all(ranking, tube, planned, watch), &stop);
}

}  // namespace

TubeRanking tubes_for_brief(const Brief& brief, const TubeLibrary& library, int threads,
                            const engine::Watch& watch, const std::atomic<bool>& stop) {
  TubeRanking ranking;
  ranking.title = brief.title;
  ranking.effort = name_of(brief.effort);
  ranking.seed = brief.seed;
  ranking.tubes = static_cast<std::size_t>(std::count_if(library.tubes().begin(), library.tubes().end(),
                                                         [](const Tube& t) { return !t.pentode.given; }));
  for (const Tube& tube : library.tubes()) {
    if (tube.pentode.given) continue;  // splitters are made of triodes
    DesignSpace space = brief.space;
    space.tubes = {&tube};
    const DesignProblem problem(space, brief.demands);
    ranking.demands = problem.demands();
    const engine::SearchOutcome found = search_for(brief, problem, tube, threads, ranking, watch, stop);
    if (stop || found.stop == engine::Stop::interrupted) break;
    ranking.evaluations += found.evaluations_ideal + found.evaluations_parts;
    TubeTrial trial = trial_of(tube, problem, found);
    trial.in_brief =
        std::find(brief.space.tubes.begin(), brief.space.tubes.end(), &tube) != brief.space.tubes.end();
    ranking.trials.push_back(std::move(trial));
  }
  rank_trials(ranking);
  return ranking;
}

}  // namespace antiphase
