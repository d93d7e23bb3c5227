#include "results/make_record.h"

#include <algorithm>

namespace antiphase {

std::vector<std::optional<double>> all_figures(const Design& design, const Evaluation& evaluation) {
  std::vector<std::optional<double>> values;
  for (const Figure& figure : figures()) values.push_back(figure.measure(design, evaluation));
  return values;
}

Record make_record(const Design& design, const Demands& demands, Depth depth) {
  Record record;
  record.design = design;
  evaluate(design, depth, record.evaluation);
  record.limits = check_demands(demands, design, record.evaluation);
  record.figures = all_figures(design, record.evaluation);
  record.score = score(demands, design, record.evaluation);
  if (const engine::TwoPart* two =
          sections(design.circuit) == 2 ? made_of(demands.parts, design.plate_ohm[1]) : nullptr)
    record.plate_2_of = *two;
  if (depth == Depth::everything) record.bands = law_bands(design, demands);
  record.feasible =
      record.evaluation.at_target.solved == Solved::yes &&
      std::all_of(record.limits.begin(), record.limits.end(), [](const auto& l) { return l.kept; });
  return record;
}

}  // namespace antiphase
