#include "results/terminal/report_text.h"

#include <algorithm>

#include "results/describe/against.h"
#include "results/describe/builds_ranking.h"
#include "results/describe/candidate_columns.h"
#include "results/describe/cautions.h"
#include "results/describe/circuits_compared.h"
#include "results/describe/conflict.h"
#include "results/describe/every_combination.h"
#include "results/describe/explain.h"
#include "results/describe/law_bands.h"
#include "results/describe/parts_list.h"
#include "results/describe/safety.h"
#include "results/describe/trade_off.h"
#include "results/describe/values.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

using Records = std::vector<const Record*>;

template <class Cell>
TextColumn column(std::string heading, TextColumn::Align align, const Records& records, Cell&& cell) {
  TextColumn c{std::move(heading), align, {}};
  for (const Record* r : records) c.cells.push_back(cell(*r));
  return c;
}

TextColumn rank_column(const Records& records) {
  return column("rank", TextColumn::Align::right, records,
                [](const Record& r) { return std::to_string(r.rank); });
}

Table table_of(const std::vector<TextColumn>& columns, std::size_t gap = 2) {
  std::vector<Table::Column> headings;
  for (const TextColumn& c : columns) headings.push_back({c.heading, c.align});
  Table table(headings, gap);
  for (std::size_t row = 0; row < columns.front().cells.size(); ++row) {
    std::vector<std::string> cells;
    for (const TextColumn& c : columns) cells.push_back(printable(c.cells[row]));
    table.add_row(cells);
  }
  return table;
}

std::string build_table(const Report& report, const Records& records, std::size_t screen) {
  std::vector<TextColumn> columns = build_columns(records, report.compares_circuits());
  columns.insert(columns.begin(), rank_column(records));
  return table_of(columns).text_within(screen);
}

std::vector<TextColumn> columns_of_figures(const Report& report, const Records& records,
                                           const std::vector<std::size_t>& shown) {
  using A = TextColumn::Align;
  std::vector<TextColumn> columns{rank_column(records)};
  if (std::any_of(records.begin(), records.end(), [](const Record* r) { return r->score.has_value(); }))
    columns.push_back(column("score", A::point, records, score_text));
  for (TextColumn& c : figure_columns(records, shown)) columns.push_back(std::move(c));
  const std::vector<TradeOffPoint> points = trade_off(report);
  TextColumn remarks =
      column("", A::left, records, [&](const Record& r) { return remark_in_words(r, points); });
  const bool any = std::any_of(remarks.cells.begin(), remarks.cells.end(),
                               [](const std::string& cell) { return !cell.empty(); });
  if (any) columns.push_back(std::move(remarks));
  return columns;
}

std::string figures_table(const Report& report, const Records& records, std::size_t screen) {
  return table_of(columns_of_figures(report, records, figures_to_show(report))).text_within(screen);
}

/// In one table, for which the figures that come last, and matter least, are left out where it is too wide.
/// What the brief asks for and what is asked first always stand there.
std::string short_figures_table(const Report& report, const Records& records, std::size_t screen) {
  std::vector<std::size_t> shown = figures_to_show(report);
  const std::size_t wanted = figures_asked_for(report).size();
  const auto closest = [&] { return table_of(columns_of_figures(report, records, shown), 1).width(); };
  while (closest() > screen && shown.size() > std::max<std::size_t>(1, wanted)) shown.pop_back();
  return table_of(columns_of_figures(report, records, shown)).text_within(screen);
}

Records first_of(const Report& report, int most) {
  const auto count = std::min(report.candidates.size(), static_cast<std::size_t>(std::max(most, 0)));
  Records records;
  for (std::size_t i = 0; i < count; ++i) records.push_back(&report.candidates[i]);
  return records;
}

std::string left_to_the_files(const Report& report, const Records& shown, std::size_t screen) {
  const std::size_t more = report.candidates.size() - shown.size();
  return more > 0 ? wrapped(std::to_string(more) + " more stand in the files.", screen) : "";
}

