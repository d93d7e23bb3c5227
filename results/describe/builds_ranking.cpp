#include "results/describe/builds_ranking.h"

#include <algorithm>

#include "results/describe/candidate_columns.h"
#include "results/describe/figure_text.h"
#include "results/describe/spread.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string share(double value, int decimals) {
  return fixed_text(100 * value, decimals) + " %";
}

std::string interval(const RobustFigures& f) {
  return fixed_text(100 * f.yield_95.low, 1) + " to " + share(f.yield_95.high, 1);
}

std::string percent_of_builds(const BuildsRequest& request) {
  return engineering_text(100 * request.percentile, "%", 4);
}

std::string score_of_builds(const RobustFigures& f) {
  return f.score ? significant_text(*f.score, 3, 4) : "-";
}

}  // namespace

std::vector<std::string> builds_ranking_in_words(const Report& report) {
  if (!report.builds_ranking) return {};
  const BuildsRanking& r = *report.builds_ranking;
  std::vector<std::string> words;
  words.push_back(r.request.rank_by == RankBy::yield
                      ? "Ranked by yield: the share of builds that reach the target and keep every limit. "
                        "Among equals the "
                        "score decides that " +
                            percent_of_builds(r.request) + " of all builds reach while they keep every limit."
                      : "Ranked by the score that " + percent_of_builds(r.request) +
                            " of all builds reach while they keep every limit; without one, by yield.");
  words.push_back(
      "Builds of " + std::to_string(r.designs) + " designs that keep every limit as drawn were solved, " +
      std::to_string(r.builds) + " in all; the best " + std::to_string(r.compared) + " with " +
      std::to_string(r.request.builds) +
      " builds each. Every design gets the same luck, so that they differ by their parts and not by "
      "the draw.");
  if (r.nominal_best && !report.candidates.empty()) {
    const RobustFigures& f = r.nominal_best->builds->figures;
    words.push_back(r.nominal_best_rank == 1
                        ? "The design that is best as drawn is also first by its builds."
                        : "The design that is best as drawn is number " +
                              std::to_string(r.nominal_best_rank) + " of these by its builds: yield " +
                              share(f.yield, 1) + " (" + interval(f) + "), against " +
                              share(report.candidates.front().builds->figures.yield, 1) + " of the first.");
  }
  return words;
}

ValueTable builds_ranking_table(const Report& report) {
  ValueTable t;
  if (!report.builds_ranking) return t;
  const BuildsRanking& r = *report.builds_ranking;
  t.caption = "What their builds come to";
  t.columns = {"rank",           "rank as drawn",
               "yield",          "yield, 95 % confidence",
               "score as drawn", "score of " + percent_of_builds(r.request)};
  t.number_labels = true;
  const auto add = [&](const std::string& rank, const Record& record) {
    const BuildsRecord& b = *record.builds;
    t.rows.push_back({rank, std::to_string(b.nominal_rank), share(b.figures.yield, 1), interval(b.figures),
                      score_text(record), score_of_builds(b.figures)});
  };
  bool nominal_shown = false;
  for (const Record& record : report.candidates) {
    if (!record.builds) continue;
    add(std::to_string(record.rank), record);
    nominal_shown |= record.builds->nominal_rank == 1;
  }
  if (!nominal_shown && r.nominal_best && r.nominal_best->builds)
    add("(" + std::to_string(r.nominal_best_rank) + ")", *r.nominal_best);
  t.notes.push_back("Rank as drawn: by the nominal score, among all designs that were looked at.");
  if (!nominal_shown)
    t.notes.push_back("In brackets: the best as drawn, and its place among all " +
                      std::to_string(r.compared) + " compared, of which near copies are not listed.");
  return t;
}

ValueTable candidate_bands_table(const Report& report) {
  ValueTable t;
  if (!report.every_spread) return t;
  t.caption = "How builds of each candidate scatter: nominal, and 5 to 95 % of them";
  t.columns = {"rank"};
  t.number_labels = true;
  for (const Objective& o : report.demands.objectives) t.columns.push_back(std::string(o.figure->label));
  t.columns.push_back("yield");
  int builds = 0;
  for (const Record& record : report.candidates) {
    if (!record.spread) continue;
    const SpreadSummary& s = record.spread->summary;
    builds = s.builds;
    std::vector<std::string> cells{std::to_string(record.rank)};
    for (const Objective& o : report.demands.objectives) {
      const auto row = std::find_if(s.rows.begin(), s.rows.end(),
                                    [&](const SpreadRow& x) { return x.figure == o.figure; });
      if (row == s.rows.end() || row->known == 0) {
        cells.push_back("n/a");
        continue;
      }
      const auto text = [&](double v) { return figure_text(*o.figure, v); };
      cells.push_back((row->nominal ? text(*row->nominal) : "n/a") + ", " + text(row->low) + " to " +
                      text(row->high));
    }
    cells.push_back(share(s.yield, 1));
    t.rows.push_back(std::move(cells));
  }
  t.notes = {"From " + std::to_string(builds) + " builds each, the same luck for every candidate."};
  return t;
}

}  // namespace antiphase
