#include "results/describe/overdrive.h"

#include <algorithm>

#include "results/describe/missing_reason.h"
#include "results/describe/values.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

using At = OverdriveFigures::At;

constexpr double kRounding_v = 1e-6;  // of a mean over the cycle, far below what a meter shows

void add_clean(ValueTable& table, const std::string& label, const CleanSwing& clean, const Evaluation& e) {
  if (!asked(clean.solved, e)) return;
  if (clean.solved != Solved::yes)
    table.notes.push_back(missing_sentence("No clean swing, " + label, clean.solved, e));
  else if (clean.swing_peak_v <= 0)
    table.rows.push_back({label, "none", "", std::string(limit_in_words(clean.limited_by))});
  else
    table.rows.push_back({label, engineering_text(clean.swing_peak_v, "V"),
                          signed_engineering_text(clean.headroom_db, "dB"),
                          std::string(limit_in_words(clean.limited_by))});
}

/// Rows over the drives; "-" where a drive was not solved.
class Rows {
 public:
  Rows(ValueTable& table, const Record& r)
      : table_(table),
        at_(r.evaluation.overdrive.at),
        sections_(sections(r.design.circuit)),
        outputs_(outputs(r.design.circuit)) {}

  void whole(const std::string& label, std::string_view unit, double At::*figure, bool with_sign = false) {
    add(label, unit, with_sign, [&](const At& at) { return at.*figure; });
  }
  void per_output(const std::string& label, std::string_view unit, Pair At::*figure, bool with_sign = false) {
    each(label, unit, figure, with_sign, outputs_);
  }
  void per_section(const std::string& label, std::string_view unit, Pair At::*figure,
                   bool with_sign = false) {
    each(label, unit, figure, with_sign, sections_);
  }

 private:
  void each(const std::string& label, std::string_view unit, Pair At::*figure, bool with_sign, int count) {
    for (int i = 0; i < count; ++i)
      add(count == 2 ? label + " " + std::to_string(i + 1) : label, unit, with_sign,
          [&](const At& at) { return (at.*figure)[static_cast<std::size_t>(i)]; });
  }
  template <class Value>
  void add(const std::string& label, std::string_view unit, bool with_sign, Value value) {
    std::vector<std::string> row{label};
    for (const At& at : at_)
      row.push_back(at.solved != Solved::yes ? "-"
                    : with_sign ? signed_engineering_text(without_rounding(value(at), kRounding_v), unit)
                                : engineering_text(value(at), unit));
    table_.rows.push_back(std::move(row));
  }

  ValueTable& table_;
  const std::array<At, 3>& at_;
  int sections_, outputs_;
};

std::string recovery_sentence(const Record& r) {
  const Pair& s = r.evaluation.overdrive.output_recovery_s;
  const bool pair = outputs(r.design.circuit) == 2;
  if (s[0] <= 0)
    return "How fast an output grid recovers is not known: " + std::string(kNoCouplingCapacitor) + ".";
  std::string text = "A shifted output grid returns with a time constant of " + engineering_text(s[0], "s");
  if (pair && engineering_text(s[1], "s") != engineering_text(s[0], "s"))
    text += " (output 1) and " + engineering_text(s[1], "s") + " (output 2)";
  return text + ".";
}

}  // namespace

ValueTable clean_swing_table(const Record& r) {
  const Evaluation& e = r.evaluation;
  const OverdriveFigures& over = e.overdrive;
  if (!asked(over.solved, e) || e.clean.solved != Solved::yes) return {};
  ValueTable table;
  table.caption = "How far it goes cleanly, peak per output";
  table.columns = {"", "swing", "to target", "then stopped by"};
  table.words_last = true;
  add_clean(table, "no grid conducting", e.clean, e);
  add_clean(table, "own grids conducting", over.clean_conducting, e);
  if (drives_named_grid(r.design))
    add_clean(table, "into the grids of " + r.design.output_valve->name, over.clean_into_output_grids, e);
  return table;
}

ValueTable overdrive_table(const Record& r) {
  const OverdriveFigures& over = r.evaluation.overdrive;
  if (!asked(over.solved, r.evaluation)) return {};
  ValueTable table;
  table.caption = "Driven past the target";
  if (over.solved != Solved::yes) {
    table.notes = {missing_sentence("No figures past the target", over.solved, r.evaluation)};
    return table;
  }
  table.columns = {"drive over that for the target"};
  for (double db : OverdriveFigures::kDrives_db)
    table.columns.push_back(db > 0 ? signed_engineering_text(db, "dB") : "0 dB");
  const bool pair = outputs(r.design.circuit) == 2, two_grids = sections(r.design.circuit) == 2;
  const bool named = drives_named_grid(r.design);
  Rows rows(table, r);
  rows.per_output(pair ? "fundamental, peak, output" : "fundamental, peak", "V", &At::output_peak_v);
  rows.per_output(pair ? "total harmonic distortion, output" : "total harmonic distortion", "%",
                  &At::thd_pct);
  rows.per_section(two_grids ? "mean shift of grid" : "mean shift of the grid", "V", &At::grid_shift_v, true);
  rows.whole(two_grids ? "highest current into grid 1" : "highest current into the grid", "A",
             &At::input_peak_a);
  if (named) {
    rows.per_output(pair ? "mean shift of output grid" : "mean shift of the output grid", "V",
                    &At::output_grid_shift_v, true);
    rows.per_output(pair ? "highest current into output grid" : "highest current into the output grid", "A",
                    &At::output_grid_peak_a);
  }
  for (const At& at : over.at)
    if (at.solved != Solved::yes)
      table.notes.push_back("At " + signed_engineering_text(at.drive_db, "dB") + ": " +
                            std::string(reason(at.solved)) + ".");
  if (!named) {
    table.notes.push_back("Into a plain load: " + std::string(kNoOutputValve) + ".");
    return table;
  }
  const std::string valve = r.design.output_valve->name;
  if (over.starved_db)
    table.notes.push_back("From " + signed_engineering_text(*over.starved_db, "dB") +
                          " on, the crest at the grids of " + valve + " falls " +
                          engineering_text(100 * OverdriveFigures::kStarvedShare, "%") +
                          " short of the crest into the plain load: the grids are starved.");
  else if (over.starved_solved != Solved::yes)
    table.notes.push_back("Where the grids of " + valve +
                          " are starved is not known: " + std::string(reason(over.starved_solved)) + ".");
  else
    table.notes.push_back("The grids of " + valve + " are not starved within " +
                          engineering_text(OverdriveFigures::kMostDrive_db, "dB") + " past the target.");
  table.notes.push_back(recovery_sentence(r));
  return table;
}

}  // namespace antiphase
