#include "results/describe/level_table.h"

#include <algorithm>
#include <cmath>
#include <span>

#include "results/describe/missing_reason.h"
#include "results/describe/values.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr double kTold_db = 6;

std::string level_text(double db) {
  const double tenths = std::round(db * 10) / 10;
  return (tenths > 0 ? "+" : "") + fixed_text(tenths, 1);
}

}  // namespace

std::vector<const LevelPoint*> points_to_tell(const LevelCurve& curve) {
  std::vector<const LevelPoint*> told;
  const std::span points(curve.point.data(), static_cast<std::size_t>(std::max(0, curve.count)));
  if (points.empty()) return told;
  for (double request = LevelCurve::kLowest_db; request <= points.back().level_db + kTold_db;
       request += kTold_db) {
    const auto far = [&](const LevelPoint& p) { return std::abs(p.level_db - request); };
    const LevelPoint& nearest = *std::min_element(
        points.begin(), points.end(), [&](const auto& a, const auto& b) { return far(a) < far(b); });
    if (far(nearest) <= LevelCurve::kStep_db && (told.empty() || told.back() != &nearest))
      told.push_back(&nearest);
  }
  if (told.empty() || told.back() != &points.back()) told.push_back(&points.back());
  return told;
}

ValueTable level_table(const Record& r) {
  const LevelCurve& curve = r.evaluation.level_curve;
  if (!asked(curve.solved, r.evaluation)) return {};
  ValueTable table;
  table.caption = "Distortion in % against level; 0 dB is the target";
  if (curve.solved != Solved::yes || curve.count == 0) {
    table.notes = {missing_sentence("No distortion against level", curve.solved, r.evaluation)};
    return table;
  }
  const bool pair = outputs(r.design.circuit) == 2;
  table.columns =
      pair ? std::vector<std::string>{"level, dB", "drive, V peak", "output 1", "output 2", "difference"}
           : std::vector<std::string>{"level, dB", "drive, V peak", "output"};
  table.number_labels = true;
  for (const LevelPoint* p : points_to_tell(curve)) {
    table.rows.push_back({level_text(p->level_db), significant_text(p->input_peak_v, 3, 5)});
    for (std::size_t i = 0; i < (pair ? 2 : 1); ++i) table.rows.back().push_back(percent_text(p->thd_pct[i]));
    if (pair) table.rows.back().push_back(percent_text(p->thd_differential_pct));
  }
  const LevelPoint& last = curve.point[static_cast<std::size_t>(curve.count - 1)];
  const double worse = std::max(last.thd_pct[0], last.thd_pct[pair ? 1 : 0]);
  if (worse < LevelCurve::kClipped_pct && curve.count < LevelCurve::kMostPoints)
    table.notes = {"The curve ends before the stage clips: " + std::string(reason(Solved::no_convergence)) +
                   " at higher levels."};
  return table;
}

}  // namespace antiphase
