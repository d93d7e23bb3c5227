#include <algorithm>
#include <utility>

#include "results/describe/cautions.h"
#include "results/describe/explain.h"
#include "results/describe/hand_comparison.h"
#include "results/describe/law_bands.h"
#include "results/describe/level_table.h"
#include "results/describe/limit_rows.h"
#include "results/describe/loop_gain.h"
#include "results/describe/measuring_sheet.h"
#include "results/describe/output_stage.h"
#include "results/describe/overdrive.h"
#include "results/describe/parts_beside.h"
#include "results/describe/response.h"
#include "results/describe/safety.h"
#include "results/describe/trade_off.h"
#include "results/describe/two_tones.h"
#include "results/describe/values.h"
#include "results/json/json_writer.h"
#include "results/page/circuit_drawing.h"
#include "results/page/page_parts.h"
#include "results/page/point_alignment.h"
#include "results/page/true_minus.h"
#include "results/text/html.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string table(std::string_view caption, const std::vector<std::string>& headings,
                  const std::string& rows) {
  std::string out = "<div class=\"scroll\"><table><caption>" + html(caption) + "</caption><thead><tr>";
  for (std::size_t i = 0; i < headings.size(); ++i)
    out += headings[i].empty() ? "<td></td>"  // a heading without words is read out as nothing
                               : std::string("<th scope=\"col\"") + (i > 0 ? " class=\"n\">" : ">") +
                                     html(headings[i]) + "</th>";
  return out + "</tr></thead><tbody>" + rows + "</tbody></table></div>\n";
}

std::string row(const std::vector<std::string>& cells, std::string_view row_class = "") {
  std::string out = "<tr" + (row_class.empty() ? "" : " class=\"" + std::string(row_class) + "\"") + ">";
  for (std::size_t i = 0; i < cells.size(); ++i)
    out += i == 0 ? "<th scope=\"row\">" + html(cells[i]) + "</th>"
                  : "<td class=\"n\">" + html(with_true_minus(cells[i])) + "</td>";
  return out + "</tr>\n";
}

/// Values per section or output; one value for the whole stage spans both columns.
std::string values(std::string_view caption, const std::vector<ValueLine>& lines, const std::string& column,
                   int count) {
  if (lines.empty()) return "";
  const bool pair = count == 2;
  std::string rows;
  for (const ValueLine& line : lines) {
    if (pair && line.cells.size() == 1)
      rows += "<tr><th scope=\"row\">" + html(line.label) + "</th><td class=\"both\" colspan=\"2\">" +
              html(with_true_minus(line.cells[0])) + "</td></tr>\n";
    else
      rows += line.cells.size() == 2 ? row({line.label, line.cells[0], line.cells[1]})
                                     : row({line.label, line.cells[0]});
  }
  if (pair) return table(caption, {"", column + " 1", column + " 2"}, rows);
  return table(caption, {"", ""}, rows);
}

enum class Numbers { plain, with_units };

/// A whole table of words with its notes. Plain numbers line up at the decimal point.
std::string value_table(ValueTable values, Numbers numbers) {
  if (values.empty()) return "";
  const std::size_t count = values.columns.size();
  for (std::size_t c = values.number_labels ? 0 : 1; c < count && numbers == Numbers::plain; ++c) {
    std::vector<std::string> cells;
    for (const auto& r : values.rows) cells.push_back(r[c]);
    align_points(cells);
    for (std::size_t k = 0; k < cells.size(); ++k) values.rows[k][c] = cells[k];
  }
  const auto cell = [&](std::string_view tag, std::string_view scope, std::size_t c,
                        const std::string& text) {
    const bool number = c == 0 ? values.number_labels : !(values.words_last && c + 1 == count);
    std::string out = "<" + std::string(tag);
    if (!scope.empty()) out += " scope=\"" + std::string(scope) + "\"";
    if (number || c > 0) out += number ? " class=\"n\"" : " class=\"words\"";
    return out + ">" + html(with_true_minus(text)) + "</" + std::string(tag) + ">";
  };
  std::string out;
  if (values.rows.empty()) {
    out = html_element("h3", values.caption);
  } else {
    out = "<div class=\"scroll\"><table><caption>" + html(values.caption) + "</caption><thead><tr>";
    for (std::size_t c = 0; c < count; ++c)
      out += values.columns[c].empty() ? "<td></td>" : cell("th", "col", c, values.columns[c]);
    out += "</tr></thead><tbody>";
    for (const auto& r : values.rows) {
      out += "<tr>";
      for (std::size_t c = 0; c < count; ++c) out += cell(c == 0 ? "th" : "td", c == 0 ? "row" : "", c, r[c]);
      out += "</tr>\n";
    }
    out += "</tbody></table></div>\n";
  }
  for (const std::string& note : values.notes) out += "<p class=\"quiet\">" + html(note) + "</p>";
  return out;
}

