#include "results/make_record.h"

#include <utility>

#include "objectives/judgement.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {

std::vector<std::optional<double>> all_figures(const Design& design, const Evaluation& evaluation) {
  std::vector<std::optional<double>> values;
  for (const Figure& figure : figures()) values.push_back(figure.measure(design, evaluation));
  return values;
}

namespace {

Record record_of(Judgement&& judged, const Demands& demands, Depth depth) {
  Record record;
  record.design = judged.design;
  record.evaluation = std::move(judged.evaluation);
  record.limits = std::move(judged.limits);
  record.figures = all_figures(record.design, record.evaluation);
  record.score = judged.score;
  record.feasible = judged.feasible;
  if (const engine::TwoPart* two =
          plate_resistors(record.design.circuit) == 2 ? made_of(demands.parts, record.design.plate_ohm[1]) : nullptr)
    record.plate_2_of = *two;
  if (depth == Depth::everything) record.bands = law_bands(record.design, demands);
  return record;
}

}  // namespace

Record make_record(const Design& design, const Demands& demands, Depth depth) {
  Judgement judged;
  judge_as_drawn(demands, design, depth, judged);
  return record_of(std::move(judged), demands, depth);
}

Record make_record(const DesignProblem& problem, const Design& design, Depth depth) {
  return record_of(judge_fully(problem, design, depth), problem.demands(), depth);
}

}  // namespace antiphase
