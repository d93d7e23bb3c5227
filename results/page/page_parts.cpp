#include "results/page/page_parts.h"

#include <algorithm>

#include "results/describe/against.h"
#include "results/describe/builds_ranking.h"
#include "results/describe/candidate_columns.h"
#include "results/describe/circuits_compared.h"
#include "results/describe/conflict.h"
#include "results/describe/every_combination.h"
#include "results/describe/safety.h"
#include "results/describe/trade_off.h"
#include "results/describe/values.h"
#include "results/page/assets.h"
#include "results/page/point_alignment.h"
#include "results/page/true_minus.h"
#include "results/text/html.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string lead_sentence(const Report& report) {
  if (report.candidates.empty()) return "No design was found.";
  const Record& best = report.candidates.front();
  if (!best.feasible) return "Nothing satisfies this brief. The designs below come nearest.";
  return "Best found: " + design_in_words(report, best) + ".";
}

std::string list(const std::vector<std::string>& items) {
  std::string out = "<ul>";
  for (const std::string& item : items) out += html_element("li", item);
  return out + "</ul>\n";
}

/// "plate 1\nkΩ" -> "plate 1 <span class=unit>kΩ</span>"; the unit is what follows the last line break.
std::string heading(const TextColumn& column) {
  std::string text = column.heading;
  std::string unit;
  if (const auto last = text.rfind('\n'); last != std::string::npos) {
    unit = " <span class=\"unit\">" + html(text.substr(last + 1)) + "</span>";
    text.erase(last);
  }
  std::replace(text.begin(), text.end(), '\n', ' ');
  return html(text) + unit;
}

std::string_view class_of(const TextColumn& column) {
  return column.align == TextColumn::Align::left ? "" : " class=\"n\"";
}

std::string entry_row(const ShownDesign& entry, std::size_t row, const std::vector<TextColumn>& columns) {
  const std::string n = std::to_string(row), id = "pick" + n;
  std::string out = "<tr data-entry=\"" + n + "\"><th scope=\"row\"><label for=\"" + id + "\">";
  out += "<input type=\"radio\" name=\"entry\" id=\"" + id + "\" value=\"" + n + "\"";
  out += std::string(row == 0 ? " checked" : "") + "> " + html(entry.mark);
  out += "<span class=\"hidden\"> " + html(entry.name) + "</span></label></th>";
  out += "<td class=\"script\"><input type=\"checkbox\" class=\"tick\" aria-label=\"Compare " +
         html(entry.name) + "\"></td>";
  for (const TextColumn& c : columns)
    out += "<td" + std::string(class_of(c)) + ">" + html(with_true_minus(c.cells[row])) + "</td>";
  return out + "</tr>\n";
}

TextColumn remarks(const Report& report, const std::vector<ShownDesign>& entries) {
  const std::vector<TradeOffPoint> points = trade_off(report);
  TextColumn column{"", TextColumn::Align::left, {}};
  for (const ShownDesign& e : entries) column.cells.push_back(remark_in_words(*e.record, points));
  return column;
}

TextColumn scores(const std::vector<const Record*>& records) {
  TextColumn column{"score", TextColumn::Align::point, {}};
  for (const Record* r : records) column.cells.push_back(score_text(*r));
  return column;
}

/// Beside the nominal figures: what builds come to. Empty cells for designs that are no candidates.
std::vector<TextColumn> columns_of_builds(const std::vector<const Record*>& records) {
  TextColumn yield{"yield\n%", TextColumn::Align::point, {}},
      drawn{"rank as drawn", TextColumn::Align::right, {}};
  for (const Record* r : records) {
    yield.cells.push_back(r->builds ? fixed_text(100 * r->builds->figures.yield, 1) : "");
    drawn.cells.push_back(r->builds ? std::to_string(r->builds->nominal_rank) : "");
  }
  return {yield, drawn};
}

