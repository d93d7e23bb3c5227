#include "results/describe/conflict.h"

#include <algorithm>
#include <cmath>

#include "objectives/limits/catalogue.h"
#include "results/describe/section_names.h"
#include "results/describe/values.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string asked_of(const FigureLimit& l) {
  const std::string_view unit = l.figure->unit;
  std::string subject(l.figure->label);
  if (l.figure->direction == Direction::nearer_zero) subject = "size of " + subject;
  if (!l.one_of.empty()) {
    if (l.one_of.size() == 1) return subject + " near " + engineering_text(l.one_of.front(), unit);
    return subject + " near one of " + std::to_string(l.one_of.size()) + " values from " +
           engineering_text(l.one_of.front(), unit) + " to " + engineering_text(l.one_of.back(), unit);
  }
  if (l.at_least && l.at_most)
    return subject + " from " + engineering_text(*l.at_least, unit) + " to " +
           engineering_text(*l.at_most, unit);
  return l.at_most ? subject + " at most " + engineering_text(*l.at_most, unit)
                   : subject + " at least " + engineering_text(*l.at_least, unit);
}

std::string demand_in_words(const Demands& demands, std::string_view row) {
  std::string text;
  for (const FigureLimit& l : demands.limits)
    if (l.figure->name == row) text += (text.empty() ? "" : " and ") + asked_of(l);
  if (!text.empty()) return text;
  if (const Limit* limit = find_limit(row)) return "limit on " + std::string(limit->label);
  return "parts on hand";
}

}  // namespace

Conflict::Side conflict_side(const Demands& demands, std::string_view row, bool is_swing, double target_v,
                             std::optional<Record> nearest, bool keeps_all_others) {
  Conflict::Side side;
  side.demand = is_swing ? "target swing of " + engineering_text(target_v, "V") + " peak"
                         : demand_in_words(demands, row);
  if (!nearest) {
    side.reached = "no design that keeps the others was found";
    return side;
  }
  if (is_swing) {
    const double v = nearest->design.swing_peak_v;
    side.reached = engineering_text(v, "V") + " peak";
    side.shortfall = engineering_text(target_v - v, "V") + " (" +
                     engineering_text(100 * (1 - v / target_v), "%", 2) + ") too little";
  } else {
    const LimitResult* worst = nullptr;
    for (const LimitResult& r : nearest->limits)
      if (!r.kept && r.name == row && (!worst || excess(r) > excess(*worst))) worst = &r;
    if (!worst || !worst->known) {
      side.reached = worst ? "no such figure" : "kept by a hair";
    } else {
      side.reached = engineering_text(worst->value, worst->unit) + " where " +
                     engineering_text(worst->limit, worst->unit) +
                     (worst->at_least ? " or more is asked" : " or less is allowed");
      if (const std::string which = short_section(worst->section); which == "first")
        side.reached += " (first stage)";
      else if (!which.empty())
        side.reached += of_another_stage(worst->section) ? " (" + which + ")" : " (section " + which + ")";
      side.shortfall = engineering_text(std::fabs(worst->value - worst->limit), worst->unit);
      if (worst->limit != 0) side.shortfall += " (" + engineering_text(100 * excess(*worst), "%", 2) + ")";
      side.shortfall += worst->at_least ? " too little" : " too much";
    }
  }
  if (!keeps_all_others) side.reached += ", other limits outside this conflict left out too";
  side.nearest = std::move(nearest);
  return side;
}

std::string side_in_words(const Conflict::Side& side) {
  std::string text = "Without the " + side.demand + ", the others leave " + side.reached;
  if (!side.nearest) return "Without the " + side.demand + ": " + side.reached + ".";
  if (!side.shortfall.empty()) text += ": " + side.shortfall;
  return text + ". " + design_in_words(*side.nearest) + ".";
}

std::vector<std::string> conflict_in_words(const Conflict& conflict) {
  std::vector<std::string> words;
  if (conflict.sides.empty()) {
    if (!conflict.note.empty()) words.push_back(conflict.note);
    return words;
  }
  if (conflict.sides.size() == 1) {
    words.push_back("One demand alone is what cannot be met, as far as short searches tell: " +
                    conflict.sides.front().demand + ".");
  } else {
    std::vector<std::string> demands;
    for (const Conflict::Side& side : conflict.sides) demands.push_back(side.demand);
    words.push_back(
        "These demands conflict as far as short searches tell, and no smaller set of them does: " +
        all_of(demands) + ".");
  }
  for (const Conflict::Side& side : conflict.sides) words.push_back(side_in_words(side));
  words.push_back(conflict.note);
  return words;
}

}  // namespace antiphase
