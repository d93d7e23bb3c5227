#include "results/describe/spread.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "objectives/builds/readings.h"
#include "results/describe/section_names.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string text_of(const Figure& f, double v) {
  return engineering_text(v, f.unit, 3);
}

std::string share_text(double share, int decimals = 1) {
  return fixed_text(100 * share, decimals) + " %";
}

bool shown(const SpreadRow& row) {
  return row.known > 0 && row.figure->shown.spread;
}

std::string worst_text(const SpreadRow& row) {
  switch (row.figure->direction) {
    case Direction::smaller:
      return text_of(*row.figure, row.most);
    case Direction::larger:
      return text_of(*row.figure, row.least);
    case Direction::nearer_zero:
      return text_of(*row.figure, std::abs(row.least) > std::abs(row.most) ? row.least : row.most);
  }
  return "";
}

std::string pct(double v) {
  return engineering_text(v, "%");
}

std::string scatter_word(Scatter s) {
  return s == Scatter::uniform ? "evenly" : "bell-shaped, cut at 2.5 standard deviations";
}

}  // namespace

std::string spread_in_words(const SpreadReport& r) {
  const SpreadSummary& s = r.summary;
  std::string text = share_text(s.yield) + " of " + std::to_string(s.builds) +
                     " builds reach the target and keep every limit " +
                     (r.brief_file.empty() ? "of tubes and parts" : "of tubes, parts and brief") +
                     "; with 95 % confidence the share lies between " + share_text(s.yield_95.low, 2) +
                     " and " + share_text(s.yield_95.high, 2) + ".";
  if (s.reached < s.builds)
    text += " " + std::to_string(s.builds - s.reached) + " do not reach the target swing at all.";
  return text;
}

std::vector<std::string> assumptions(const Design& design, const Tolerances& t) {
  std::vector<std::string> all;
  all.push_back("Resistors within " + pct(t.resistor_pct) + ", capacitors within " + pct(t.capacitor_pct) +
                ", " + scatter_word(t.parts) + "; what other circuits set within " + pct(t.setting_pct) +
                " (common practice, no published source).");
  for (const Tolerances::One& one : t.single)
    all.push_back(std::string(one.part->label) + " within " + pct(one.pct) + ".");
  all.push_back("Mains within " + pct(t.mains_pct) + " (IEC 60038 allows 10 %), " + scatter_word(t.mains) +
                "; every supply voltage and the heater elevation follow it.");
  std::string current = t.plate_current_pct ? pct(*t.plate_current_pct) : "what the tube's card says (";
  if (!t.plate_current_pct) {
    current += pct(design.tube[0]->plate_current_spread_pct);
    if (circuit_of(design).section(1) && design.tube[1] != design.tube[0])
      current += " and " + pct(design.tube[1]->plate_current_spread_pct);
    current += ")";
  }
  if (circuit_of(design).section(kFirstStage) && !t.plate_current_pct)
    current += " and, in the first stage, " + pct(design.first_stage.tube->plate_current_spread_pct);
  const bool read = !t.known.empty();
  if (read)
    all.push_back("Tubes that were read by themselves: within what their readings leave open, " +
                  scatter_word(t.tubes) + ", each section by itself.");
  all.push_back((read ? "Other tubes: plate current at the voltages of this design within "
                      : "Tubes: plate current at the voltages of this design within ") +
                current + ", amplification factor within " + pct(t.mu_pct) + ", " + scatter_word(t.tubes) +
                ". The sections of one bottle share most of it; a third to two fifths is each section's own, "
                "as measured lots of 12AX7 show.");
  all.push_back(t.emission_left < 1
                    ? "Age: from new to " + share_text(t.emission_left, 0) + " of the emission left, evenly."
                    : "Age: new tubes. Life usually counts as over at 65 to 70 % of the "
                      "emission (common practice); --emission 0.7 looks at that.");
  return all;
}

