#include "results/writers/candidates_json.h"

#include "results/describe/safety.h"
#include "results/json/design_json.h"
#include "results/json/evaluation_json.h"
#include "results/json/explain_json.h"
#include "results/json/json_writer.h"
#include "results/json/spread_json.h"

namespace antiphase {
namespace {

void write_texts(JsonWriter& json, std::string_view name, const std::vector<std::string>& texts) {
  json.key(name).begin_array();
  for (const std::string& text : texts) json.value(text);
  json.end_array();
}

void write_figures(JsonWriter& json, const Record& r) {
  json.key("figures").begin_object(true);
  for (std::size_t i = 0; i < r.figures.size() && i < figures().size(); ++i)
    json.member(figures()[i].name, r.figures[i]);
  json.end_object();
}

void write_builds(JsonWriter& json, const BuildsRecord& b) {
  const RobustFigures& f = b.figures;
  json.key("builds").begin_object(true).member("nominal_rank", b.nominal_rank);
  json.member("builds", f.builds).member("kept", f.kept).member("yield", f.yield);
  json.member("yield_low_95", f.yield_95.low).member("yield_high_95", f.yield_95.high);
  json.member("score_at_percentile", f.score).end_object();
}

void write_ranking(JsonWriter& json, const BuildsRanking& r) {
  json.key("builds_ranking").begin_object();
  json.member("rank_by", r.request.rank_by == RankBy::yield ? "yield" : "percentile");
  json.member("percentile", 100 * r.request.percentile).member("builds_each", r.request.builds);
  json.member("seed", r.seed).member("designs", r.designs).member("builds", r.builds);
  json.member("compared", r.compared);
  if (r.nominal_best) {
    json.key("nominal_best").begin_object().member("rank", r.nominal_best_rank);
    json.member("score", r.nominal_best->score);
    write_builds(json, *r.nominal_best->builds);
    json.key("design");
    write_design(json, r.nominal_best->design);
    json.end_object();
  }
  json.end_object();
}

void write_candidate(JsonWriter& json, const Record& r, const Report& report) {
  const Demands& demands = report.demands;
  json.begin_object().member("rank", r.rank).member("score", r.score).member("feasible", r.feasible);
  json.member("remark", r.remark);
  if (r.builds) write_builds(json, *r.builds);
  if (report.every_spread && r.spread) {
    json.key("spread").begin_object();
    write_spread_members(json, *r.spread);
    json.end_object();
  }
  write_figures(json, r);
  json.key("design");
  write_design(json, r.design);
  json.key("evaluation");
  write_evaluation(json, r, demands.factors);
  write_explanation(json, r, demands);
  json.end_object();
}

void write_front_member(JsonWriter& json, const Record& r) {
  json.begin_object().member("score", r.score).member("remark", r.remark);
  json.member("within_bounds", r.within_bounds);
  write_figures(json, r);
  json.key("design");
  write_design(json, r.design);
  json.end_object();
}

void write_every_combination(JsonWriter& json, const RunRecord::EveryCombination& every) {
  json.key("every_combination").begin_object();
  json.member("asked", every.asked);
  json.member("slice", every.slice).member("slices", every.slices);
  json.member("combinations", every.combinations).member("covered", every.covered);
  json.member("left_out_in_blocks", every.left_out_in_blocks).key("turned_away").begin_object(true);
  for (const auto& [stage, count] : every.turned_away) json.member(stage, count);
  json.end_object().member("judged_whole", every.judged_whole);
  json.member("keep_every_limit", every.keep_every_limit);
  json.member("front", every.front).member("front_whole", every.front_whole);
  if (every.search_had_the_best) json.member("search_had_the_best", *every.search_had_the_best);
  json.end_object();
}

void write_run(JsonWriter& json, const RunRecord& run) {
  json.key("run").begin_object();
  json.member("brief_file", run.brief_file).member("brief_digest", run.brief_digest);
  json.member("seed", run.seed).member("effort", run.effort);
  json.key("versions").begin_object();
  for (const auto& [name, version] : run.versions) json.member(name, version);
  json.end_object();
  json.member("evaluations_asked", run.evaluations_asked).member("evaluations_made", run.evaluations_made);
  json.member("evaluations_ideal", run.evaluations_ideal).member("evaluations_parts", run.evaluations_parts);
  json.key("families").begin_array();
  for (const auto& family : run.families)
    json.begin_object(true)
        .member("name", family.name)
        .member("evaluations", family.evaluations)
        .member("best_score", family.best_score)
        .end_object();
  json.end_array();
  json.key("milestones").begin_array();
  for (const auto& m : run.milestones)
    json.begin_object(true)
        .member("stage", m.stage)
        .member("evaluations", m.evaluations)
        .member("best_score", m.best_score)
        .member("hypervolume", m.hypervolume)
        .end_object();
  json.end_array();
  if (run.every_combination) write_every_combination(json, *run.every_combination);
  if (!run.continued_from.empty()) json.member("continued_from", run.continued_from);
  json.member("why_stopped", run.why_stopped).member("complete", run.finished);
  json.key("times")
      .begin_object()
      .member("total_s", run.times.total_s)
      .member("search_s", run.times.search_s);
  json.member("threads", run.times.threads).member("started", run.times.started).end_object();
  json.end_object();
}

}  // namespace

std::string candidates_json(const Report& report) {
  JsonWriter json;
  json.begin_object().member("title", report.title).member("safety", kSafetyLine);
  write_texts(json, "brief", report.brief_in_words);
  json.key("candidates").begin_array();
  for (const Record& r : report.candidates) write_candidate(json, r, report);
  json.end_array();
  json.key("pareto").begin_array();
  for (const Record& r : report.pareto) write_front_member(json, r);
  json.end_array();
  if (report.builds_ranking) write_ranking(json, *report.builds_ranking);
  write_texts(json, "blocked_by", report.blocked_by);
  write_texts(json, "outside_as_given", report.as_given);
  json.member("taken_among", report.taken_among);
  write_answers(json, report);
  write_run(json, report.run);
  json.end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
