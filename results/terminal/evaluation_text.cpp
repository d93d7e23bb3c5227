#include "results/terminal/evaluation_text.h"

#include <algorithm>

#include "results/describe/cautions.h"
#include "results/describe/hand_comparison.h"
#include "results/describe/law_bands.h"
#include "results/describe/level_table.h"
#include "results/describe/limit_rows.h"
#include "results/describe/output_stage.h"
#include "results/describe/overdrive.h"
#include "results/describe/own_tube.h"
#include "results/describe/parts_beside.h"
#include "results/describe/safety.h"
#include "results/describe/two_tones.h"
#include "results/describe/values.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

using A = Table::Align;
constexpr std::size_t kIndent = 2;

/// A heading and a table of values; whole-stage values stand in the first column.
std::string values_block(const std::string& heading, const std::vector<ValueLine>& lines,
                         const std::string& column, int count, std::size_t screen) {
  if (lines.empty()) return "";
  const bool pair = count == 2 && std::any_of(lines.begin(), lines.end(),
                                              [](const ValueLine& l) { return l.cells.size() > 1; });
  std::vector<Table::Column> columns{{"", A::left}, {pair ? column + " 1" : "", A::right}};
  if (pair) columns.push_back({column + " 2", A::right});
  Table table(columns, 2);
  for (const ValueLine& line : lines) {
    std::vector<std::string> cells{line.label};
    cells.insert(cells.end(), line.cells.begin(), line.cells.end());
    table.add_row(cells);
  }
  return wrapped(heading, screen) + "\n" + table.text_within(screen, kIndent) + "\n";
}

/// Numbers without a unit line up at the decimal point, others at their right ends.
std::string table_block(const ValueTable& values, A numbers, std::size_t screen) {
  if (values.empty()) return "";
  std::string text = wrapped(values.caption, screen) + "\n";
  if (!values.rows.empty()) {
    std::vector<Table::Column> columns;
    for (const std::string& heading : values.columns)
      columns.push_back({heading, columns.empty() && !values.number_labels ? A::left : numbers});
    if (values.words_last) columns.back().align = A::left;
    Table table(columns, 2);
    for (const auto& row : values.rows) table.add_row(row);
    text += table.text_within(screen, kIndent) + "\n";
  }
  for (const std::string& note : values.notes) text += "  " + wrapped(note, screen - kIndent, kIndent);
  return text + (values.notes.empty() ? "" : "\n");
}

std::string hand_block(const Record& r, std::size_t screen) {
  const auto rows = hand_rows(r);
  if (rows.empty()) return "";
  Table table({{"", A::left}, {"distortion", A::right}, {"drive, peak", A::right}, {"AC load", A::right}}, 2);
  for (const HandRow& row : rows) table.add_row({row.method, row.thd, row.drive, row.load});
  std::string text =
      "The pencil's estimate beside the solved figure\n\n" + table.text_within(screen, kIndent) + "\n";
  for (const std::string& sentence : hand_sentences(r.design))
    text += "  " + wrapped(sentence, screen - kIndent, kIndent);
  return text + "\n";
}

std::string watt(const std::optional<double>& w) {
  return w ? engineering_text(*w, "W") : "";
}
std::string volt(const std::optional<double>& v) {
  return v ? engineering_text(*v, "V") : "";
}

/// Where a part is rated for something else than rest, full drive and cold start: "R1 (tail resistor
/// shorted)".
std::string rated_for(const PartLine& p) {
  std::vector<std::string> why;
  for (const auto& cause : {p.rating_w_for, p.rating_v_for}) {
    if (!cause || (*cause != Cause::fault && *cause != Cause::switch_on)) continue;
    const std::string words =
        *cause == Cause::fault ? burden_of(p.burdens, *cause)->which : std::string(name_of(*cause));
    if (std::find(why.begin(), why.end(), words) == why.end()) why.push_back(words);
  }
  return why.empty() ? "" : p.designators + " (" + joined(why, ", ") + ")";
}

