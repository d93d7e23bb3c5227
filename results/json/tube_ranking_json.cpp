#include "results/json/tube_ranking_json.h"

#include <algorithm>

#include "results/json/design_json.h"
#include "results/json/json_writer.h"

namespace antiphase {
namespace {

void write_trial(JsonWriter& json, const TubeTrial& t, const Demands& demands) {
  json.begin_object().key("rank");
  t.met() ? json.value(t.best->rank) : json.null();
  json.member("tube", t.tube->name).member("in_brief", t.in_brief).member("met", t.met());
  std::optional<double> low, high;
  if (t.best && t.best->score) {
    low = high = *t.best->score;
    for (const std::optional<double>& s : t.best->bands.score) {
      low = s && low ? std::optional(std::min(*low, *s)) : std::nullopt;
      high = s && high ? std::optional(std::max(*high, *s)) : std::nullopt;
    }
  }
  json.member("score", t.best ? t.best->score : std::nullopt)
      .member("score_low", low)
      .member("score_high", high);
  json.member("rank_in_doubt", t.best && t.best->rank_in_doubt).key("figures").begin_object(true);
  for (const Objective& o : demands.objectives) {
    const auto at = static_cast<std::size_t>(o.figure - figures().data());
    json.member(o.figure->name, t.best ? t.best->figures[at] : std::nullopt);
  }
  json.end_object();
  for (const auto& [name, texts] :
       {std::pair("stands_in_the_way", &t.stands_in_the_way), std::pair("what_helps", &t.what_helps)}) {
    json.key(name).begin_array();
    for (const std::string& words : *texts) json.value(words);
    json.end_array();
  }
  json.key("design");
  if (t.best)
    write_design(json, t.best->design);
  else
    json.null();
  json.end_object();
}

}  // namespace

std::string tube_ranking_json(const TubeRanking& ranking) {
  JsonWriter json;
  json.begin_object().member("title", ranking.title).member("brief_file", ranking.brief_file);
  json.member("effort", ranking.effort).member("seed", ranking.seed);
  json.member("evaluations", ranking.evaluations).member("complete", ranking.trials.size() == ranking.tubes);
  json.key("tubes").begin_array();
  for (const TubeTrial& t : ranking.trials) write_trial(json, t, ranking.demands);
  json.end_array().end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
