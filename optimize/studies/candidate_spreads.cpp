#include "optimize/studies/candidate_spreads.h"

#include <algorithm>
#include <memory>

#include "objectives/design_problem.h"
#include "optimize/studies/spread_of.h"

namespace antiphase {

void add_spreads(const Brief& brief, bool every, int threads, Report& report) {
  constexpr std::size_t kSheets = 3;
  constexpr int kBuildsForSheet = 1000, kSelected = 200;
  const BuildsRequest input = brief.builds.value_or(BuildsRequest{});
  const std::size_t count = every ? report.candidates.size() : std::min(kSheets, report.candidates.size());
  Demands demands = with_low_frequency(brief.space, brief.demands);
  demands.factors = report.demands.factors;  // with what is outside as given
  for (std::size_t n = 0; n < count; ++n) {
    Record& r = report.candidates[n];
    if (!r.feasible) continue;
    SpreadReport spread =
        spread_of(r.design, demands, input.tolerances,
                  {every ? input.builds : kBuildsForSheet, brief.seed, threads, every || n == 0, kSelected});
    spread.brief_file = brief.title.empty() ? "brief" : brief.title;
    r.spread = std::make_shared<const SpreadReport>(std::move(spread));
  }
  report.every_spread = every;
}

}  // namespace antiphase