/// Which of what the brief gives is outside its rating, whatever parts are chosen.
std::string as_given_text(const Report& report, std::size_t screen) {
  std::string text;
  for (const std::string& sentence : report.as_given) text += wrapped(printable(sentence), screen);
  return text;
}

/// Among which designs the named ones were taken.
std::string taken_among_text(const Report& report, std::size_t screen) {
  return report.taken_among.empty() ? "" : "\n" + wrapped(report.taken_among, screen);
}

constexpr int kMostShown = 20;  // candidates in a table: more fill a screen and decide nothing
constexpr const char* kNoCandidates = "No candidates.\n";

}  // namespace

std::string ranked_table(const Report& report, int most, std::size_t screen) {
  const Records records = first_of(report, most);
  if (records.empty()) return kNoCandidates;
  return "What to build\n\n" + build_table(report, records, screen) + "\nWhat it does\n\n" +
         figures_table(report, records, screen) + left_to_the_files(report, records, screen);
}

std::string pareto_summary(const Report& report, std::size_t screen) {
  std::string text;
  for (const TradeOffPoint& point : trade_off(report)) {
    text += wrapped(point.name + ": " + point.figures, screen, 2);
    text += "  " + wrapped(printable(design_in_words(report, *point.record)), screen - 2, 4);
  }
  return text;
}