ValueTable figure_spread_table(const SpreadReport& r) {
  ValueTable t;
  t.caption = "How the figures scatter";
  t.columns = {"", "nominal", "5 %", "median", "95 %", "worst seen"};
  bool missing = false;
  for (const SpreadRow& row : r.summary.rows) {
    if (!shown(row)) continue;
    missing |= row.known < r.summary.builds;
    t.rows.push_back({std::string(row.figure->label) + (row.known < r.summary.builds ? " *" : ""),
                      row.nominal ? text_of(*row.figure, *row.nominal) : "n/a", text_of(*row.figure, row.low),
                      text_of(*row.figure, row.median), text_of(*row.figure, row.high), worst_text(row)});
  }
  if (missing) t.notes.push_back("* Of the builds that have this figure; some do not reach the target.");
  return t;
}

ValueTable driver_table(const SpreadReport& r) {
  ValueTable t;
  t.caption = "What drives each figure (share of its variance that goes if this one thing is held)";
  t.columns = {"", "first", "second", "third"};
  constexpr double kWorthTelling = 0.02;
  for (const SpreadRow& row : r.summary.rows) {
    if (!shown(row) || !(row.deviation > 0)) continue;
    std::vector<std::size_t> order(row.index.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return row.index[a] > row.index[b]; });
    std::vector<std::string> cells{std::string(row.figure->label)};
    for (std::size_t k = 0; k < 3; ++k)
      cells.push_back(k < order.size() && row.index[order[k]] >= kWorthTelling
                          ? fixed_text(100 * row.index[order[k]], 0) + " % " + r.varied[order[k]].label
                          : "");
    t.rows.push_back(std::move(cells));
  }
  t.notes = {
      "First-order indices from the same builds; below 2 % nothing is told. What is left over acts only "
      "together with other things."};
  return t;
}

ValueTable missed_table(const SpreadReport& r) {
  ValueTable t;
  if (r.summary.missed.empty()) return t;
  t.caption = "Limits that builds break";
  t.columns = {"", "section", "builds"};
  for (const LimitMissed& m : r.summary.missed)
    t.rows.push_back({std::string(m.label), short_section(m.section),
                      share_text(static_cast<double>(m.builds) / r.summary.builds, 2)});
  return t;
}

ValueTable tightening_table(const SpreadReport& r) {
  ValueTable t;
  if (r.summary.kept == r.summary.builds || r.summary.kept == 0) return t;
  std::vector<std::size_t> order;
  for (std::size_t p = 0; p < r.varied.size(); ++p)
    if (r.varied[p].kind != BuildProperty::emission) order.push_back(p);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return r.summary.tightened[a].yield > r.summary.tightened[b].yield;
  });
  t.caption = "What half the tolerance of one thing would buy";
  t.columns = {"", "now within", "yield with half of it", "gained"};
  constexpr std::size_t kMost = 6;
  for (std::size_t p : order) {
    if (t.rows.size() == kMost) break;
    const double gained = r.summary.tightened[p].yield - r.summary.yield;
    t.rows.push_back({r.varied[p].label, pct(100 * r.varied[p].half_width),
                      share_text(r.summary.tightened[p].yield),
                      (gained > 0 ? "+" : "") + fixed_text(100 * gained, 1) + " points"});
  }
  t.notes = {"From the same builds, weighted as the tighter tolerance would spread them."};
  return t;
}

ValueTable corner_table(const SpreadReport& r) {
  ValueTable t;
  if (r.corners.empty()) return t;
  t.caption = "Limits at the worst corner of all tolerances at once";
  t.columns = {"", "nominal", "worst", "allowed", ""};
  t.words_last = true;
  std::vector<std::string> worst;
  for (const Corner& c : r.corners) {
    std::string towards;
    constexpr std::size_t kTold = 3;
    for (std::size_t k = 0; k < std::min(kTold, c.at.size()); ++k)
      towards += std::string(k > 0 ? ", " : "") + (c.towards[k] > 0 ? "+ " : "- ") + r.varied[c.at[k]].label;
    const LimitResult& l = c.nominal;
    t.rows.push_back({std::string(l.label) + (l.section > 0 ? ", " + short_section(l.section) : ""),
                      engineering_text(l.value, l.unit),
                      c.solved ? engineering_text(c.worst.value, l.unit) : "n/a",
                      (l.at_least ? "\u2265 " : "\u2264 ") + engineering_text(l.limit, l.unit),
                      !c.solved      ? "no figure"
                      : c.worst.kept ? "kept"
                                     : "BROKEN"});
    if (!c.solved || !c.worst.kept) worst.push_back(t.rows.back()[0] + ": worst towards " + towards + ".");
  }
  t.notes = {
      "Each thing stands at the end that takes room from this limit, found by moving one at a time. Few "
      "builds come near such a corner."
      " Ratings by the design-centre system leave room for the mains already."};
  t.notes.insert(t.notes.begin(), worst.begin(), worst.end());
  return t;
}