std::string plain_table(const ValueTable& t) {
  std::string out = "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"" + html(t.caption) +
                    "\"><table><caption>" + html(t.caption) + "</caption><thead><tr>";
  for (const std::string& c : t.columns) out += "<th scope=\"col\" class=\"n\">" + html(c) + "</th>";
  out += "</tr></thead><tbody>";
  for (const auto& cells : t.rows) {
    out += "<tr>";
    for (std::size_t c = 0; c < cells.size(); ++c)
      out += c == 0 ? "<th scope=\"row\" class=\"n\">" + html(cells[c]) + "</th>"
                    : "<td class=\"n\">" + html(with_true_minus(cells[c])) + "</td>";
    out += "</tr>\n";
  }
  out += "</tbody></table></div>";
  for (const std::string& note : t.notes) out += "<p class=\"quiet\">" + html(note) + "</p>";
  return out;
}

std::string builds_part(const Report& report) {
  std::string out;
  if (const ValueTable t = builds_ranking_table(report); !t.empty()) {
    out += "<h3>What their builds come to</h3>";
    for (const std::string& sentence : builds_ranking_in_words(report)) out += html_element("p", sentence);
    out += plain_table(t);
  }
  if (const ValueTable t = candidate_bands_table(report); !t.empty()) out += plain_table(t);
  return out;
}

std::string circuits_part(const Report& report) {
  const std::vector<std::string> sentences = circuits_in_words(report);
  return sentences.empty() ? "" : "<h3>The best of each circuit and form</h3>" + list(sentences);
}

std::string axis_select(std::string_view id, std::string_view label) {
  return "<label>" + html(label) + " <select id=\"" + std::string(id) + "\"></select></label>";
}

std::string picture(std::string_view id, std::string_view title) {
  const std::string name(id);
  return "<figure class=\"picture\" id=\"" + name + "\"><figcaption><span class=\"title\">" + html(title) +
         "</span><button type=\"button\" class=\"save\">Save as SVG</button></figcaption>"
         "<div class=\"canvas\" role=\"img\"></div><p class=\"note\"></p></figure>\n";
}

}  // namespace

std::string page_header(const Report& report) {
  std::string out;
  if (!report.candidates.empty()) out += "<a class=\"skip\" href=\"#candidates\">Skip to the designs</a>\n";
  out += "<header><p class=\"kind\">Driver stage, searched over standard parts</p>";
  out += html_element("h1", report.title.empty() ? "Untitled brief" : report.title);
  out += "<p class=\"lead\">" + html(lead_sentence(report)) + "</p>";
  if (!report.run.finished)
    out += "<p class=\"warn\">The search ended early (" + html(report.run.why_stopped) +
           "): better designs may be left unseen.</p>";
  return out + "<p class=\"danger\" role=\"note\"><strong>Danger.</strong> " + html(kSafetyLine) +
         " <a href=\"#safety\">More on safety</a></p></header>\n";
}

std::string contents_part(bool designs, bool front) {
  std::string out = "<nav class=\"contents\" aria-label=\"Contents\"><ul>";
  const auto link = [&](std::string_view to, std::string_view words, std::string_view inside = "") {
    out += "<li><a href=\"#" + std::string(to) + "\"" +
           (inside.empty() ? "" : " data-inside=\"" + std::string(inside) + "\"") + ">" + html(words) +
           "</a></li>";
  };
  if (designs) {
    link("candidates", "Answer");
    if (front) link("tradeoff", "Compare");
    link("entries", "Circuit");
    link("entries", "Build", "build");
    link("entries", "Measure", "measure");
    link("pictures", "Curves");
    link("entries", "Why", "why");
  }
  link("brief", "Asked");
  link("safety", "Safety");
  return out + "</ul></nav>\n";
}

