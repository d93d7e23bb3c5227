#include "optimize/studies/spread_of.h"

#include <algorithm>
#include <cmath>

#include "objectives/builds/select_on_test.h"
#include "optimize/engine/run_tasks.h"

namespace antiphase {
namespace {

SpreadReport::Adjusted adjusted(const BuildModel& model, const Demands& demands, const DesignField& part,
                                int builds, std::uint64_t seed, int threads) {
  const engine::SobolPoints points(engine::SobolPoints::kMostDimensions, seed);
  const BalanceRecipe recipe = balance_recipe(model.nominal(), part);
  std::vector<SelectedBuild> all(static_cast<std::size_t>(builds));
  constexpr int kPiece = 50;
  engine::run_tasks((builds + kPiece - 1) / kPiece, threads, [&](int piece) {
    for (int k = piece * kPiece; k < std::min(builds, (piece + 1) * kPiece); ++k)
      all[static_cast<std::size_t>(k)] =
          select_on_test(model, demands, points, static_cast<std::uint32_t>(k), part, recipe);
  });
  SpreadReport::Adjusted a;
  a.label = part.label;
  a.unit = part.unit;
  a.nominal = part.value(model.nominal());
  a.builds = builds;
  a.recipe = recipe;
  a.plates = plates_tell(all);
  std::vector<double> value, before, after, one_step;
  int kept = 0, plain = 0;
  for (const SelectedBuild& b : all) {
    kept += b.kept;
    plain += b.plain_kept;
    if (!b.known) continue;
    value.push_back(b.value);
    before.push_back(std::abs(b.before_pct));
    after.push_back(std::abs(b.after_pct));
    if (b.one_step_pct) one_step.push_back(std::abs(*b.one_step_pct));
    a.not_reached += !b.balanced;
  }
  a.yield = static_cast<double>(kept) / builds;
  a.plain_yield = static_cast<double>(plain) / builds;
  a.yield_95 = engine::wilson_interval(kept, builds, 0.95);
  if (value.empty()) return a;
  for (auto* list : {&value, &before, &after, &one_step}) std::sort(list->begin(), list->end());
  a.low = engine::quantile(value, 0.05);
  a.high = engine::quantile(value, 0.95);
  a.before_balance_pct = engine::quantile(before, 0.95);
  a.after_balance_pct = engine::quantile(after, 0.95);
  if (!one_step.empty()) a.one_step_balance_pct = engine::quantile(one_step, 0.95);
  return a;
}

}  // namespace

SpreadReport spread_of(const Design& design, const Demands& demands, const Tolerances& tolerances,
                       const SpreadAsk& ask) {
  const BuildModel model(design, tolerances);
  BuildSampler sampler(model, demands, ask.builds, ask.seed);
  engine::run_tasks(sampler.pieces(), ask.threads, [&](int piece) { sampler.work(piece); });
  const BuildSample sample = sampler.finish();

  SpreadReport report;
  report.design = design;
  report.tolerances = tolerances;
  report.varied.assign(model.varied().begin(), model.varied().end());
  report.seed = ask.seed;
  evaluate(design, std::max(Depth::full, needed_depth(demands)), report.nominal);
  report.summary = spread_summary(model, sample);
  report.summary.rows.resize(sample.column.size());
  engine::run_tasks(static_cast<int>(sample.column.size()), ask.threads, [&](int column) {
    const auto n = static_cast<std::size_t>(column);
    report.summary.rows[n] = spread_row(model, sample, n, report.nominal);
  });
  report.corners = corners(model, demands);
  for (const Defect& defect : defects_of(design)) {
    report.broken.push_back({defect, {}});
    if (!defect.seen_in_ac_only) report.broken.back().point = solve_defect(design, defect);
    if (defect.seen_in_ac_only || defect.none()) report.broken.back().gain = gain_with_defect(design, defect);
  }
  if (ask.select)
    for (const DesignField* part : parts_to_select(design))
      report.adjusted.push_back(
          adjusted(model, demands, *part, std::min(ask.builds, ask.most_selected), ask.seed, ask.threads));
  return report;
}

}  // namespace antiphase
