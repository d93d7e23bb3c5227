#include "results/terminal/tube_ranking_text.h"

#include <algorithm>

#include "results/describe/candidate_columns.h"
#include "results/describe/safety.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr std::size_t kWidth = 80;
constexpr std::size_t kReasonsShown = 3;
using Records = std::vector<const Record*>;
using A = TextColumn::Align;

Table table_of(const std::vector<TextColumn>& columns, std::size_t gap) {
  std::vector<Table::Column> headings;
  for (const TextColumn& c : columns) headings.push_back({c.heading, c.align});
  Table table(headings, gap);
  for (std::size_t row = 0; row < columns.front().cells.size(); ++row) {
    std::vector<std::string> cells;
    for (const TextColumn& c : columns) cells.push_back(c.cells[row]);
    table.add_row(cells);
  }
  return table;
}

std::string fitting_text(const std::vector<TextColumn>& columns) {
  const Table wide = table_of(columns, 2);
  return wide.width() <= kWidth ? wide.text() : table_of(columns, 1).text();
}

/// "0.41 – 0.52"; "none" where some credible law misses the target.
std::string score_band(const Record& r) {
  double low = *r.score, high = *r.score;
  for (const std::optional<double>& s : r.bands.score) {
    if (!s) return "none";
    low = std::min(low, *s), high = std::max(high, *s);
  }
  if (r.bands.laws < 2) return "-";
  return significant_text(low, 3, 3) + " – " + significant_text(high, 3, 3);
}

std::vector<std::size_t> objectives_of(const Demands& demands) {
  std::vector<std::size_t> shown;
  for (const Objective& o : demands.objectives)
    shown.push_back(static_cast<std::size_t>(o.figure - figures().data()));
  return shown;
}

/// A question mark behind a rank in doubt.
TextColumn ranks(const Records& records) {
  TextColumn column{"rank", A::point, {}};
  for (const Record* r : records)
    column.cells.push_back(std::to_string(r->rank) + (r->rank_in_doubt ? "?" : ""));
  return column;
}

std::string met_tables(const TubeRanking& ranking) {
  Records records;
  TextColumn tube{"tube", A::left, {}}, score{"score", A::point, {}}, band{"from law\nto law", A::left, {}};
  bool starred = false;
  for (const TubeTrial& t : ranking.trials) {
    if (!t.met()) break;
    records.push_back(&*t.best);
    starred = starred || t.in_brief;
    tube.cells.push_back(t.tube->name + (t.in_brief ? " *" : ""));
    score.cells.push_back(score_text(*t.best));
    band.cells.push_back(score_band(*t.best));
  }
  if (records.empty()) return "\nWith no tube of the library is the brief met.\n";
  std::vector<TextColumn> columns{ranks(records), tube, score, band};
  const std::vector<TextColumn> shown = figure_columns(records, objectives_of(ranking.demands));
  std::vector<TextColumn> all = columns;
  all.insert(all.end(), shown.begin(), shown.end());
  std::string text = "\n";
  if (table_of(all, 1).width() <= kWidth) {
    text += fitting_text(all);
  } else {  // a brief with many objectives: their figures stand in tables of their own
    text += fitting_text(columns);
    constexpr std::size_t kAtOnce = 4;
    for (std::size_t from = 0; from < shown.size(); from += kAtOnce) {
      std::vector<TextColumn> part{ranks(records), tube};
      for (std::size_t k = from; k < std::min(from + kAtOnce, shown.size()); ++k) part.push_back(shown[k]);
      text += "\n" + fitting_text(part);
    }
  }
  if (starred) text += "* allowed by the brief itself\n";
  text += wrapped(
      "From law to law: the score under every law that the tube's card calls credible; none: under one of "
      "them the stage does not reach the target. A ? behind a rank: the next tube comes first under some "
      "law.",
      kWidth);
  std::vector<TextColumn> build = build_columns(records);
  build.insert(build.begin(), ranks(records));
  return text + "\nThe designs behind it\n" + fitting_text(build);
}

}  // namespace

std::string tube_ranking_text(const TubeRanking& ranking) {
  std::string text = "Tubes for \"" + printable(ranking.title) + "\"\n";
  text += wrapped("Each tube of the library alone, all else as open as in the brief; " + ranking.effort +
                      " search, seed " + std::to_string(ranking.seed) +
                      "; ranked by the score of its best design, the lower the better.",
                  kWidth);
  if (ranking.trials.size() < ranking.tubes)
    text += "Interrupted: " + std::to_string(ranking.trials.size()) + " of " + std::to_string(ranking.tubes) +
            " tubes were tried.\n";
  text += met_tables(ranking);
  const auto missed =
      std::find_if(ranking.trials.begin(), ranking.trials.end(), [](const TubeTrial& t) { return !t.met(); });
  if (missed != ranking.trials.end()) text += "\nRuled out, and by what (at the nearest miss)\n";
  for (auto t = missed; t != ranking.trials.end(); ++t) {
    std::string line = t->tube->name + (t->in_brief ? " *" : "") + " - ";
    const std::size_t shown = std::min(t->stands_in_the_way.size(), kReasonsShown);
    for (std::size_t k = 0; k < shown; ++k) line += (k ? "; " : "") + t->stands_in_the_way[k];
    if (shown < t->stands_in_the_way.size())
      line += "; and " + std::to_string(t->stands_in_the_way.size() - shown) + " more (--json shows them)";
    line += ".";
    for (const std::string& help : t->what_helps) line += " " + help;
    text += wrapped(line, kWidth, 2);
  }
  return text + "\n" +
         wrapped(
             "A quick search finds no last word: search the brief with the first few tubes before you "
             "choose.",
             kWidth) +
         "\n" + wrapped(kSafetyLine, kWidth);
}

}  // namespace antiphase
