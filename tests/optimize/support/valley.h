/// Seeded problems with the traits that make lattices of preferred values hard: one basin, but a narrow
/// curved valley with a sharp bottom that no single unknown can follow alone, and limits beside it.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "optimize/engine/lattice/levels.h"
#include "optimize/engine/problem.h"
#include "optimize/engine/random_numbers.h"
#include "optimize/engine/snapping/preferred_values.h"

namespace antiphase::engine::testing {

/// x: five positive numbers about kCentre. Three objectives; the cost is their weighted sum.
class Valley {
 public:
  static constexpr double kCentre[5] = {350, 68e3, 82e3, 27e3, 2e3};

  explicit Valley(std::uint64_t seed) {
    RandomNumbers random(seed);
    flow_ = 0.4 * random.unit() - 0.2;
    ratio_ = 0.1 + 0.15 * random.unit();
    bend_ = 0.05 + 0.1 * random.unit();
    lift_ = 0.4 * random.unit() - 0.2;
    limit_ = 0.85 + 0.3 * random.unit();
    for (double& w : weight_) w = 0.5 + random.unit();
  }

  Judged operator()(std::span<const double> x) const {
    double z[5];
    for (int i = 0; i < 5; ++i) z[i] = std::log(x[i] / kCentre[i]);
    const double flow = z[0] - 0.5 * z[1] - 0.3 * z[3] - 0.2 * z[4] - flow_;
    // The kink: zero on a curved surface that ties the second unknown to the first and third. One step of
    // E24 off it (a tenth) costs 10 times its weight.
    const double off = std::abs(z[2] - z[1] - ratio_ + bend_ * std::exp(z[3] - z[1]));
    const double lift = z[4] + flow - lift_;
    Judged j;
    j.objective[0] = (1 + 6 * flow * flow) * std::exp(-0.8 * z[1]) + 2 * std::abs(lift);
    j.objective[1] = 2 * std::exp(z[1]) + 0.5 * std::exp(z[2]);
    j.objective[2] = 100 * off;
    for (int k = 0; k < 3; ++k) j.cost += weight_[k] * j.objective[k];
    j.violation = std::max(0.0, std::exp(z[0] + flow) / limit_ - 1) + std::max(0.0, z[3] - z[0] - 0.3) +
                  std::max(0.0, -0.6 - z[3]);
    return j;
  }

 private:
  double flow_, ratio_, bend_, lift_, limit_, weight_[3];
};

inline std::function<Judge()> judge_of(const Valley& valley) {
  return [valley] { return [valley](std::span<const double> x) { return valley(x); }; };
}

/// The valley over E24 values; `span`: each axis but the first runs from centre / span to centre * span.
inline Problem valley_lattice(const Valley& valley, double span) {
  Problem lattice;
  Axis first{"first", 300, 400, false, {}};
  const double step = span < 1.8 ? 25 : 10;
  for (double v = 300; v <= 400; v += step) first.levels.push_back(v);
  lattice.axes.push_back(first);
  for (int i = 1; i < 5; ++i) {
    Axis axis{"part " + std::to_string(i), 0, 0, true, {}};
    axis.levels = members(Series::e24, Valley::kCentre[i] / span, Valley::kCentre[i] * span);
    axis.low = axis.levels.front();
    axis.high = axis.levels.back();
    lattice.axes.push_back(axis);
  }
  lattice.objectives = 3;
  lattice.make_judge = judge_of(valley);
  return lattice;
}

/// The same with a ratio in place of the third unknown, so that the continuous question is asked in terms
/// other than the parts.
inline Family valley_family(const Valley& valley, double span) {
  Family family;
  family.name = "valley";
  family.parts = valley_lattice(valley, span);
  family.ideal.axes = {Axis{"first", 300, 400, false, {}}};
  for (int i : {1, 2, 3, 4}) {
    const bool ratio = i == 2;
    family.ideal.axes.push_back(Axis{ratio ? "ratio" : "part",
                                     ratio ? 0.7 : Valley::kCentre[i] / span,
                                     ratio ? 2.0 : Valley::kCentre[i] * span,
                                     true,
                                     {}});
  }
  family.ideal.objectives = 3;
  family.ideal.make_judge = [valley] {
    return [valley](std::span<const double> x) {
      const double parts[5] = {x[0], x[1], x[1] * x[2], x[3], x[4]};
      return valley(parts);
    };
  };
  family.round_to_parts = [lattice = family.parts](std::span<const double> x) {
    std::vector<double> parts{x[0], x[1], x[1] * x[2], x[3], x[4]};
    const Levels levels = nearest_levels(lattice, parts);
    values_of(lattice, levels, parts);
    return parts;
  };
  return family;
}

}  // namespace antiphase::engine::testing