/// What is written by hand on a sheet of paper, each with its line.
std::string to_sign(std::initializer_list<std::string_view> what) {
  std::string out = "<p class=\"sign\">";
  for (std::string_view words : what) out += "<span>" + html(words) + "</span>";
  return out + "</p>";
}

std::string head_of_sheet(std::string_view kind, const Record& r, const std::string& name) {
  return "<h3>" + html(kind) + ": " + html(name) +
         "</h3><p class=\"danger\" role=\"note\"><strong>Danger.</strong> " + html(kSafetyLine) + "</p><p>" +
         html(design_in_words(r)) +
         "</p><div class=\"script controls\"><button type=\"button\" class=\"print-sheet\">Print this sheet "
         "alone</button></div>";
}

/// What to build: drawing and parts, keyed by their designators. Prints on one page of its own.
std::string build_sheet(const Record& r, const DesignFactors& factors, const Tolerances& tolerances,
                        const std::string& name) {
  const auto show = [](const std::optional<double>& v, std::string_view unit) {
    return v ? engineering_text(*v, unit) : std::string();
  };
  std::string rows, notes, causes;
  for (const PartLine& p : order_list(r, factors, tolerances)) {
    const bool resistor = p.kind == PartKind::resistor || p.kind == PartKind::sink;
    const std::string why = burdens_in_words(p.burdens);
    if (!why.empty()) causes += html_element("li", p.designators + ": " + why + ".");
    if (!p.pins.empty()) notes += "<p class=\"quiet\">" + html(p.pins) + ".</p>";
    const std::string rated = p.rating_w ? show(p.rating_w, "W") : p.power_worst_w ? "above 10 W" : "";
    std::string volts = show(p.rating_v, "V");
    if (!p.rating_v && p.voltage_worst_v && p.kind != PartKind::sink) volts = "beyond usual parts";
    if (!p.note.empty())
      notes += "<p class=\"quiet\">" + html(with_true_minus(p.designators + ": " + p.note)) + "</p>";
    const std::string heater = p.heater_a && p.kind == PartKind::tube
                                   ? ", heater " + show(p.heater_v, "V") + " " + show(p.heater_a, "A")
                                   : std::string();
    const std::string value =
        p.what + (p.tolerance_pct ? " \u00b1" + show(p.tolerance_pct, "%") : std::string()) + heater;
    rows += row({p.designators + ": " + p.label, std::to_string(p.count), value, p.series,
                 resistor ? show(p.power_worst_w, "W") : "", resistor ? rated : "",
                 show(p.voltage_worst_v, "V"), volts});
  }
  const auto share = [](double factor) { return html(engineering_text(100 * factor, "%")); };
  return "<section class=\"card wide paper build\">" + head_of_sheet("Build sheet", r, name) +
         "<div class=\"drawing\">" + circuit_drawing(r) + "</div>" +
         table("Parts",
               {"", "pieces", "value", "series", "power at worst", "rated at least", "voltage at worst",
                "stands at least"},
               rows) +
         "<div class=\"notes\"><p class=\"quiet\">At worst: the larger of rest and target. The ratings leave "
         "a resistor at " +
         share(factors.resistor_power) + " of its power and " + share(factors.resistor_voltage) +
         " of its voltage, a capacitor at " + share(kCapacitorVoltageFactor) +
         " of its voltage; what one broken part elsewhere brings may take all of a rating, and the pulse at "
         "switch-on what a short overload allows. The tolerance "
         "is the "
         "one that builds are thought of with.</p>" +
         notes + "</div><details><summary>What each part has to bear, and why</summary><ul>" + causes +
         "</ul></details>" + to_sign({"tubes and their numbers", "built by", "date"}) + "</section>\n";
}

