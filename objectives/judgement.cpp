#include "objectives/judgement.h"

#include <algorithm>
#include <cmath>

namespace antiphase {
namespace {

std::optional<double> finite(const std::optional<double>& v) {
  return v && std::isfinite(*v) ? v : std::nullopt;
}

}  // namespace

std::optional<double> difference(const std::optional<double>& a, const std::optional<double>& b) {
  return a && b ? std::optional(*a - *b) : std::nullopt;
}

std::optional<double> score_term(const Objective& o, const Design& design, const Evaluation& evaluation) {
  const std::optional<double> figure = finite(o.figure->measure(design, evaluation));
  return figure ? std::optional(o.weight * as_cost(*o.figure, *figure) / o.scale) : std::nullopt;
}

void judge_as_drawn(const Demands& demands, const Design& design, Depth least, Judgement& out) {
  out.design = design;
  // Whether the target is reached decides too.
  evaluate(out.design, std::max({least, Depth::at_target, needed_depth(demands)}), out.evaluation);
  out.figures.clear();
  out.terms.clear();
  for (const Objective& o : demands.objectives) {
    out.figures.push_back(finite(o.figure->measure(out.design, out.evaluation)));
    out.terms.push_back(score_term(o, out.design, out.evaluation));
  }
  out.score = finite(score(demands, out.design, out.evaluation));
  out.limits = check_demands(demands, out.design, out.evaluation);
  out.feasible =
      out.evaluation.at_target.solved == Solved::yes &&
      std::all_of(out.limits.begin(), out.limits.end(), [](const LimitResult& r) { return r.kept; });
}

void judge_fully(const DesignProblem& problem, const Design& design, Depth least, Judgement& out) {
  judge_as_drawn(problem.demands(), problem.with_capacitors(design), least, out);
}

Judgement judge_fully(const DesignProblem& problem, const Design& design, Depth least) {
  Judgement out;
  judge_fully(problem, design, least, out);
  return out;
}

Lead lead_over(const Demands& demands, const Design& own, const Evaluation& own_figures, const Design& next,
               const Evaluation& next_figures) {
  Lead lead;
  lead.total =
      difference(finite(score(demands, next, next_figures)), finite(score(demands, own, own_figures)));
  for (const Objective& o : demands.objectives)
    lead.figures.push_back(difference(score_term(o, next, next_figures), score_term(o, own, own_figures)));
  return lead;
}

}  // namespace antiphase