/// Notes of parts that say the same stand once.
std::string notes_of(const std::vector<PartLine>& parts, std::size_t screen) {
  std::vector<std::pair<std::string, std::string>> notes;  // words, and whose they are
  for (const PartLine& p : parts) {
    if (p.note.empty()) continue;
    const auto same =
        std::find_if(notes.begin(), notes.end(), [&](const auto& n) { return n.first == p.note; });
    if (same == notes.end())
      notes.emplace_back(p.note, p.designators);
    else
      same->second += ", " + p.designators;
  }
  std::string text;
  for (const auto& [words, whose] : notes)
    text += "  " + wrapped(whose + ": " + words, screen - kIndent, kIndent);
  return text;
}

std::string parts_table(const std::vector<PartLine>& parts, std::size_t screen) {
  Table table({{"", A::left},
               {"part", A::left},
               {"value", A::right},
               {"power", A::right},
               {"rated", A::right},
               {"voltage", A::right},
               {"rated", A::right}},
              2);
  std::string pins;
  std::vector<std::string> rated;
  for (const PartLine& p : parts) {
    if (!p.pins.empty()) pins += "  " + wrapped(p.pins + ".", screen - kIndent, kIndent);
    if (const std::string why = rated_for(p); !why.empty()) rated.push_back(why);
    const bool heats = p.unit == "ohm" || p.unit == "A";
    const std::string rating = p.rating_w ? watt(p.rating_w) : p.power_worst_w ? "above 10 W" : "";
    table.add_row({p.designators, p.label, p.what, watt(p.power_worst_w), heats ? rating : "",
                   volt(p.voltage_worst_v), volt(p.rating_v)});
  }
  std::string text = table.text_within(screen, kIndent);
  if (!rated.empty())
    text += "  " + wrapped("Rated for one fault elsewhere, or for switch-on: " + joined(rated, ", ") + ".",
                           screen - kIndent, kIndent);
  return text + notes_of(parts, screen) + pins + "\n";
}

std::string parts_block(const Record& r, const DesignFactors& factors, std::size_t screen) {
  return wrapped("Parts (power and voltage: the larger of rest and target; rated at least)", screen) + "\n" +
         parts_table(parts_list(r.design, r.evaluation, factors, r.plate_2_of), screen) +
         "Beside the solved circuit (common practice)\n\n" +
         parts_table(parts_beside(r.design, r.evaluation, factors), screen);
}

/// What the design is, and what is wrong with it.
std::string head_of(const Record& r, std::size_t screen) {
  std::string text = wrapped(printable(design_in_words(r)), screen, kIndent) + "\n";
  for (const std::string& sentence : own_tubes_in_words(r.own_tubes)) text += wrapped(sentence, screen);
  if (!r.own_tubes.empty()) text += "\n";
  for (const std::string& sentence : missing_in_words(r.evaluation)) text += wrapped(sentence, screen) + "\n";
  for (const std::string& sentence : cautions(r))
    text += wrapped("Caution: " + printable(sentence), screen) + "\n";
  return text;
}

std::string rest_block(const Record& r, std::size_t screen) {
  return values_block("At rest", rest_values(r), "section", sections(r.design.circuit), screen);
}

std::string signal_blocks(const Record& r, std::size_t screen) {
  const int of_outputs = outputs(r.design.circuit);
  const std::string target = engineering_text(r.design.swing_peak_v, "V") + " peak per output";
  return values_block("Small signal", small_signal_values(r), "output", of_outputs, screen) +
         values_block("At the target, " + target, target_values(r), "output", of_outputs, screen);
}

std::string feedback_block(const Record& r, std::size_t screen) {
  return values_block("Overall feedback, the output stage as a block", feedback_values(r), "output",
                      outputs(r.design.circuit), screen);
}

std::string first_blocks(const Record& r, std::size_t screen) {
  return rest_block(r, screen) + signal_blocks(r, screen) + feedback_block(r, screen);
}

std::string clean_text(const Record& r, std::size_t screen) {
  const std::string clean = clean_swing_in_words(r);
  return clean.empty() ? "" : wrapped(clean, screen) + "\n";
}