namespace {

/// Choices along the front that have no name of their own, and what each step costs.
std::string steps_text(const Report& report, std::size_t screen) {
  const std::vector<std::string> steps = trade_off_steps(report);
  if (steps.empty()) return "";
  std::string text;
  for (const TradeOffPoint& point : choices(report)) {
    if (point.name.rfind("Choice", 0) != 0) continue;
    text += wrapped(point.name + ": " + point.figures, screen, 2);
    text += "  " + wrapped(printable(design_in_words(report, *point.record)), screen - 2, 4);
  }
  text += "\n" + wrapped("Along the front (changes above a twentieth of what it spans)", screen) + "\n";
  for (const std::string& step : steps) text += wrapped(step, screen, 2);
  return text;
}

std::string circuits_text(const Report& report, std::size_t screen) {
  const std::vector<std::string> sentences = circuits_in_words(report);
  if (sentences.empty()) return "";
  std::string text = "\nThe best of each circuit and form\n\n";
  for (const std::string& sentence : sentences) text += wrapped(printable(sentence), screen, 2);
  return text;
}

std::string tubes_text(const Report& report, std::size_t screen) {
  if (report.best_of_tubes.empty()) return "";
  std::string text = "\nThe best of each tube\n\n";
  for (const std::string& sentence : tubes_in_words(report)) text += wrapped(printable(sentence), screen, 2);
  return text;
}

/// The table of steps; what a step breaks stands below it under a letter, since words are too wide beside it.
std::string steps_of(const Record& r, const Demands& demands, std::size_t screen) {
  ValueTable values = step_table(r, demands);
  if (values.rows.empty()) return "";
  std::vector<std::string> broken;
  for (auto& row : values.rows) {
    if (row.back().empty()) continue;
    auto at = std::find(broken.begin(), broken.end(), row.back());
    if (at == broken.end()) at = broken.insert(at, row.back());
    row.back() = std::string(1, static_cast<char>('a' + (at - broken.begin()) % 26));
  }
  std::vector<Table::Column> headings;
  for (std::string c : values.columns) {
    std::replace(c.begin(), c.end(), ' ', '\n');
    headings.push_back({c, Table::Align::right});
  }
  headings.front().align = headings.back().align = Table::Align::left;
  Table table(headings, 2);
  for (const auto& row : values.rows) table.add_row(row);
  std::string text = wrapped(values.caption + ":", screen) + "\n" + table.text_within(screen);
  for (std::size_t k = 0; k < broken.size(); ++k)
    text += wrapped(std::string(1, static_cast<char>('a' + k % 26)) + ": breaks " + broken[k], screen, 3);
  for (const std::string& note : values.notes) text += wrapped(note, screen);
  return text;
}

/// Why the first is what it is.
std::string why_text(const Report& report, std::size_t screen) {
  if (report.candidates.empty() || !report.candidates.front().feasible) return "";
  const Record& best = report.candidates.front();
  if (best.explanation.neighbours == 0) return "";
  std::string text = "\nWhy the first is first\n\n";
  for (const std::string& sentence : binding_in_words(best)) text += wrapped(sentence, screen, 2);
  const std::string lead = lead_in_words(best.lead, report.demands, "the next");
  if (!lead.empty()) text += wrapped(lead, screen, 2);
  const std::vector<std::string> give = loosenings_in_words(best, report.demands);
  if (!give.empty()) text += wrapped("What would have to give for a better score:", screen);
  for (const std::string& sentence : give) text += "  " + wrapped(sentence, screen - 2, 4);
  const std::string around = around_in_words(best);
  return text + "\n" + steps_of(best, report.demands, screen) +
         (around.empty() ? "" : wrapped(around, screen));
}

std::string words_table(const ValueTable& values, std::size_t screen) {
  if (values.empty()) return "";
  std::vector<Table::Column> headings;
  for (const std::string& c : values.columns) {
    std::string stacked = wrapped(c, 12);
    stacked.pop_back();
    headings.push_back({stacked, Table::Align::right});
  }
  if (values.words_last) headings.back().align = Table::Align::left;
  Table table(headings, 2);
  for (const auto& row : values.rows) table.add_row(row);
  std::string text = "\n" + wrapped(values.caption, screen) + "\n" + table.text_within(screen);
  for (const std::string& note : values.notes) text += wrapped(note, screen);
  return text;
}

/// Nominal and robust beside each other, and the bands of each candidate where they were asked for: a block a
/// candidate, since bands are wide.
std::string builds_text(const Report& report, std::size_t screen) {
  std::string text = words_table(builds_ranking_table(report), screen);
  for (const std::string& sentence : builds_ranking_in_words(report)) text += wrapped(sentence, screen);
  const ValueTable bands = candidate_bands_table(report);
  if (bands.empty()) return text;
  text += "\n" + wrapped(bands.caption, screen) + "\n";
  for (const auto& row : bands.rows) {
    std::string line = "rank " + row[0] + ": ";
    for (std::size_t c = 1; c < row.size(); ++c)
      line += (c > 1 ? "; " : "") + bands.columns[c] + " " + row[c];
    text += wrapped(line, screen, 2);
  }
  for (const std::string& note : bands.notes) text += wrapped(note, screen);
  return text;
}

bool brief_is_met(const Report& report) {
  return !report.candidates.empty() && report.candidates.front().feasible;
}

std::string blocked_text(const Report& report, std::size_t screen) {
  if (report.candidates.empty() || brief_is_met(report)) return "";
  std::string text =
      wrapped("Nothing satisfies this brief; these come nearest. What stands in the way:", screen);
  for (const std::string& demand : report.blocked_by)
    text += "  " + wrapped(printable(demand), screen - 2, 4);
  if (!report.conflict) return text;
  text += "\nWhat conflicts\n\n";
  for (const std::string& sentence : conflict_in_words(*report.conflict))
    text += "  " + wrapped(printable(sentence), screen - 2, 4);
  return text;
}

/// What to beware of before any figure is looked at.
std::string cautions_text(const Report& report, std::size_t screen) {
  std::string text;
  if (report.candidates.empty()) return text;
  for (const std::string& sentence : cautions(report.candidates.front()))
    text += wrapped("Caution, for the first: " + printable(sentence), screen);
  return text;
}

std::string law_bands_text(const Report& report, std::size_t screen) {
  const ValueTable bands = ranked_band_table(report.candidates);
  if (bands.empty()) return "";
  std::vector<Table::Column> headings;
  for (const std::string& c : bands.columns) headings.push_back({c, Table::Align::right});
  if (bands.words_last) headings.back().align = Table::Align::left;
  Table table(headings, 2);
  for (const auto& row : bands.rows) table.add_row(row);
  std::string text = "\n" + wrapped(bands.caption, screen) + "\n" + table.text_within(screen);
  for (const std::string& note : bands.notes) text += wrapped(note, screen);
  return text;
}

std::string against_text(const Report& report, std::size_t screen) {
  if (!report.against) return "";
  std::string text = "\nAgainst other results\n\n";
  for (const std::string& sentence : against_in_words(report))
    text += wrapped(printable(sentence), screen, 2);
  return text;
}

std::string how_it_ended_text(const Report& report, std::size_t screen) {
  std::string text;
  for (const std::string& sentence : every_combination_in_words(report.run, brief_is_met(report)))
    text += "\n" + wrapped(sentence, screen);
  if (!report.run.finished)
    text += "\n" + wrapped("The search ended early (" + report.run.why_stopped +
                               "); better designs may be left unseen. The same command with --continue "
                               "goes on.",
                           screen);
  return text;
}

std::string two_parts_text(const Report& report, std::size_t screen) {
  std::string text;
  for (const std::string& sentence : plate_2_in_words(report.candidates)) text += wrapped(sentence, screen);
  return text;
}

}  // namespace