std::string limits(const Record& r) {
  if (r.limits.empty()) return "";
  std::string rows, remedies;
  for (const LimitRow& l : limit_rows(r.limits)) {
    rows += row({l.label, l.section, l.value, l.allowed, l.margin,
                 l.kept       ? "kept"
                 : l.as_given ? "OUTSIDE, AS GIVEN"
                              : "BROKEN"},
                l.kept ? "" : "broken");
    const std::string remedy = "<p class=\"warn\">" + html(l.label) + ": " + html(l.remedy) + "</p>";
    // both sections of a limit have one remedy
    if (!l.remedy.empty() && remedies.find(remedy) == remedies.npos) remedies += remedy;
  }
  return "<div class=\"card wide\">" +
         table("Limits, tightest first", {"", "section", "value", "allowed", "margin", ""}, rows) + remedies +
         "</div>";
}

std::string hand(const Record& r) {
  const auto found = hand_rows(r);
  if (found.empty()) return "";
  std::string rows;
  for (const HandRow& h : found) rows += row({h.method, h.thd, h.drive, h.load});
  std::string out = "<div class=\"card wide\">" + table("The pencil's estimate beside the solved figure",
                                                        {"", "distortion", "drive, peak", "AC load"}, rows);
  for (const std::string& sentence : hand_sentences(r.design)) out += html_element("p", sentence);
  return out + "</div>";
}

std::string card(const std::string& content) {
  return content.empty() ? "" : "<div class=\"card\">" + content + "</div>\n";
}

std::string folded(std::string_view summary, const std::string& content) {
  if (content.empty()) return "";
  return "<details>" + html_element("summary", summary) + content + "</details>";
}

std::string explained(const Record& r, const Demands& demands) {
  if (r.explanation.neighbours == 0) return "";
  std::string out = "<div class=\"card wide why\"><h3>Why this one</h3>";
  const auto say = [&](const std::string& sentence) {
    out += sentence.empty() ? "" : html_element("p", sentence);
  };
  for (const std::string& sentence : binding_in_words(r)) say(sentence);
  say(lead_in_words(r.lead, demands, "the next"));
  const std::vector<std::string> give = loosenings_in_words(r, demands);
  if (!give.empty()) out += "<p>What would have to give for a better score:</p><ul>";
  for (const std::string& sentence : give) out += html_element("li", sentence);
  if (!give.empty()) out += "</ul>";
  out += value_table(step_table(r, demands), Numbers::with_units);
  say(around_in_words(r));
  return out + "</div>\n";
}

/// The numbers behind the sheet's first table, a row each, for readings that are typed in: name, label, test
/// points and the four limits.
std::string bands_of(const SpreadReport& s) {
  JsonWriter json;
  json.begin_array();
  for (const SheetRow& row : rest_rows(s)) {
    json.begin_array(true).value(row.row->figure->name).value(row.row->figure->label).value(row.points);
    for (const double v : {row.row->low, row.row->high, row.off.low, row.off.high}) json.value(v);
    json.end_array();
  }
  json.end_array();
  return std::move(json).take();
}

/// For first switch-on: prints on one page of its own.
std::string measuring_sheet(const Record& r, const std::string& name) {
  if (!r.spread) return "";
  const SpreadReport& s = *r.spread;
  std::string out = "<section class=\"card wide paper sheet\" data-bands=\"" + html(bands_of(s)) + "\">" +
                    head_of_sheet("Measuring sheet", r, name);
  // The drawing stands between the first table and its notes, which run beside it on paper.
  ValueTable rest = rest_reading_table(s);
  const std::vector<std::string> notes = std::exchange(rest.notes, {});
  out += value_table(rest, Numbers::with_units) + "<div class=\"points\">" + test_point_drawing(r) + "</div>";
  for (const std::string& note : notes) out += "<p class=\"quiet\">" + html(note) + "</p>";
  for (const ValueTable& t : {level_reading_table(s), defect_table(s), ac_defect_table(s)})
    out += value_table(t, Numbers::with_units);
  out += "<p class=\"quiet\">From " + std::to_string(s.summary.builds) +
         " builds with parts, tubes and mains that scatter; " + html(spread_in_words(s)) + "</p>";
  return out + to_sign({"what was checked", "signature"}) + "</section>\n";
}

/// What a part that is set in each build is worth, and how to set it.
std::string select_on_test(const Record& r) {
  if (!r.spread || r.spread->adjusted.empty()) return "";
  std::string out =
      "<div class=\"card wide\">" + value_table(adjusted_table(*r.spread), Numbers::with_units) + "<ul>";
  for (const std::string& sentence : recipes_in_words(*r.spread)) out += html_element("li", sentence);
  return out + "</ul></div>\n";
}

