#include "results/describe/explain.h"

#include <algorithm>
#include <cmath>

#include "results/describe/figure_text.h"
#include "results/describe/section_names.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

constexpr double kWorthSaying = 0.1;  // of what is bought in all: smaller parts of it are not named

std::string score_text(double v) {
  constexpr int kDigits = 3, kMostDecimals = 4;  // as scores stand in the tables
  return significant_text(v, kDigits, kMostDecimals);
}

std::string signed_score(double v) {
  const std::string text = score_text(v);
  return v > 0 && text.find_first_of("123456789") != text.npos ? "+" + text : text;
}

std::string limit_name(const LimitResult& r) {
  return std::string(r.label) + of_section(r.section);
}

std::string change_text(const Design& d, const PartChange& p) {
  return std::string(label_in(d, *p.field)) + " " + engineering_text(p.value, p.field->unit, 4);
}

/// What stops a step: the limits that it breaks, or that the swing is out of reach.
std::string breaks(const Change& c) {
  std::vector<std::string> names;
  for (const LimitResult& r : c.broken) {
    const std::string name = limit_name(r);
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  if (c.target != Solved::yes) names.insert(names.begin(), "target swing");
  if (names.size() > 2) {
    const std::size_t more = names.size() - 1;
    names.resize(1);
    return names.front() + " and " + std::to_string(more) + " more";
  }
  return all_of(names);
}

std::string how_much(const LimitResult& r) {
  const double far = std::fabs(r.value - r.limit);
  std::string text =
      r.unit == "%" ? engineering_text(far, "1", 2) + " points" : engineering_text(far, r.unit);
  if (r.limit != 0) text = engineering_text(100 * far / std::fabs(r.limit), "%", 2) + " (" + text + ")";
  return text + (r.at_least ? " less " : " more ") + limit_name(r);
}

/// "0.05 of distortion and 0.01 of headroom", what is given back behind it.
std::string bought_text(const Change& c, const Demands& demands) {
  const double least = kWorthSaying * std::fabs(*c.score);
  std::vector<std::string> bought, given;
  for (std::size_t i = 0; i < c.bought.size() && i < demands.objectives.size(); ++i) {
    if (!c.bought[i] || std::fabs(*c.bought[i]) < least) continue;
    (*c.bought[i] > 0 ? bought : given)
        .push_back(score_text(std::fabs(*c.bought[i])) + " in " +
                   std::string(demands.objectives[i].figure->label));
  }
  std::string text = score_text(-*c.score) + " of score";
  if (!bought.empty()) text += ": " + all_of(bought);
  if (!given.empty()) text += ", giving back " + all_of(given);
  return text;
}

std::string heading(const Objective& o) {
  return std::string(o.figure->label);
}

}  // namespace

std::vector<std::string> binding_in_words(const Record& r) {
  if (r.explanation.neighbours == 0) return {};
  if (r.explanation.binding.empty())
    return {"No limit binds: all are kept with " + engineering_text(kBinding_pct, "%") + " or more in hand."};
  std::vector<std::string> names;
  const std::vector<LimitResult>& binding = r.explanation.binding;
  for (std::size_t i = 0; i < binding.size(); ++i) {
    const LimitResult& l = binding[i];
    const bool both = i + 1 < binding.size() && l.section > 0 && l.name == binding[i + 1].name &&
                      l.value == binding[i + 1].value && l.limit == binding[i + 1].limit;
    names.push_back((both ? std::string(l.label) + " of both sections" : limit_name(l)) + " (" +
                    named_figure_text(l.name, l.value, l.unit) + (l.at_least ? " ≥ " : " ≤ ") +
                    engineering_text(l.limit, l.unit) + ", " + engineering_text(l.margin_pct, "%", 2) +
                    " in hand)");
    i += both ? 1 : 0;
  }
  return {std::string(names.size() == 1 ? "One limit binds" : "These limits bind") +
          " (kept with less than " + engineering_text(kBinding_pct, "%") + " in hand): " + all_of(names) +
          "."};
}

ValueTable step_table(const Record& r, const Demands& demands) {
  ValueTable table;
  if (r.explanation.steps.empty()) return table;
  table.caption = "One value down or up of each part, all else as it is: what changes";
  table.columns = {"part", "score"};
  for (const Objective& o : demands.objectives) table.columns.push_back(heading(o));
  table.columns.emplace_back("breaks");
  table.words_last = true;
  bool beyond = false;
  for (const PartSteps& part : r.explanation.steps)
    for (const std::optional<Change>& step : part.step) {
      if (!step) continue;
      const PartChange& to = step->parts.front();
      beyond |= to.beyond;
      std::vector<std::string> row{std::string(label_in(r.design, *part.field)) + " " +
                                   engineering_text(part.value, part.field->unit, 4) + " → " +
                                   engineering_text(to.value, part.field->unit, 4) + (to.beyond ? " *" : "")};
      row.push_back(step->score ? signed_score(*step->score) : "none");
      for (std::size_t i = 0; i < demands.objectives.size(); ++i)
        row.push_back(i < step->figures.size() && step->figures[i]
                          ? signed_engineering_text(*step->figures[i], demands.objectives[i].figure->unit, 2)
                          : "none");
      row.push_back(breaks(*step));
      table.rows.push_back(std::move(row));
    }
  if (beyond) table.notes.emplace_back("* beyond what the brief allows for this part.");
  return table;
}