std::vector<std::string> recipes_in_words(const SpreadReport& r) {
  std::vector<std::string> all;
  if (r.adjusted.empty()) return all;
  all.push_back("How: drive the stage with a sine until each output swings about half its target, " +
                engineering_text(r.design.swing_peak_v / 2, "V", 3) +
                " peak. Join two equal resistors of 1 % or better (470 k or more) from output to output, "
                "measure the AC "
                "voltage at their joint, and set the part for the least reading; what is left then is "
                "distortion. Switch "
                "off and discharge before each change of a fixed part; then fit the nearest standard value.");
  for (const SpreadReport::Adjusted& a : r.adjusted) {
    if (!a.recipe.known) {
      all.push_back("The " + a.label + " hardly moves the balance: leave it.");
      continue;
    }
    const double change = a.recipe.change_per_pct;
    std::string text = "By the " + a.label + ": " + engineering_text(a.recipe.reading_v_rms_per_pct, "V", 3) +
                       " rms at the joint are 1 % of imbalance; for each of them " +
                       (change > 0 ? "raise" : "lower") + " it by " +
                       engineering_text(std::abs(change), a.unit, 3) +
                       " where output 1 is the larger one, the other way where output 2 is.";
    if (a.one_step_balance_pct)
      text += " One such step leaves 95 % of builds within \u00b1" + pct(*a.one_step_balance_pct) +
              ", against \u00b1" + pct(a.before_balance_pct) + " before.";
    all.push_back(text);
    constexpr double kWorthSetting = 0.5;
    const std::string share = share_text(a.plates.share, 0);
    all.push_back(
        a.plates.share >= kWorthSetting
            ? "Without a signal: for each volt that plate 1 stands above plate 2 more than drawn, " +
                  std::string(a.plates.change_per_v > 0 ? "raise" : "lower") + " the " + a.label + " by " +
                  engineering_text(std::abs(a.plates.change_per_v), a.unit, 3) + "; this tells " + share +
                  " of what balance asks for."
            : "The direct voltages of the plates tell only " + share + " of what balance asks of the " +
                  a.label + ": do not set it by them.");
  }
  return all;
}

ValueTable adjusted_table(const SpreadReport& r) {
  ValueTable t;
  if (r.adjusted.empty()) return t;
  t.caption = "Select on test: what one part set in each build is worth";
  t.columns = {"set", "yield", "balance, 95 % within", "5 % of builds below", "95 % below"};
  const SpreadReport::Adjusted& first = r.adjusted.front();
  t.rows.push_back(
      {"nothing", share_text(first.plain_yield), "\u00b1" + pct(first.before_balance_pct), "", ""});
  for (const SpreadReport::Adjusted& a : r.adjusted)
    t.rows.push_back({a.label, share_text(a.yield), "\u00b1" + pct(a.after_balance_pct),
                      engineering_text(a.low, a.unit), engineering_text(a.high, a.unit)});
  t.notes = {"Of " + std::to_string(first.builds) + " builds."};
  for (const SpreadReport::Adjusted& a : r.adjusted)
    if (a.not_reached > 0)
      t.notes.push_back(std::to_string(a.not_reached) + " builds cannot be balanced by the " + a.label +
                        " within half to twice its value.");
  return t;
}

}  // namespace antiphase
