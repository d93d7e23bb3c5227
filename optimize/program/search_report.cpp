#include "optimize/program/search_report.h"

#include <algorithm>
#include <map>

#include "configs/read_brief.h"
#include "objectives/judgement.h"
#include "objectives/ranking.h"
#include "optimize/engine/order.h"
#include "optimize/engine/pareto/knee.h"
#include "optimize/engine/pareto/spread_out.h"
#include "results/describe/limit_rows.h"
#include "results/describe/trade_off.h"
#include "stagemodels/evaluate.h"

namespace antiphase {
namespace {

std::vector<Record> make_front(const DesignProblem& problem, std::vector<engine::Point> front) {
  const Demands& demands = problem.demands();
  std::sort(front.begin(), front.end(), [](const engine::Point& a, const engine::Point& b) {
    return std::tie(a.judged.objective, a.family, a.x) < std::tie(b.judged.objective, b.family, b.x);
  });
  std::vector<Record> records;
  for (const engine::Point& p : front)
    records.push_back(make_record(problem, problem.design_at(p.family, p.x), Depth::with_hand));
  if (records.empty()) return records;
  const auto remark = [&](std::size_t at, const std::string& text) {
    std::string& all = records[at].remark;
    all += all.empty() ? text : ", " + text;
  };
  for (std::size_t o = 0; o < demands.objectives.size(); ++o) {
    const auto least = std::min_element(front.begin(), front.end(), [&](const auto& a, const auto& b) {
      return a.judged.objective[o] < b.judged.objective[o];
    });
    remark(static_cast<std::size_t>(least - front.begin()), best_in_words(*demands.objectives[o].figure));
  }
  if (demands.objectives.size() > 1 && front.size() > 2)
    remark(engine::knee(front, static_cast<int>(demands.objectives.size())), "knee");
  // A few that cover the front: as many as fit a screen, the ends and the knee among them.
  constexpr int kChoices = 6;
  const int ends = static_cast<int>(demands.objectives.size()) + 2;
  if (demands.objectives.size() > 1)
    for (const engine::Point& p :
         engine::spread_out(front, static_cast<int>(demands.objectives.size()), std::max(kChoices, ends)))
      for (std::size_t n = 0; n < front.size(); ++n)
        if (front[n].family == p.family && front[n].x == p.x) records[n].choice = true;
  for (Record& r : records)  // the page shows these in full
    if (!r.remark.empty()) evaluate(r.design, Depth::everything, r.evaluation);
  return records;
}

/// The best design of each tube that keeps every limit, best first; empty if there is one tube only.
std::vector<Record> best_of_tubes(const DesignProblem& problem, const engine::SearchOutcome& found) {
  std::map<const Tube*, engine::Point> best;
  for (const engine::Point& p : found.best_by_family) {
    if (p.x.empty() || !p.judged.feasible()) continue;
    const Tube* tube = problem.design_at(p.family, p.x).tube[0];
    const auto [at, fresh] = best.try_emplace(tube, p);
    if (!fresh && engine::better(p, at->second)) at->second = p;
  }
  std::vector<engine::Point> points;
  for (const auto& [_, point] : best) points.push_back(point);
  std::sort(points.begin(), points.end(),
            [](const engine::Point& a, const engine::Point& b) { return engine::better(a, b); });
  std::vector<Record> records;
  if (problem.space().tubes.size() < 2) return records;
  for (const engine::Point& p : points)
    records.push_back(make_record(problem, problem.design_at(p.family, p.x), Depth::with_hand));
  return records;
}

/// What the nearest misses have in common: the limits that most of them break.
std::vector<std::string> what_blocks(const std::vector<Record>& misses) {
  std::vector<std::string> words;
  if (misses.empty()) return words;
  for (const LimitRow& row : limit_rows(misses.front().limits))
    if (!row.kept)
      words.push_back(row.limit + ": " + row.value + " at the nearest miss, allowed is " + row.allowed +
                      (row.remedy.empty() ? "" : ". " + row.remedy));
  if (misses.front().evaluation.at_target.solved != Solved::yes)
    words.push_back("target swing: " + std::string(reason(misses.front().evaluation.at_target.solved)));
  std::map<std::string, std::size_t> broken;
  for (const Record& miss : misses) {
    std::map<std::string, bool> here;
    for (const LimitResult& r : miss.limits)
      if (!r.kept) here[std::string(r.label)] = true;
    for (const auto& [label, _] : here) ++broken[label];
  }
  for (const auto& [label, count] : broken)
    if (count == misses.size() && misses.size() > 1)
      words.push_back(label + ": broken by all " + std::to_string(count) + " nearest misses");
  return words;
}

BuildsRanking make_ranking(const Brief& brief, const DesignProblem& problem, const RobustOutcome& robust) {
  BuildsRanking ranking;
  ranking.request = *brief.builds;
  ranking.seed = brief.seed;
  ranking.designs = robust.designs;
  ranking.builds = robust.builds;
  ranking.compared = static_cast<int>(robust.ranked.size());
  const auto nominal = std::min_element(
      robust.ranked.begin(), robust.ranked.end(),
      [](const RobustDesign& a, const RobustDesign& b) { return a.nominal_rank < b.nominal_rank; });
  ranking.nominal_best_rank = static_cast<int>(nominal - robust.ranked.begin()) + 1;
  ranking.nominal_best =
      make_record(problem, problem.design_at(nominal->point.family, nominal->point.x), Depth::with_hand);
  ranking.nominal_best->builds = BuildsRecord{nominal->nominal_rank, nominal->figures};
  return ranking;
}

}  // namespace

Report make_report(const Brief& brief, const DesignProblem& problem, const engine::SearchOutcome& found,
                   const RobustOutcome* robust) {
  Report report;
  report.title = brief.title;
  report.brief_in_words = brief_in_words(brief);
  report.demands = problem.demands();
  if (brief.builds) report.tolerances = brief.builds->tolerances;
  report.series = {problem.space().resistor_series, problem.space().capacitor_series, {}};
  for (const DesignSpace::OwnSeries& own : problem.space().own_series)
    report.series.own.emplace_back(own.pointer, own.series);

  // Points that keep every limit come first; if there are any, misses are of no interest.
  std::vector<engine::Point> best = found.best;
  const bool met = !best.empty() && best.front().judged.feasible();
  if (met) std::erase_if(best, [](const engine::Point& p) { return !p.judged.feasible(); });
  if (robust) {
    best.clear();
    for (const RobustDesign& r : robust->ranked) best.push_back(r.point);
    report.builds_ranking = make_ranking(brief, problem, *robust);
  }
  for (std::size_t n : distinct(problem, best, static_cast<std::size_t>(brief.candidates))) {
    report.candidates.push_back(make_record(problem, problem.design_at(best[n].family, best[n].x)));
    report.candidates.back().rank = static_cast<int>(report.candidates.size());
    report.candidates.back().explanation = explain(problem, best[n]);
    if (robust)
      report.candidates.back().builds =
          BuildsRecord{robust->ranked[n].nominal_rank, robust->ranked[n].figures};
    if (!met) report.candidates.back().remark = report.candidates.size() == 1 ? "nearest miss" : "near miss";
  }
  // A lead in the nominal score says nothing where builds decide.
  for (std::size_t n = 0; n + 1 < report.candidates.size() && !robust; ++n) {
    Record& r = report.candidates[n];
    const Record& next = report.candidates[n + 1];
    r.rank_in_doubt = rank_in_doubt(r.design, r.bands, next.design, next.bands);
    if (met) r.lead = lead_over(problem.demands(), r.design, r.evaluation, next.design, next.evaluation);
  }
  report.best_of_tubes = best_of_tubes(problem, found);
  report.pareto = make_front(problem, found.front);
  if (!met) report.blocked_by = what_blocks(report.candidates);
  for (const std::string& left_out : problem.left_out()) report.blocked_by.push_back("left out: " + left_out);

  Judgement judged;
  for (const engine::Point& p : found.cloud) {
    judge_fully(problem, problem.design_at(p.family, p.x), Depth::full, judged);
    report.cloud.push_back(all_figures(judged.design, judged.evaluation));
    report.cloud_design.push_back(judged.design);
    report.cloud_family.push_back(problem.families()[static_cast<std::size_t>(p.family)].name);
  }
  for (std::size_t f = 0; f < problem.families().size(); ++f) {
    RunRecord::FamilyCount count;
    count.name = problem.families()[f].name;
    count.evaluations = f < found.evaluations_by_family.size() ? found.evaluations_by_family[f] : 0;
    if (f < found.best_by_family.size() && !found.best_by_family[f].x.empty() &&
        found.best_by_family[f].judged.feasible())
      count.best_score = found.best_by_family[f].judged.cost;
    report.run.families.push_back(count);
  }
  for (const engine::Milestone& m : found.milestones)
    report.run.milestones.push_back({std::string(m.stage), m.evaluations,
                                     m.best_cost < 1e299 ? std::optional(m.best_cost) : std::nullopt,
                                     m.hypervolume});
  report.run.evaluations_ideal = found.evaluations_ideal;
  report.run.evaluations_parts = found.evaluations_parts;
  report.run.evaluations_made = found.evaluations_ideal + found.evaluations_parts;
  return report;
}

}  // namespace antiphase
