#include "optimize/program/tubes_for_brief.h"

#include <algorithm>
#include <string>
#include <vector>

#include "objectives/design_problem.h"
#include "optimize/engine/passes.h"
#include "optimize/program/effort.h"
#include "optimize/program/progress_line.h"
#include "optimize/program/search_report.h"

namespace antiphase {
namespace {

TubeTrial judged(const Tube& tube, const DesignProblem& problem, const engine::SearchOutcome& found) {
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

}  // namespace

TubeRanking tubes_for_brief(const Brief& brief, const TubeLibrary& library, int threads, bool quiet,
                            const std::atomic<bool>& stop) {
  TubeRanking ranking;
  ranking.title = brief.title;
  ranking.effort = name_of(brief.effort);
  ranking.seed = brief.seed;
  ranking.tubes = library.tubes().size();
  ProgressLine progress(quiet);
  constexpr double kNoScore = 1e300;
  double best_score = kNoScore;
  for (const Tube& tube : library.tubes()) {
    DesignSpace space = brief.space;
    space.tubes = {&tube};
    const DesignProblem problem(space, brief.demands);
    ranking.demands = problem.demands();
    const std::vector<engine::SearchOptions> passes = engine::passes_for(brief.effort, brief.seed);
    const auto planned = engine::planned_evaluations(
        problem.families().size(), static_cast<int>(problem.demands().objectives.size()), passes);
    const auto done = static_cast<std::int64_t>(ranking.trials.size());
    const std::string stage =
        tube.name + " (" + std::to_string(done + 1) + " of " + std::to_string(ranking.tubes) + ")";
    const engine::SearchOutcome found = engine::search(
        problem.families(), passes, {}, {.threads = threads},
        [&](const engine::Snapshot& s) {
          engine::Snapshot all = s;
          all.stage = stage;
          all.evaluations_expected =
              ranking.evaluations + planned * (static_cast<std::int64_t>(ranking.tubes) - done);
          all.evaluations = ranking.evaluations + s.evaluations;
          all.best_cost = std::min(best_score, s.best_cost);
          progress.show(all);
        },
        &stop);
    if (stop || found.stop == engine::Stop::interrupted) break;
    ranking.evaluations += found.evaluations_ideal + found.evaluations_parts;
    TubeTrial trial = judged(tube, problem, found);
    trial.in_brief =
        std::find(brief.space.tubes.begin(), brief.space.tubes.end(), &tube) != brief.space.tubes.end();
    if (trial.met()) best_score = std::min(best_score, *trial.best->score);
    ranking.trials.push_back(std::move(trial));
  }
  progress.finish();
  rank_trials(ranking);
  return ranking;
}

}  // namespace antiphase