std::string short_report_text(const Report& report, std::size_t screen) {
  const Records records = first_of(report, kMostShown);
  std::string text = wrapped(printable(report.title), screen) + as_given_text(report, screen);
  if (const std::string blocked = blocked_text(report, screen); !blocked.empty()) text += "\n" + blocked;
  if (const std::string beware = cautions_text(report, screen); !beware.empty()) text += beware;
  text += "\n";
  if (records.empty()) {
    text += kNoCandidates;
  } else {
    text += build_table(report, records, screen) + two_parts_text(report, screen) + "\n" +
            short_figures_table(report, records, screen) + left_to_the_files(report, records, screen);
    text += words_table(builds_ranking_table(report), screen);
  }
  if (!brief_is_met(report)) text += taken_among_text(report, screen);
  if (brief_is_met(report))
    if (const std::string why = first_in_short(report.candidates.front(), report.demands); !why.empty())
      text += "\n" + wrapped(why, screen);
  text += circuits_text(report, screen) + against_text(report, screen) + how_it_ended_text(report, screen);
  return text + wrapped(kSafetyLine, screen);
}

std::string report_text(const Report& report, std::size_t screen) {
  std::string text = wrapped(printable(report.title), screen) + as_given_text(report, screen) + "\n";
  if (const std::string blocked = blocked_text(report, screen); !blocked.empty()) text += blocked + "\n";
  if (const std::string beware = cautions_text(report, screen); !beware.empty()) text += beware + "\n";
  text += ranked_table(report, kMostShown, screen) + two_parts_text(report, screen) +
          builds_text(report, screen) + law_bands_text(report, screen);
  if (!brief_is_met(report)) text += taken_among_text(report, screen);
  const std::string ends = pareto_summary(report, screen);
  if (!ends.empty())
    text += "\n" +
            wrapped("The trade-off (" + std::to_string(report.pareto.size()) +
                        " designs that no other one beats)",
                    screen) +
            taken_among_text(report, screen) + "\n" + ends;
  text += steps_text(report, screen) + circuits_text(report, screen) + tubes_text(report, screen) +
          why_text(report, screen) + against_text(report, screen) + how_it_ended_text(report, screen);
  if (const std::string words = not_proved_in_words(report.run); !words.empty())
    text += "\n" + wrapped(words, screen);
  return text + "\n" + wrapped(kSafetyLine, screen);
}

}  // namespace antiphase