std::string around_in_words(const Record& r) {
  const Neighbourhood& a = r.around;
  if (a.designs == 0) return "";
  std::vector<std::string> spans;
  for (const Neighbourhood::Span& s : a.spans)
    spans.push_back(std::string(label_in(r.design, *s.field)) + " " +
                    engineering_text(s.low, s.field->unit, 4) + " to " +
                    engineering_text(s.high, s.field->unit, 4));
  std::string text =
      std::to_string(a.designs) +
      (a.designs == 1 ? " more design that was seen counts" : " more designs that were seen count") +
      " as this one";
  if (!spans.empty()) text += ", with " + all_of(spans);
  if (a.score_low && a.score_high)
    text += ": their scores are " + score_text(*a.score_low) + " to " + score_text(*a.score_high);
  return text + ".";
}

std::string lead_in_words(const Lead& lead, const Demands& demands, const std::string& next) {
  if (!lead.total) return "";
  const double least = std::max(1e-4, 0.02 * std::fabs(*lead.total));
  std::vector<std::string> for_it, against;
  for (std::size_t i = 0; i < lead.figures.size() && i < demands.objectives.size(); ++i) {
    if (!lead.figures[i] || std::fabs(*lead.figures[i]) < least) continue;
    (*lead.figures[i] > 0 ? for_it : against)
        .push_back(score_text(std::fabs(*lead.figures[i])) + " in " +
                   std::string(demands.objectives[i].figure->label));
  }
  std::string text = *lead.total >= 0
                         ? "It outranks " + next + " by " + score_text(*lead.total) + " of score"
                         : "It stands behind " + next + " by " + score_text(-*lead.total) + " of score";
  if (!for_it.empty()) text += ": it gains " + all_of(for_it);
  if (!against.empty()) text += (for_it.empty() ? ": it gives back " : ", and gives back ") + all_of(against);
  return text + ".";
}

std::string first_in_short(const Record& first, const Demands& demands) {
  if (first.explanation.neighbours == 0) return "";
  std::string text = "Rank 1 ";
  if (first.lead.total) {
    text += "leads the next by " + score_text(*first.lead.total) + " of score";
    std::optional<std::size_t> most;
    const std::size_t count = std::min(first.lead.figures.size(), demands.objectives.size());
    for (std::size_t i = 0; i < count; ++i)
      if (first.lead.figures[i].value_or(0) > (most ? *first.lead.figures[*most] : 0)) most = i;
    if (most) text += ", above all in " + std::string(demands.objectives[*most].figure->label);
    if (first.rank_in_doubt) text += " (in doubt: under some credible law of its tube the next comes first)";
    text += "; ";
  }
  std::vector<std::string> names;
  for (const LimitResult& l : first.explanation.binding) {
    std::string name = l.section > 0 && !of_another_stage(l.section) ? std::string(l.label) : limit_name(l);
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(std::move(name));
  }
  return text + (names.empty() ? "no limit binds." : "what binds it: " + all_of(names) + ".");
}

std::vector<std::string> loosenings_in_words(const Record& r, const Demands& demands) {
  const Explanation& e = r.explanation;
  if (e.neighbours == 0 || !r.feasible) return {};
  const std::string tried =
      std::to_string(e.neighbours) + " designs that differ in one or two parts by one value";
  std::vector<std::string> words;
  if (e.better_and_kept > 0)
    words.push_back("Of " + tried + ", " + std::to_string(e.better_and_kept) +
                    " are better and keep every limit; among the candidates they count as the same design.");
  if (e.loosenings.empty()) {
    words.push_back("Of " + tried + ", none would be better if a limit were loosened.");
    return words;
  }
  for (const Loosening& l : e.loosenings) {
    std::vector<std::string> give, parts;
    for (const LimitResult& b : l.change.broken) give.push_back(how_much(b));
    for (const PartChange& p : l.change.parts) {
      parts.push_back(change_text(r.design, p));
      if (p.beyond) give.push_back("a range that goes on to " + change_text(r.design, p));
    }
    std::string text =
        all_of(give) + " would buy " + bought_text(l.change, demands) + " (" + all_of(parts) + ").";
    words.push_back(std::move(text));
  }
  return words;
}

}  // namespace antiphase