bool any_broken(const std::vector<LimitRow>& rows) {
  return std::any_of(rows.begin(), rows.end(), [](const LimitRow& row) { return !row.kept; });
}

/// How many, and what helps.
std::string broken_limits(const std::vector<LimitRow>& rows, std::size_t screen) {
  const auto broken = std::count_if(rows.begin(), rows.end(), [](const LimitRow& row) { return !row.kept; });
  if (broken == 0) return "";
  std::string text =
      "! " + std::to_string(broken) + (broken == 1 ? " limit is broken\n" : " limits are broken\n");
  std::string remedies;
  for (const LimitRow& row : rows) {
    const std::string remedy = wrapped("! " + row.label + ": " + row.remedy, screen, kIndent);
    // both sections of a limit have one remedy
    if (!row.remedy.empty() && remedies.find(remedy) == remedies.npos) remedies += remedy;
  }
  return text + remedies;
}

/// The broken limits alone; where all are kept, the tightest in a sentence.
std::string short_limits(const Record& r, std::size_t screen) {
  const std::vector<LimitRow> rows = limit_rows(r.limits);
  if (rows.empty()) return "";
  if (!any_broken(rows)) {
    const LimitRow& first = rows.front();
    return wrapped("All " + std::to_string(rows.size()) + " limits are kept; the tightest: " + first.limit +
                       ", " + first.value + " (" + first.allowed + ").",
                   screen) +
           "\n";
  }
  Record broken = r;
  std::erase_if(broken.limits, [](const LimitResult& l) { return l.kept; });
  return limits_table(broken, screen) + "\n";
}

}  // namespace

std::string limits_table(const Record& r, std::size_t screen) {
  if (r.limits.empty()) return "";
  const std::vector<LimitRow> rows = limit_rows(r.limits);
  // The mark is part of the first column, so that it stands in each table if they become several.
  const bool broken = any_broken(rows);
  Table table({{broken ? "   limit" : "limit", A::left},
               {"section", A::left},
               {"value", A::right},
               {"allowed", A::right},
               {"margin", A::right}},
              2);
  for (const LimitRow& row : rows) {
    const std::string mark = !broken ? "" : row.kept ? "   " : "!  ";
    table.add_row({mark + row.label, row.section, row.value, row.allowed, row.margin});
  }
  return table.text_within(screen) + broken_limits(rows, screen);
}

std::string short_evaluation_text(const Record& r, std::size_t screen) {
  const std::string full = full_power_in_words(r);
  return head_of(r, screen) + first_blocks(r, screen) + clean_text(r, screen) +
         (full.empty() ? "" : wrapped(full, screen) + "\n") + short_limits(r, screen) +
         wrapped(kSafetyLine, screen);
}

std::string evaluation_text(const Record& r, const DesignFactors& factors, std::size_t screen) {
  const int of_sections = sections(r.design.circuit), of_outputs = outputs(r.design.circuit);
  std::string text = head_of(r, screen);
  text += rest_block(r, screen);
  text += values_block("First stage", first_stage_values(r), "section", of_sections, screen);
  text += values_block("Driver", driver_values(r), "output", of_outputs, screen);
  text += signal_blocks(r, screen);
  text +=
      values_block("Harmonics there, % of the fundamental", harmonic_values(r), "output", of_outputs, screen);
  text += values_block("Against frequency, with the capacitors that are given", frequency_values(r), "output",
                       of_outputs, screen);
  text += feedback_block(r, screen);
  text += table_block(law_band_table(r), A::right, screen);
  text += table_block(two_tone_table(r), A::point, screen);
  text += table_block(level_table(r), A::point, screen);
  text += clean_text(r, screen);
  text += table_block(clean_swing_table(r), A::right, screen);
  text += table_block(overdrive_table(r), A::right, screen);
  text += table_block(output_stage_table(r), A::right, screen);
  text += hand_block(r, screen);
  text += parts_block(r, factors, screen);
  if (const std::string limits = limits_table(r, screen); !limits.empty())
    text += "Limits, tightest first\n\n" + limits + "\n";
  return text + wrapped(kSafetyLine, screen);
}

}  // namespace antiphase
