#include "results/describe/tube_ranking.h"

#include <algorithm>
#include <tuple>

#include "results/describe/limit_rows.h"

namespace antiphase {

void rank_trials(TubeRanking& ranking) {
  std::vector<TubeTrial>& trials = ranking.trials;
  std::sort(trials.begin(), trials.end(), [](const TubeTrial& a, const TubeTrial& b) {
    const auto key = [](const TubeTrial& t) {
      return std::tuple(!t.met(), !t.best, t.met() ? *t.best->score : t.violation, t.tube->name);
    };
    return key(a) < key(b);
  });
  for (std::size_t k = 0; k < trials.size() && trials[k].met(); ++k) {
    Record& r = *trials[k].best;
    r.rank = static_cast<int>(k) + 1;
    if (k + 1 == trials.size() || !trials[k + 1].met()) continue;
    const Record& next = *trials[k + 1].best;
    r.rank_in_doubt = rank_in_doubt(r.design, r.bands, next.design, next.bands);
  }
}

void explain_miss(TubeTrial& trial) {
  const Record& r = *trial.best;
  std::vector<std::string>& words = trial.stands_in_the_way;
  std::vector<std::string>& help = trial.what_helps;
  if (r.evaluation.operating_point.solved != Solved::yes)
    words.push_back("no rest point: " + std::string(reason(r.evaluation.operating_point.solved)));
  else if (r.evaluation.at_target.solved != Solved::yes)
    words.push_back("target swing: " + std::string(reason(r.evaluation.at_target.solved)));
  for (const LimitRow& row : limit_rows(r.limits)) {
    if (row.kept) continue;
    words.push_back(row.limit + ": " + row.value + ", allowed is " + row.allowed);
    if (!row.remedy.empty() && std::find(help.begin(), help.end(), row.remedy) == help.end())
      help.push_back(row.remedy);
  }
}

}  // namespace antiphase