std::string answer_part() {
  return "<section id=\"answer\" class=\"script\"><h2 class=\"hidden\">Answer</h2><p id=\"address-says\" "
         "class=\"warn\" role=\"status\" hidden></p><div class=\"answer\"><div class=\"card drawn\">"
         "<div id=\"answer-drawing\"></div><p class=\"quiet\" id=\"drawn-says\" hidden>A click on an "
         "underlined value, or Tab and Enter, changes that part.</p>"
         "<div id=\"drawn-part\" role=\"group\" hidden></div></div><div class=\"card\"><h3 "
         "id=\"answer-name\"></h3><p id=\"answer-limits\"></p><div id=\"answer-cautions\"></div>"
         "<table id=\"answer-figures\"><caption>What it does</caption><tbody></tbody></table>"
         "<p id=\"answer-bands\" class=\"quiet\" hidden>Beside it: what nine in ten tubes of the type do.</p>"
         "<p id=\"answer-least\" class=\"quiet\" hidden>Limits with least room, beside what is given:</p><ul "
         "class=\"room\" id=\"answer-room\"></ul></div></div></section>\n";
}

std::string brief_part(const Report& report) {
  const bool folded = !report.candidates.empty() && report.candidates.front().feasible;
  std::string out = "<section id=\"brief\"><h2>What was asked</h2>";
  if (folded && !report.brief_in_words.empty())
    out += "<details><summary>" + html(report.brief_in_words.front()) +
           " <span class=\"more\">The whole of it</span></summary>" + list(report.brief_in_words) +
           "</details>";
  else
    out += list(report.brief_in_words);
  for (const std::string& sentence : report.as_given) out += "<p class=\"warn\">" + html(sentence) + "</p>";
  if (!report.blocked_by.empty()) out += "<h3>What stands in the way</h3>" + list(report.blocked_by);
  if (report.conflict) out += "<h3>What conflicts</h3>" + list(conflict_in_words(*report.conflict));
  return out + "</section>\n";
}

std::string candidates_part(const Report& report, const std::vector<ShownDesign>& entries) {
  std::vector<const Record*> records;
  for (const ShownDesign& e : entries) records.push_back(e.record);
  std::vector<TextColumn> columns = build_columns(records, report.compares_circuits());
  const std::size_t built = columns.size();
  for (TextColumn& c : figure_columns(records, figures_to_show(report))) columns.push_back(std::move(c));
  columns.push_back(scores(records));
  if (report.builds_ranking)
    for (TextColumn& c : columns_of_builds(records)) columns.push_back(std::move(c));
  const std::size_t figures_end = columns.size();
  columns.push_back(remarks(report, entries));
  for (TextColumn& c : columns)
    if (c.align == TextColumn::Align::point) align_points(c.cells);

  std::string out = "<section id=\"candidates\"><h2>Designs</h2>";
  out += "<p>Pick one with a click or with the arrow keys; everything below follows. Numbers are ranks by " +
         std::string(report.builds_ranking ? "what builds come to" : "score (smaller is better)") +
         (report.compares_circuits()
              ? "; letters are the ends of the trade-off and the best of other circuits.</p>"
              : "; letters are the ends of the trade-off.</p>") +
         "<p class=\"script quiet\" id=\"in-ranges\" role=\"status\"></p>";
  out += "<p id=\"picked\" class=\"hidden\" aria-live=\"polite\"></p>";
  out +=
      "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Designs\"><table class=\"designs\">";
  out += "<thead><tr><td></td><td class=\"script\"></td><th scope=\"colgroup\" colspan=\"" +
         std::to_string(built) + "\">what to build</th><th scope=\"colgroup\" colspan=\"" +
         std::to_string(figures_end - built) +
         "\">what it does</th><td></td></tr><tr><th scope=\"col\">rank</th><th scope=\"col\" "
         "class=\"script\">side by side</th>";
  for (const TextColumn& c : columns)
    out += c.heading.empty() ? "<td></td>"
                             : "<th scope=\"col\"" + std::string(class_of(c)) + ">" + heading(c) + "</th>";
  out += "</tr></thead><tbody>\n";
  for (std::size_t row = 0; row < entries.size(); ++row) out += entry_row(entries[row], row, columns);
  return out + "</tbody></table></div>" + circuits_part(report) + builds_part(report) + "</section>\n";
}

