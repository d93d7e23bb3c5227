/// The one door to what a design is worth: whatever shows figures, a score or limits of a design asks here,
/// so that a neighbour, a member of the front, a near miss and a single evaluation cannot tell different
/// things.
#pragma once

#include <optional>
#include <vector>

#include "objectives/design_problem.h"

namespace antiphase {

struct Judgement {
  Design design;  ///< the one that was solved, with what was chosen for it
  Evaluation evaluation;
  /// Of the objectives, in order: the figure, and its part of the score. Empty: the design has no such
  /// figure, or no finite one.
  std::vector<std::optional<double>> figures, terms;
  std::optional<double> score;      ///< the sum of `terms`; empty if one is missing
  std::vector<LimitResult> limits;  ///< every tube, part and brief limit
  bool feasible = false;            ///< solved at the target, and every limit kept
};

/// A design as it is. It is solved as far as every objective and limit of `demands` needs, and at least to
/// `least`. Cost: that of evaluate(). Allocates; `out` may be used again, which saves most of it.
void judge_as_drawn(const Demands& demands, const Design& design, Depth least, Judgement& out);

/// A design of the problem's space: the feedback resistor and the capacitors that are not given are chosen as
/// for the record of a search; then as drawn, with all demands of the problem.
/// Cost: behind a low frequency, one rest point and 50–150 networks more.
void judge_fully(const DesignProblem& problem, const Design& design, Depth least, Judgement& out);
Judgement judge_fully(const DesignProblem& problem, const Design& design, Depth least = Depth::at_target);

/// What an objective adds to the score; empty without a finite figure.
std::optional<double> score_term(const Objective&, const Design&, const Evaluation&);

/// How the lead of one design over the next splits over the figures of the score.
struct Lead {
  std::optional<double> total;                 ///< next's score minus the own; empty if one has none
  std::vector<std::optional<double>> figures;  ///< of each objective, in order; their sum is `total`
};
/// Both solved as far as the demands need.
Lead lead_over(const Demands& demands, const Design& own, const Evaluation& own_figures, const Design& next,
               const Evaluation& next_figures);

/// a - b, where there are both.
std::optional<double> difference(const std::optional<double>& a, const std::optional<double>& b);

}  // namespace antiphase