/// A part of the block that a script folds away on the screen; it prints, and without a script it is open.
std::string fold(std::string_view kind, std::string_view heading, const std::string& content) {
  if (content.empty()) return "";
  return "<section class=\"fold\" data-fold=\"" + std::string(kind) +
         "\"><h3><button type=\"button\" aria-expanded=\"false\">" + html(heading) +
         "</button></h3><div class=\"body cards\">" + content + "</div></section>\n";
}

/// What the pictures show, in numbers.
std::string in_depth(const Record& r, int of_outputs) {
  std::string out =
      card(values("Harmonics at the target, % of the fundamental", harmonic_values(r), "output", of_outputs) +
           value_table(two_tone_table(r), Numbers::plain));
  out += card(value_table(law_band_table(r), Numbers::with_units));
  if (const auto lines = frequency_values(r); !lines.empty())
    out += card(values("Against frequency, with the capacitors that are given", lines, "output", of_outputs) +
                folded("The response in numbers", value_table(response_table(r), Numbers::with_units)));
  out += card(value_table(level_table(r), Numbers::plain) +
              value_table(clean_swing_table(r), Numbers::with_units));
  if (const std::string over = value_table(overdrive_table(r), Numbers::with_units); !over.empty())
    out += "<div class=\"card wide\">" + over + "</div>\n";
  if (const std::string stage = value_table(output_stage_table(r), Numbers::with_units); !stage.empty())
    out += "<div class=\"card wide\">" + stage + "</div>\n";
  return out + hand(r);
}

}  // namespace

std::string entry_block(const Record& r, const Demands& demands, const Tolerances& tolerances,
                        const std::string& name, const std::string& id) {
  std::string out = "<article class=\"entry\" id=\"" + id + "\"><h2>" + html(name);
  if (!r.remark.empty() && r.remark != name) out += " <span class=\"quiet\">" + html(r.remark) + "</span>";
  out += "</h2><p class=\"lead\">" + html(design_in_words(r)) + ".</p>";
  for (const std::string& sentence : missing_in_words(r.evaluation))
    out += "<p class=\"warn\">" + html(sentence) + "</p>";
  for (const std::string& sentence : cautions(r))
    out += "<p class=\"warn\"><strong>Caution.</strong> " + html(sentence) + "</p>";
  out += "<p>" + html(clean_swing_in_words(r)) + "</p>";
  const int of_sections = sections(r.design.circuit), of_outputs = outputs(r.design.circuit);
  std::string numbers = card(values("At rest", rest_values(r), "section", of_sections));
  numbers +=
      card(values("At the target, " + engineering_text(r.design.swing_peak_v, "V") + " peak per output",
                  target_values(r), "output", of_outputs) +
           values("Small signal", small_signal_values(r), "output", of_outputs));
  if (has_first_stage(r.design))
    numbers += card(values("First stage", first_stage_values(r), "section", of_sections));
  numbers += card(values("Driver", driver_values(r), "output", of_outputs));
  if (has_feedback(r.design))
    numbers += card(
        values("Overall feedback, the output stage as a block", feedback_values(r), "output", of_outputs) +
        folded("The loop gain in numbers", value_table(loop_gain_table(r), Numbers::plain)));
  out += fold("build", "Build: the sheet with drawing and parts",
              build_sheet(r, demands.factors, tolerances, name));
  out +=
      fold("measure", "Measure: the sheet for first switch-on", measuring_sheet(r, name) + select_on_test(r));
  out += fold("limits", "Limits: how much room is left", limits(r));
  out += fold("numbers", "Numbers: at rest and at the target", numbers);
  out += fold("why", "Why this one: its neighbours and what binds it", explained(r, demands));
  out += fold("depth", "In depth: harmonics, levels, frequencies, overdrive, the pencil's estimate",
              in_depth(r, of_outputs));
  return out + "</article>\n";
}

std::string entries_part(const Report& report, const std::vector<ShownDesign>& entries) {
  std::string out = "<section id=\"entries\">";
  for (std::size_t n = 0; n < entries.size(); ++n)
    out += entry_block(*entries[n].record, report.demands, report.tolerances, entries[n].name,
                       "entry" + std::to_string(n));
  return out + "</section>\n";
}

}  // namespace antiphase