namespace {

/// The named designs of the trade-off and the way between them.
std::string trade_off_words(const Report& report) {
  std::string out;
  if (const auto points = trade_off(report); !points.empty()) {
    out += "<dl class=\"ends\">";
    for (const TradeOffPoint& p : points)
      out += "<div><dt>" + html(p.name) + "</dt><dd>" + html(p.figures) + "<br><span class=\"quiet\">" +
             html(design_in_words(report, *p.record)) + "</span></dd></div>";
    out += "</dl>";
  }
  const std::vector<TradeOffPoint> few = choices(report);
  if (few.size() > 1) {
    out += "<h3>Along the front</h3><ul>";
    for (const TradeOffPoint& p : few)
      if (p.name.rfind("Choice", 0) == 0)
        out +=
            html_element("li", p.name + ": " + p.figures + ". " + design_in_words(report, *p.record) + ".");
    out += "</ul>" + list(trade_off_steps(report));
  }
  if (!report.best_of_tubes.empty()) out += "<h3>The best of each tube</h3>" + list(tubes_in_words(report));
  if (report.against) out += "<h3>Against other results</h3>" + list(against_in_words(report));
  return out.empty() ? "" : "<details><summary>The trade-off in words</summary>" + out + "</details>";
}

}  // namespace

std::string trade_off_part(const Report& report, const std::vector<ShownDesign>&) {
  std::string out = "<section id=\"tradeoff\"><h2>Trade-off</h2>";
  out += "<p>" + std::to_string(report.pareto.size()) +
         " designs that no other one beats in every objective at once, over the others that were seen. All "
         "of them stand in pareto.csv.</p>";
  if (!report.taken_among.empty()) out += html_element("p", report.taken_among);
  out += "<div class=\"script controls\">" + axis_select("axis-x", "across") + axis_select("axis-y", "up") +
         axis_select("axis-size", "size and shade") +
         "<button type=\"button\" id=\"mark-range\" aria-pressed=\"false\">Mark a range</button>"
         "<button type=\"button\" class=\"clear-ranges\" disabled>Forget all ranges</button></div>";
  out += "<div class=\"script\">" + picture("picture-tradeoff", "Trade-off") + "</div>";
  out +=
      "<h3 class=\"script\">All figures at once</h3><p class=\"script\">A line is a design. Drag along an "
      "axis to "
      "keep a range; the table, the plot above and the lines follow. A click on a marked stretch forgets "
      "it.</p><div class=\"script controls\"><label><input type=\"checkbox\" id=\"every-figure\"> every "
      "figure, not "
      "only those of the table</label><button type=\"button\" class=\"clear-ranges\" disabled>Forget all "
      "ranges</button></div>";
  out += "<div class=\"script\">" + picture("picture-figures", "Figures side by side") + "</div>";
  return out +
         "<details class=\"script\"><summary>The ranges in numbers</summary><div class=\"scroll\" "
         "tabindex=\"0\" "
         "role=\"region\" aria-label=\"Ranges\"><table><thead><tr><th scope=\"col\">figure</th><th "
         "scope=\"col\">from</th><th scope=\"col\">to</th><th scope=\"col\" class=\"n\">of all "
         "designs</th><th "
         "scope=\"col\" class=\"n\">asked in the brief</th></tr></thead><tbody "
         "id=\"ranges\"></tbody></table></div></details>" +
         trade_off_words(report) + "</section>\n";
}

std::string compare_part() {
  return "<section id=\"compare\" class=\"script\"><h2>Side by side</h2><p id=\"compare-says\" "
         "role=\"status\">Tick two "
         "or three designs in the table, or “side by side” on a picked one, to see them next to each "
         "other.</p>"
         "<div id=\"compared\" hidden><div class=\"controls\"><button type=\"button\" "
         "id=\"save-ticked\">Save these as "
         "design files</button><button type=\"button\" id=\"untick\">Untick all</button></div>"
         "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Side by side\"><table "
         "id=\"compare-table\"></table></div><div class=\"pictures\">" +
         picture("picture-compare-levels", "Distortion against level") +
         picture("picture-compare-gain", "Gain against frequency") + "</div></div></section>\n";
}

