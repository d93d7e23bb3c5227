#include "results/json/explain_json.h"

#include <string>

#include "results/describe/circuits_compared.h"
#include "results/describe/conflict.h"
#include "results/describe/trade_off.h"
#include "results/json/design_json.h"

namespace antiphase {
namespace {

void write_limit(JsonWriter& json, const LimitResult& r) {
  json.begin_object(true).member("name", r.name);
  if (r.section > 0) json.member("section", r.section);
  if (r.known)
    json.member("value", r.value);
  else
    json.null_member("value");
  json.member("limit", r.limit).member("at_least", r.at_least);
  if (r.known)
    json.member("margin_pct", r.margin_pct);
  else
    json.null_member("margin_pct");
  json.end_object();
}

void write_limits(JsonWriter& json, std::string_view name, const std::vector<LimitResult>& limits) {
  json.key(name).begin_array();
  for (const LimitResult& r : limits) write_limit(json, r);
  json.end_array();
}

/// Numbers of the objectives, under their figures' names.
void write_by_figure(JsonWriter& json, std::string_view name,
                     const std::vector<std::optional<double>>& values, const Demands& demands) {
  json.key(name).begin_object(true);
  for (std::size_t i = 0; i < values.size() && i < demands.objectives.size(); ++i)
    json.member(demands.objectives[i].figure->name, values[i]);
  json.end_object();
}

void write_change(JsonWriter& json, const Change& c, const Demands& demands) {
  json.key("parts").begin_array();
  for (const PartChange& p : c.parts)
    json.begin_object(true)
        .member("part", p.field->pointer)
        .member("value", p.value)
        .member("beyond_the_brief", p.beyond)
        .end_object();
  json.end_array().member("score", c.score);
  write_by_figure(json, "figures", c.figures, demands);
  write_by_figure(json, "score_bought", c.bought, demands);
  json.member("reaches_target", c.target == Solved::yes);
  write_limits(json, "breaks", c.broken);
}

void write_lead(JsonWriter& json, std::string_view name, const Lead& lead, const Demands& demands) {
  json.key(name).begin_object().member("score", lead.total);
  write_by_figure(json, "of_it", lead.figures, demands);
  json.end_object();
}

void write_figures(JsonWriter& json, const Record& r) {
  json.key("figures").begin_object(true);
  for (std::size_t i = 0; i < r.figures.size() && i < figures().size(); ++i)
    json.member(figures()[i].name, r.figures[i]);
  json.end_object();
}

void write_conflict(JsonWriter& json, const Conflict& conflict) {
  json.key("conflict").begin_object().key("demands").begin_array();
  for (const Conflict::Side& side : conflict.sides) {
    json.begin_object().member("demand", side.demand).member("reached", side.reached);
    json.member("shortfall", side.shortfall);
    if (side.nearest) {
      write_figures(json, *side.nearest);
      json.key("design");
      write_design(json, side.nearest->design);
    }
    json.end_object();
  }
  json.end_array().member("note", conflict.note).member("searches", conflict.searches);
  json.member("evaluations", conflict.evaluations).end_object();
}

void write_around(JsonWriter& json, const Record& r) {
  json.key("counts_as_this_one").begin_object().member("designs", r.around.designs);
  json.member("score_low", r.around.score_low).member("score_high", r.around.score_high);
  json.key("parts").begin_array();
  for (const Neighbourhood::Span& s : r.around.spans)
    json.begin_object(true)
        .member("part", s.field->pointer)
        .member("low", s.low)
        .member("high", s.high)
        .end_object();
  json.end_array().end_object();
}

void write_words(JsonWriter& json, std::string_view name, const std::vector<std::string>& words) {
  json.key(name).begin_array();
  for (const std::string& text : words) json.value(text);
  json.end_array();
}

void write_circuits(JsonWriter& json, const Report& report) {
  const CircuitBest& first = report.best_of_circuits.front();
  json.key("best_of_circuits").begin_array();
  for (const CircuitBest& own : report.best_of_circuits) {
    json.begin_object().member("circuit", name_of(own.of.circuit));
    if (has_first_stage(own.of.circuit)) json.member("first_stage", name_of(own.of.gain));
    if (own.of.driver != DriverForm::none) json.member("driver", name_of(own.of.driver));
    json.member("feasible", own.best && own.best->feasible);
    write_words(json, "stands_in_the_way", own.stands_in_way);
    if (own.best) {
      json.member("score", own.best->score).member("tubes_in_words", sections_in_words(own.best->design));
      if (&own != &first && own.best->feasible) {
        const GivesAndCosts d = gives_and_costs(report.demands, *own.best, *first.best);
        write_words(json, "gives_against_the_first", d.gives);
        write_words(json, "costs_against_the_first", d.costs);
      }
      write_figures(json, *own.best);
      json.key("design");
      write_design(json, own.best->design);
    }
    json.end_object();
  }
  json.end_array();
}

}  // namespace

void write_explanation(JsonWriter& json, const Record& r, const Demands& demands) {
  const Explanation& e = r.explanation;
  if (e.neighbours == 0) return;
  json.key("explanation").begin_object().member("binds_below_pct", kBinding_pct);
  write_limits(json, "binding", e.binding);
  json.key("steps").begin_array();
  for (const PartSteps& part : e.steps)
    for (const auto& step : part.step) {
      if (!step) continue;
      json.begin_object().member("part", part.field->pointer).member("from", part.value);
      write_change(json, *step, demands);
      json.end_object();
    }
  json.end_array();
  if (r.lead.total) write_lead(json, "lead_over_next", r.lead, demands);
  json.key("what_would_have_to_give").begin_array();
  for (const Loosening& l : e.loosenings) {
    json.begin_object().member("loosen_pct", l.loosen_pct);
    write_change(json, l.change, demands);
    json.end_object();
  }
  json.end_array().member("neighbours", e.neighbours);
  json.member("better_neighbours_that_keep_every_limit", e.better_and_kept);
  write_around(json, r);
  json.end_object();
}

void write_answers(JsonWriter& json, const Report& report) {
  if (report.conflict) write_conflict(json, *report.conflict);
  const std::vector<TradeOffPoint> few = choices(report);
  if (few.size() > 1) {
    json.key("choices").begin_array();
    for (const TradeOffPoint& p : few) {
      json.begin_object().member("name", p.name);
      write_figures(json, *p.record);
      json.key("design");
      write_design(json, p.record->design);
      json.end_object();
    }
    json.end_array().key("steps_along_the_front").begin_array();
    for (const std::string& step : trade_off_steps(report)) json.value(step);
    json.end_array();
  }
  if (!report.best_of_tubes.empty()) {
    json.key("best_of_tubes").begin_array();
    for (const Record& r : report.best_of_tubes) {
      json.begin_object().member("tube", r.design.tube[0]->name).member("score", r.score);
      write_figures(json, r);
      json.key("design");
      write_design(json, r.design);
      json.end_object();
    }
    json.end_array();
  }
  if (report.compares_circuits()) write_circuits(json, report);
  if (!report.circuits_left_out.empty()) {
    json.key("circuits_left_out").begin_array();
    for (const std::string& words : report.circuits_left_out) json.value(words);
    json.end_array();
  }
  if (report.against) {
    const Against& a = *report.against;
    json.key("against").begin_object().member("file", a.file).member("title", a.title);
    json.member("score", a.other.score).member("feasible", a.other.feasible);
    write_figures(json, a.other);
    json.key("design");
    write_design(json, a.other.design);
    write_lead(json, "lead_over_it", a.lead, report.demands);
    json.end_object();
  }
}

}  // namespace antiphase
