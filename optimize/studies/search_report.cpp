#include "optimize/studies/search_report.h"

#include <algorithm>
#include <map>
#include <set>

#include "configs/read_brief.h"
#include "objectives/judgement.h"
#include "objectives/ranking.h"
#include "optimize/engine/order.h"
#include "optimize/engine/pareto/knee.h"
#include "optimize/engine/pareto/spread_out.h"
#include "results/describe/as_given.h"
#include "results/describe/limit_rows.h"
#include "results/describe/trade_off.h"
#include "stagemodels/evaluate.h"

namespace antiphase {
namespace {

/// A remark joins those that the record has.
void remark(Record& record, const std::string& text) {
  record.remark += record.remark.empty() ? text : ", " + text;
}

/// The ends of the front and its knee. `named`: members of the front with the places of their records.
void remark_on(const Demands& demands, const std::vector<engine::Point>& named,
               const std::vector<std::size_t>& places, std::vector<Record>& records) {
  for (std::size_t o = 0; o < demands.objectives.size(); ++o) {
    const auto least = std::min_element(named.begin(), named.end(), [&](const auto& a, const auto& b) {
      return a.judged.objective[o] < b.judged.objective[o];
    });
    remark(records[places[static_cast<std::size_t>(least - named.begin())]],
           best_in_words(*demands.objectives[o].figure));
  }
  if (demands.objectives.size() > 1 && named.size() > 2)
    remark(records[places[engine::knee(named, static_cast<int>(demands.objectives.size()))]], "knee");
}

/// A few that cover the front: as many as fit a screen, the ends and the knee among them.
void mark_choices(int objectives, const std::vector<engine::Point>& named,
                  const std::vector<std::size_t>& places, std::vector<Record>& records) {
  constexpr int kChoices = 6;
  const int ends_and_knee = objectives + 2;
  if (objectives < 2) return;
  for (const engine::Point& p : engine::spread_out(named, objectives, std::max(kChoices, ends_and_knee)))
    for (std::size_t n = 0; n < named.size(); ++n)
      if (named[n].family == p.family && named[n].x == p.x) records[places[n]].choice = true;
}

/// Marks the records that a builder could want; all of them if none is. How many of them are.
std::size_t mark_within_bounds(const Brief& brief, const DesignProblem& problem,
                               std::vector<Record>& records) {
  std::size_t count = 0;
  for (Record& r : records) {
    r.within_bounds = within_bounds(brief.sensible, problem.demands(), problem.given(r.design.circuit),
                                    r.design, r.evaluation);
    count += r.within_bounds ? 1 : 0;
  }
  if (count == 0)
    for (Record& r : records) r.within_bounds = true;
  return count;
}

std::vector<Record> make_front(const DesignProblem& problem, std::vector<engine::Point>& front) {
  std::sort(front.begin(), front.end(), [](const engine::Point& a, const engine::Point& b) {
    return std::tie(a.judged.objective, a.family, a.x) < std::tie(b.judged.objective, b.family, b.x);
  });
  std::vector<Record> records;
  for (const engine::Point& p : front)
    records.push_back(make_record(problem, problem.design_at(p.family, p.x), Depth::with_hand));
  return records;
}

/// The front with its ends, its knee and its choices, which are taken among what a builder could want.
void add_front(const Brief& brief, const DesignProblem& problem, std::vector<engine::Point> front,
               Report& report) {
  std::vector<Record>& records = report.pareto = make_front(problem, front);
  if (records.empty()) return;
  const std::size_t within = mark_within_bounds(brief, problem, records);
  if (within < records.size())
    report.taken_among = taken_among_in_words(brief, "designs of the front", within, records.size());
  std::vector<engine::Point> named;
  std::vector<std::size_t> places;
  for (std::size_t n = 0; n < front.size(); ++n)
    if (records[n].within_bounds) {
      named.push_back(front[n]);
      places.push_back(n);
    }
  remark_on(problem.demands(), named, places, records);
  mark_choices(static_cast<int>(problem.demands().objectives.size()), named, places, records);
  for (Record& r : records)  // the page shows these in full
    if (!r.remark.empty()) evaluate(r.design, Depth::everything, r.evaluation);
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

/// The limits that a design does not keep, in words.
std::vector<std::string> broken_in_words(const Record& r) {
  std::vector<std::string> words;
  for (const LimitRow& row : limit_rows(r.limits))
    if (!row.kept && !row.as_given)
      words.push_back(row.limit + " " + row.value + ", allowed is " + row.allowed);
  if (r.evaluation.at_target.solved != Solved::yes)
    words.push_back("target swing: " + std::string(reason(r.evaluation.at_target.solved)));
  return words;
}

/// The first of its kind among designs that are ranked by builds, or null.
const RobustDesign* first_of(const Compared& kind, const DesignProblem& problem,
                             const RobustOutcome* robust) {
  if (!robust) return nullptr;
  const auto at = std::find_if(robust->ranked.begin(), robust->ranked.end(), [&](const RobustDesign& r) {
    return Compared::of(problem.design_at(r.point.family, r.point.x)) == kind;
  });
  return at == robust->ranked.end() ? nullptr : &*at;
}

/// The best point of the families of a kind; empty x: there is none.
engine::Point best_point_of(const Compared& kind, const DesignProblem& problem,
                            const engine::SearchOutcome& found) {
  engine::Point best;
  for (const engine::Point& p : found.best_by_family)
    if (!p.x.empty() && Compared::of(problem.design_at(p.family, p.x)) == kind &&
        (best.x.empty() || engine::better(p, best)))
      best = p;
  return best;
}

/// What is known of the best of a circuit, to put it among the others.
struct OfCircuit {
  Compared kind;
  engine::Point point;                   // empty x: there is none
  const RobustDesign* builds = nullptr;  // where builds decide
};

/// By builds, where they were looked at; then by the nominal score.
bool comes_before(const OfCircuit& a, const OfCircuit& b) {
  if (a.builds && b.builds) return a.builds < b.builds;  // places in one list, best first
  if (a.builds || b.builds) return a.builds != nullptr;
  if (a.point.x.empty() || b.point.x.empty()) return !a.point.x.empty() && b.point.x.empty();
  return engine::better(a.point, b.point);
}

CircuitBest best_of(const OfCircuit& of, const DesignProblem& problem) {
  CircuitBest best{of.kind, std::nullopt, {}};
  if (of.point.x.empty()) return best;
  best.best = make_record(problem, problem.design_at(of.point.family, of.point.x));
  if (of.builds) best.best->builds = BuildsRecord{of.builds->nominal_rank, of.builds->figures};
  best.best->remark = best.best->feasible ? "best of its circuit" : "nearest miss of its circuit";
  if (!best.best->feasible) best.stands_in_way = broken_in_words(*best.best);
  return best;
}

/// Those that keep every limit first, best first; none where one circuit alone was searched.
std::vector<CircuitBest> best_of_circuits(const DesignProblem& problem, const engine::SearchOutcome& found,
                                          const RobustOutcome* robust) {
  const std::vector<Compared> kinds = compared_in(problem.space());
  if (kinds.size() < 2) return {};
  std::vector<OfCircuit> all;
  for (const Compared& kind : kinds) {
    const RobustDesign* builds = first_of(kind, problem, robust);
    all.push_back({kind, builds ? builds->point : best_point_of(kind, problem, found), builds});
  }
  std::stable_sort(all.begin(), all.end(), comes_before);
  std::vector<CircuitBest> bests;
  for (const OfCircuit& of : all) bests.push_back(best_of(of, problem));
  return bests;
}

/// What the nearest misses have in common: the limits that most of them break.
std::vector<std::string> what_blocks(const std::vector<Record>& misses) {
  std::vector<std::string> words;
  if (misses.empty()) return words;
  for (const LimitRow& row : limit_rows(misses.front().limits))
    if (!row.kept && !row.as_given)
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

/// All lattice points that the search gave back, each once.
std::vector<engine::Point> all_points(const engine::SearchOutcome& found) {
  std::vector<engine::Point> points = found.best;
  for (const auto* more : {&found.front, &found.cloud, &found.best_by_family})
    points.insert(points.end(), more->begin(), more->end());
  std::erase_if(points, [](const engine::Point& p) { return p.x.empty(); });
  std::sort(points.begin(), points.end(),
            [](const engine::Point& a, const engine::Point& b) { return engine::better(a, b); });
  const auto same = [](const engine::Point& a, const engine::Point& b) {
    return a.family == b.family && a.x == b.x;
  };
  points.erase(std::unique(points.begin(), points.end(), same), points.end());
  return points;
}

/// Near misses, those first that come near in every demand. How many are within the bounds of the brief;
/// these come before the others.
std::size_t sort_misses(const Brief& brief, const DesignProblem& problem,
                        std::vector<engine::Point>& misses) {
  std::vector<std::pair<Nearness, engine::Point>> all;
  Judgement judged;
  for (engine::Point& p : misses) {
    judge_fully(problem, problem.design_at(p.family, p.x), Depth::full, judged);
    all.emplace_back(nearness(problem, brief.sensible, judged), std::move(p));
  }
  std::sort(all.begin(), all.end(), [](const auto& a, const auto& b) {
    if (nearer(a.first, b.first)) return true;
    return !nearer(b.first, a.first) && engine::better(a.second, b.second);
  });
  misses.clear();
  for (auto& one : all) misses.push_back(std::move(one.second));
  return static_cast<std::size_t>(
      std::count_if(all.begin(), all.end(), [](const auto& a) { return a.first.within_bounds; }));
}

/// What is to be ranked where some point keeps every limit: by builds if they were looked at, else what the
/// search found. Misses are then of no interest.
std::vector<engine::Point> ranked_points(const engine::SearchOutcome& found, const RobustOutcome* robust) {
  std::vector<engine::Point> points;
  if (robust) {
    for (const RobustDesign& r : robust->ranked) points.push_back(r.point);
    return points;
  }
  points = all_points(found);
  std::erase_if(points, [](const engine::Point& p) { return !p.judged.feasible(); });
  return points;
}

/// What counts as the same design as a candidate, in numbers.
Neighbourhood around(const DesignProblem& problem, const std::vector<engine::Point>& points,
                     const Chosen& chosen) {
  const engine::Point& centre = points[chosen.index];
  Neighbourhood out;
  out.designs = static_cast<int>(chosen.same.size());
  const auto fields = problem.part_fields(centre.family);
  for (std::size_t i = 0; i < fields.size(); ++i) {
    Neighbourhood::Span span{fields[i], centre.x[i], centre.x[i]};
    for (const std::size_t n : chosen.same) {
      span.low = std::min(span.low, points[n].x[i]);
      span.high = std::max(span.high, points[n].x[i]);
    }
    if (span.low < span.high) out.spans.push_back(span);
  }
  const auto take = [&](const engine::Judged& judged) {
    if (!judged.feasible()) return;
    out.score_low = std::min(out.score_low.value_or(judged.cost), judged.cost);
    out.score_high = std::max(out.score_high.value_or(judged.cost), judged.cost);
  };
  take(centre.judged);
  for (const std::size_t n : chosen.same) take(points[n].judged);
  return out;
}

std::vector<Record> make_candidates(const Brief& brief, const DesignProblem& problem,
                                    const std::vector<engine::Point>& points, bool met,
                                    const RobustOutcome* robust) {
  std::vector<Record> candidates;
  for (const Chosen& c : choose_distinct(problem, points, static_cast<std::size_t>(brief.candidates))) {
    const engine::Point& point = points[c.index];
    Record r = make_record(problem, problem.design_at(point.family, point.x));
    r.rank = static_cast<int>(candidates.size()) + 1;
    r.explanation = explain(problem, point);
    r.around = around(problem, points, c);
    if (robust)
      r.builds = BuildsRecord{robust->ranked[c.index].nominal_rank, robust->ranked[c.index].figures};
    if (!met) r.remark = candidates.empty() ? "nearest miss" : "near miss";
    candidates.push_back(std::move(r));
  }
  return candidates;
}

/// The designs that come nearest, of those within the brief's bounds if there are any.
void add_misses(const Brief& brief, const DesignProblem& problem, const engine::SearchOutcome& found,
                Report& report) {
  std::vector<engine::Point> misses = all_points(found);
  const std::size_t all = misses.size(), within = sort_misses(brief, problem, misses);
  if (within > 0) misses.resize(within);
  report.candidates = make_candidates(brief, problem, misses, false, nullptr);
  if (report.candidates.empty()) return;
  report.taken_among = taken_among_in_words(brief, "near misses", within, all);
  report.blocked_by = what_blocks(report.candidates);
}

/// Each beside the next.
void compare_neighbours(const Demands& demands, bool met, std::vector<Record>& candidates) {
  for (std::size_t n = 0; n + 1 < candidates.size(); ++n) {
    Record& r = candidates[n];
    const Record& next = candidates[n + 1];
    r.rank_in_doubt = rank_in_doubt(r.design, r.bands, next.design, next.bands);
    if (met) r.lead = lead_over(demands, r.design, r.evaluation, next.design, next.evaluation);
  }
}

/// The first candidate of each circuit is its best.
void remark_on_circuits(std::vector<Record>& candidates) {
  std::set<CircuitKind> seen;
  for (Record& r : candidates)
    if (seen.insert(r.design.circuit).second) remark(r, "best of its circuit");
}

void add_cloud(const DesignProblem& problem, const std::vector<engine::Point>& cloud, Report& report) {
  Judgement judged;
  for (const engine::Point& p : cloud) {
    judge_fully(problem, problem.design_at(p.family, p.x), Depth::full, judged);
    report.cloud.push_back(all_figures(judged.design, judged.evaluation));
    report.cloud_design.push_back(judged.design);
    report.cloud_family.push_back(problem.families()[static_cast<std::size_t>(p.family)].name);
  }
}

RunRecord::FamilyCount count_of(const DesignProblem& problem, const engine::SearchOutcome& found,
                                std::size_t family) {
  RunRecord::FamilyCount count;
  count.name = problem.families()[family].name;
  count.evaluations = family < found.evaluations_by_family.size() ? found.evaluations_by_family[family] : 0;
  if (family >= found.best_by_family.size()) return count;
  const engine::Point& best = found.best_by_family[family];
  if (!best.x.empty() && best.judged.feasible()) count.best_score = best.judged.cost;
  return count;
}

void count_run(const DesignProblem& problem, const engine::SearchOutcome& found, RunRecord& run) {
  for (std::size_t f = 0; f < problem.families().size(); ++f)
    run.families.push_back(count_of(problem, found, f));
  for (const engine::Milestone& m : found.milestones)
    run.milestones.push_back({std::string(m.stage), m.evaluations, m.best_cost, m.hypervolume});
  run.evaluations_ideal = found.evaluations_ideal;
  run.evaluations_parts = found.evaluations_parts;
  run.evaluations_made = found.evaluations_ideal + found.evaluations_parts;
}

Report begin_report(const Brief& brief, const DesignProblem& problem) {
  Report report;
  report.title = brief.title;
  report.brief_in_words = brief_in_words(brief);
  report.demands = problem.demands();
  report.as_given = as_given_in_words(problem);
  if (brief.builds) report.tolerances = brief.builds->tolerances;
  report.tolerances.known = brief.known_sections;
  report.series = {problem.space().resistor_series, problem.space().capacitor_series, {}};
  for (const DesignSpace::OwnSeries& own : problem.space().own_series)
    report.series.own.emplace_back(own.part, own.series);
  return report;
}

}  // namespace

Report make_report(const Brief& brief, const DesignProblem& problem, const engine::SearchOutcome& found,
                   const RobustOutcome* robust) {
  Report report = begin_report(brief, problem);
  const bool met = !found.best.empty() && found.best.front().judged.feasible();
  if (robust) report.builds_ranking = make_ranking(brief, problem, *robust);
  add_front(brief, problem, found.front, report);
  if (met)
    report.candidates = make_candidates(brief, problem, ranked_points(found, robust), true, robust);
  else
    add_misses(brief, problem, found, report);
  // A lead in the nominal score says nothing where builds decide.
  if (!robust) compare_neighbours(problem.demands(), met, report.candidates);
  report.best_of_tubes = best_of_tubes(problem, found);
  report.best_of_circuits = best_of_circuits(problem, found, robust);
  report.circuits_left_out = brief.circuits_left_out;
  if (met && !robust && report.compares_circuits()) remark_on_circuits(report.candidates);
  for (const std::string& left_out : problem.left_out()) report.blocked_by.push_back("left out: " + left_out);
  add_cloud(problem, found.cloud, report);
  count_run(problem, found, report.run);
  return report;
}

}  // namespace antiphase