std::string design_tools_part() {
  return "<div class=\"script\" id=\"design-tools\"><div class=\"controls\"><button type=\"button\" "
         "id=\"save-design\">Save this "
         "design as a file</button><label><input type=\"checkbox\" id=\"tick-picked\"> side by "
         "side</label></div></div>\n";
}

std::string live_part() {
  const auto table = [](std::string_view id, std::string_view caption, std::string_view first,
                        std::string_view second, std::string_view third) {
    const auto heading = [](std::string_view words, std::string_view kind) {
      return "<th scope=\"col\"" + std::string(kind) + ">" + html(words) + "</th>";
    };
    const std::string_view number = " class=\"n\"";
    return "<div class=\"scroll\"><table id=\"" + std::string(id) + "\"><caption>" + html(caption) +
           "</caption><thead><tr>" + heading(first, "") + heading(second, second == "value" ? "" : number) +
           heading(third, number) + "</tr></thead><tbody></tbody></table></div>";
  };
  return "<section id=\"live\" class=\"script\"><h2>Change a part</h2><p id=\"live-says\">Each part goes to "
         "the next standard value with \u2212 and +, or to a value that you type, such as 47k or 100n. The "
         "whole "
         "page then shows the changed design.</p><div id=\"live-bench\" hidden><div class=\"cards\"><div "
         "class=\"card\">" +
         table("live-parts", "Parts and settings", "part", "value", "before") +
         "<details><summary>What stands around the stage</summary>" +
         table("live-around", "Supply, load and target", "quantity", "value", "before") +
         "</details><p id=\"live-fault\" class=\"warn\" role=\"alert\" hidden></p><div "
         "class=\"controls\"><button type=\"button\" id=\"live-save\" disabled>Save the changed design as a "
         "file</button><button type=\"button\" id=\"live-undo\" disabled>Undo</button><button "
         "type=\"button\" "
         "id=\"live-redo\" disabled>Redo</button><button type=\"button\" id=\"live-back\" disabled>Undo all "
         "changes</button></div></div><div class=\"card\">" +
         table("live-figures", "What it does", "figure", "before", "now") +
         "<p id=\"live-limits\" role=\"status\"></p></div></div></div></section>\n<div id=\"live-block\" "
         "class=\"script\"></div>\n";
}

std::string front_design_part() {
  return "<section id=\"front-design\" class=\"script\" aria-live=\"polite\" hidden></section>\n"
         "<section id=\"live-entry\" class=\"script\" hidden></section>\n";
}

namespace {

/// The beginning of pictures that a script folds away on the screen.
std::string fold_of_pictures(std::string_view kind, std::string_view heading) {
  return "<section class=\"fold script\" data-fold=\"" + std::string(kind) +
         "\"><h3><button type=\"button\" aria-expanded=\"false\">" + html(heading) +
         "</button></h3><div class=\"body\"><div class=\"pictures\">";
}

}  // namespace

std::string pictures_part() {
  return "<section id=\"pictures\" class=\"script\"><h2>Pictures <span id=\"pictured\"></span></h2>"
         "<div class=\"pictures\">" +
         picture("picture-curves-0", "Plate curves, section 1") +
         picture("picture-curves-1", "Plate curves, section 2") +
         picture("picture-waveforms", "Outputs at the target") +
         picture("picture-harmonics", "Harmonics at the target") + "</div></section>\n" +
         fold_of_pictures("pictures", "More pictures: room to limits, levels, frequencies") +
         picture("picture-margins", "Room to every limit") +
         picture("picture-levels", "Distortion against level") +
         picture("picture-response", "Gain and phase against frequency") +
         picture("picture-balance", "Balance against frequency") +
         picture("picture-loop", "Loop gain of the feedback") +
         picture("picture-input", "Input impedance against frequency") + "</div></div></section>\n";
}

