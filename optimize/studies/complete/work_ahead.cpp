#include "optimize/studies/complete/work_ahead.h"

#include <algorithm>
#include <chrono>
#include <random>

#include "optimize/engine/lattice/complete.h"
#include "optimize/engine/lattice/levels.h"
#include "results/text/formatted.h"

namespace antiphase {
namespace {

constexpr double kMostCombinations = 1e15;  // beyond, counts are not exact any more

/// Seconds a combination takes on one thread, none left out in blocks: from some drawn all over the lattices.
double seconds_a_point(const DesignProblem& problem) {
  constexpr int kPoints = 3000;
  std::mt19937_64 random(1);
  std::vector<double> x;
  const auto start = std::chrono::steady_clock::now();
  int made = 0;
  for (const engine::Family& family : problem.families()) {
    const engine::StagedJudge staged_judge = family.parts.make_staged_judge();
    x.resize(family.parts.axes.size());
    for (int n = 0; n <= kPoints / static_cast<int>(problem.families().size()); ++n, ++made) {
      for (std::size_t i = 0; i < x.size(); ++i) {
        const std::vector<double>& levels = family.parts.axes[i].levels;
        x[i] = levels[random() % levels.size()];
      }
      staged_judge.judge_staged(x);
    }
  }
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count() / std::max(1, made);
}

std::string in_time(double seconds) {
  if (seconds < 90) return formatted("%.0f seconds", seconds);
  if (seconds < 90 * 60) return formatted("%.0f minutes", seconds / 60);
  if (seconds < 48 * 3600) return formatted("%.0f hours", seconds / 3600);
  return formatted("%.0f days", seconds / 86400);
}

std::string what_to_narrow(const DesignProblem& problem) {
  const engine::Family* largest = nullptr;
  for (const engine::Family& family : problem.families())
    if (!largest || engine::lattice_size(family.parts) > engine::lattice_size(largest->parts))
      largest = &family;
  std::string words = "most come from " + largest->name + ":";
  for (const engine::Axis& axis : largest->parts.axes)
    words += " " + axis.name + " " + std::to_string(axis.levels.size()) +
             (&axis == &largest->parts.axes.back() ? "" : ",");
  return words +
         " values. Narrow the ranges of the variables, take a coarser series (from E24 to E12 halves "
         "each resistor's values), a larger step of the supply, or fewer tubes and forms";
}

}  // namespace

bool few(const DesignProblem& problem) {
  constexpr double kFew = 3e6, kFewOneByOne = 1e5;
  // Of drivers, and of first stages that are more than a triode on a resistor, no bound is proved.
  bool in_blocks = true;
  std::vector<double> x;
  for (std::size_t family = 0; family < problem.families().size(); ++family) {
    x.clear();
    for (const engine::Axis& axis : problem.families()[family].parts.axes) x.push_back(axis.levels.front());
    const Design d = problem.design_at(static_cast<int>(family), x);
    in_blocks = in_blocks && !has_driver(d) && d.first_stage.form == GainForm::triode;
  }
  const double all = engine::combinations(problem.families());
  return all > 0 && all <= (in_blocks ? kFew : kFewOneByOne);
}

std::string too_many(const DesignProblem& problem, int slices, int threads, bool time_limited) {
  const double all = engine::combinations(problem.families());
  if (all / slices <= kManyCombinations) return {};
  if (all <= kMostCombinations && (time_limited || slices > 1)) return {};
  const double seconds = seconds_a_point(problem) * all / threads;
  return formatted("%.3g combinations would take up to %s on %d %s; ", all, in_time(seconds).c_str(), threads,
                   threads == 1 ? "thread" : "threads") +
         what_to_narrow(problem) +
         (all <= kMostCombinations ? ". Or say --time-limit, or --slice to share the work among machines"
                                   : "");
}

}  // namespace antiphase
