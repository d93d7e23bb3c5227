#include "objectives/ranking.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "optimize/engine/lattice/levels.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr double kResistor = 1.15, kSupplyOrSink = 1.2;  // ratios from which two values are different ones
constexpr double kFigureShare = 0.5;                     // of a figure's unit in the score
constexpr double kRounding = 1e-9;

bool apart(double a, double b, double ratio) {
  return a > 0 && b > 0 && std::fabs(std::log(a / b)) >= std::log(ratio) - kRounding;
}

bool parts_differ(const DesignProblem& problem, const engine::Point& a, const engine::Point& b) {
  const engine::Problem& lattice = problem.families()[static_cast<std::size_t>(a.family)].parts;
  const auto fields = problem.part_fields(a.family);
  const engine::Levels at_a = engine::nearest_levels(lattice, a.x),
                       at_b = engine::nearest_levels(lattice, b.x);
  for (std::size_t i = 0; i < fields.size(); ++i) {
    if (fields[i]->role == FieldRole::resistor) {
      if (std::abs(at_a[i] - at_b[i]) > 1 && apart(a.x[i], b.x[i], kResistor)) return true;
    } else if (fields[i] == &member::supply_v || fields[i] == &member::tail_current_a) {
      if (apart(a.x[i], b.x[i], kSupplyOrSink)) return true;
    }
  }
  return false;
}

bool figures_differ(const DesignProblem& problem, const engine::Judged& a, const engine::Judged& b) {
  const std::vector<Objective>& objectives = problem.demands().objectives;
  for (std::size_t i = 0; i < objectives.size(); ++i)
    if (std::fabs(a.objective[i] - b.objective[i]) >= kFigureShare * objectives[i].figure->scale) return true;
  return false;
}

/// Ten steps a decade.
double step_of(double excess) {
  constexpr double kLeast = 1e-6;
  return std::ceil(10 * std::log10(std::max(excess, kLeast)));
}

}  // namespace

bool distinct(const DesignProblem& problem, const engine::Point& a, const engine::Point& b) {
  return a.family != b.family || parts_differ(problem, a, b) || figures_differ(problem, a.judged, b.judged);
}

std::vector<Chosen> choose_distinct(const DesignProblem& problem, const std::vector<engine::Point>& points,
                                    std::size_t count) {
  std::vector<Chosen> chosen;
  for (std::size_t n = 0; n < points.size(); ++n) {
    const auto same = std::find_if(chosen.begin(), chosen.end(), [&](const Chosen& c) {
      return !distinct(problem, points[n], points[c.index]);
    });
    if (same != chosen.end())
      same->same.push_back(n);
    else if (chosen.size() < count)
      chosen.push_back({n, {}});
  }
  return chosen;
}

Nearness nearness(const DesignProblem& problem, const SensibleBounds& bounds, const Judgement& judged) {
  Nearness near;
  near.within_bounds = within_bounds(bounds, problem.demands(), problem.given(judged.design.circuit),
                                     judged.design, judged.evaluation);
  const auto count = [&](double excess) {
    near.worst = std::max(near.worst, excess);
    near.sum += excess;
    ++near.broken;
  };
  for (const LimitResult& r : judged.limits)
    if (!r.kept) count(excess(r));
  if (judged.evaluation.at_target.solved != Solved::yes) {
    const CleanSwing& clean = judged.evaluation.clean;
    const double reach = clean.solved == Solved::yes ? clean.swing_peak_v : 0;
    count(1 + std::max(0.0, 1 - reach / judged.design.swing_peak_v));
  }
  return near;
}

bool nearer(const Nearness& a, const Nearness& b) {
  const auto key = [](const Nearness& n) {
    return std::tuple(!n.within_bounds, step_of(n.worst), n.broken, n.worst, n.sum);
  };
  return key(a) < key(b);
}

}  // namespace antiphase