std::string how_part(const Report& report) {
  const RunRecord& run = report.run;
  std::string out = "<section id=\"how\"><h2>How this was computed</h2>";
  out +=
      "<p>Each design was solved as a circuit: at rest by Kirchhoff's current law at every node, and at the "
      "target as a mid-band steady state over one cycle of a cosine, in which every capacitor holds the "
      "voltage at which its mean current is zero. Harmonics come from the cosine sums of that cycle. The "
      "tubes "
      "stand in as fitted laws of typical specimens; real ones differ by ten per cent and more.</p>";
  out += "<dl class=\"facts\">";
  const auto fact = [&](std::string_view name, const std::string& value) {
    if (!value.empty()) out += "<div>" + html_element("dt", name) + html_element("dd", value) + "</div>";
  };
  fact("brief", run.brief_file);
  fact("digest of the brief", run.brief_digest);
  fact("seed", std::to_string(run.seed));
  fact("effort", run.effort);
  fact("designs judged", std::to_string(run.evaluations_made) + " of " +
                             std::to_string(run.evaluations_asked) + " asked (" +
                             std::to_string(run.evaluations_parts) + " with standard parts)");
  fact("the search", run.why_stopped);
  fact("continued from", run.continued_from);
  for (const auto& [name, version] : run.versions) fact(name, version);
  fact("time", significant_text(run.times.total_s, 3, 1) + " s on " + std::to_string(run.times.threads) +
                   (run.times.threads == 1 ? " thread" : " threads"));
  fact("started", run.times.started);
  out += "</dl>";
  const bool met = !report.candidates.empty() && report.candidates.front().feasible;
  if (run.every_combination) out += "<h3>Every combination</h3>" + list(every_combination_in_words(run, met));
  if (!run.milestones.empty()) {
    out +=
        "<details><summary>How the search went on</summary><p>The last column is the share of the space "
        "between the best of every figure and a tenth beyond the worst of the last front that the front "
        "dominated by then (hypervolume).</p><div class=\"scroll\"><table><thead><tr>"
        "<th scope=\"col\">round</th><th scope=\"col\" class=\"n\">judged</th><th scope=\"col\" "
        "class=\"n\">best score</th><th scope=\"col\" class=\"n\">front's share</th></tr></thead><tbody>";
    for (const auto& m : run.milestones)
      out += "<tr><td>" + html(m.stage) + "</td><td class=\"n\">" + std::to_string(m.evaluations) +
             "</td><td class=\"n\">" + (m.best_score ? significant_text(*m.best_score, 4, 4) : "none") +
             "</td><td class=\"n\">" + fixed_text(m.hypervolume, 4) + "</td></tr>";
    out += "</tbody></table></div></details>";
  }
  if (!run.families.empty()) {
    out +=
        "<details><summary>Kinds of stage that were searched</summary><div "
        "class=\"scroll\"><table><thead><tr>"
        "<th scope=\"col\">kind</th><th scope=\"col\" class=\"n\">judged</th><th scope=\"col\" "
        "class=\"n\">best score</th></tr></thead><tbody>";
    for (const auto& f : run.families)
      out += "<tr><td>" + html(f.name) + "</td><td class=\"n\">" + std::to_string(f.evaluations) +
             "</td><td class=\"n\">" + (f.best_score ? significant_text(*f.best_score, 4, 4) : "none") +
             "</td></tr>";
    out += "</tbody></table></div></details>";
  }
  out +=
      "<details><summary>Licences of the chart code in this page</summary><pre>" + html(chart_licences()) +
      "</pre></details><details><summary>Licences of the libraries inside the page's solver</summary><pre>" +
      html(live_licences()) + "</pre></details>";
  return out + "</section>\n";
}

}  // namespace antiphase
