/// Published multi-objective problems with what is known of their true fronts.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <map>
#include <numbers>
#include <span>
#include <string>
#include <vector>

#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/pareto/hypervolume.h"
#include "optimize/engine/problem.h"

namespace antiphase::engine::published {

struct FrontProblem {
  std::string name, source;
  Problem problem;
  std::vector<double> reference;  ///< fixed point up to which volume counts
  double true_volume = 0;         ///< of the true front
  std::string front_from;         ///< where the true front comes from
};

using Objectives = std::vector<double>;

inline Problem many(std::vector<std::pair<double, double>> ranges, int objectives,
                    std::function<void(std::span<const double>, Judged&)> judge) {
  Problem p;
  p.objectives = objectives;
  for (const auto& [low, high] : ranges) p.axes.push_back(Axis{"x", low, high, false, {}});
  p.make_judge = [judge, objectives] {
    return Judge([judge, objectives](std::span<const double> x) {
      Judged j;
      judge(x, j);
      for (int k = 0; k < objectives; ++k) j.cost += j.objective[static_cast<std::size_t>(k)];
      return j;
    });
  };
  return p;
}

/// Volume below a falling curve second(first), first in [from, to] in `steps` equal steps, both ends in;
/// parts that others dominate fall away by themselves.
inline double curve_volume(const std::function<double(double)>& second, double from, double to,
                           const std::vector<double>& reference, int steps = 200000) {
  std::vector<std::vector<double>> points;
  for (int i = 0; i <= steps; ++i) {
    const double f = from + (to - from) * i / steps, s = second(f);
    if (points.empty() || s < points.back()[1]) points.push_back({f, s});
  }
  double volume = 0, ceiling = reference[1];
  for (const std::vector<double>& p : points) {
    if (p[0] >= reference[0] || p[1] >= ceiling) continue;
    volume += (reference[0] - p[0]) * (ceiling - p[1]);
    ceiling = p[1];
  }
  return volume;
}

inline std::vector<std::pair<double, double>> unit_ranges(int n) {
  return std::vector<std::pair<double, double>>(static_cast<std::size_t>(n), {0.0, 1.0});
}

/// Source: Zitzler, Deb & Thiele, "Comparison of multiobjective evolutionary algorithms: empirical results",
/// Evol. Comput. 8 (2000) 173-195. Number 5 is of bit strings and left out. The fronts are at g = 1.
inline FrontProblem zdt(int number) {
  const auto mean_g = [](std::span<const double> x) {
    double sum = 0;
    for (std::size_t i = 1; i < x.size(); ++i) sum += x[i];
    return 1 + 9 * sum / static_cast<double>(x.size() - 1);
  };
  FrontProblem f{"ZDT" + std::to_string(number),   "Evol. Comput. 8 (2000) 173-195", {}, {1.1, 1.1}, 0,
                 "closed form of the paper, g = 1"};
  const auto two = [&](int n, auto first, auto g, auto h) {
    f.problem = many(unit_ranges(n), 2, [=](std::span<const double> x, Judged& j) {
      const double f1 = first(x), gx = g(x);
      j.objective[0] = f1;
      j.objective[1] = gx * h(f1, gx);
    });
  };
  const auto own = [](std::span<const double> x) { return x[0]; };
  const auto root = [](double f1, double g) { return 1 - std::sqrt(f1 / g); };
  const auto square = [](double f1, double g) { return 1 - f1 / g * (f1 / g); };
  double from = 0;
  std::function<double(double)> curve = [=](double t) { return root(t, 1); };
  if (number == 1) two(30, own, mean_g, root);
  if (number == 2) {
    two(30, own, mean_g, square);
    curve = [=](double t) { return square(t, 1); };
  }
  if (number == 3) {
    const auto waves = [](double f1, double g) {
      return 1 - std::sqrt(f1 / g) - f1 / g * std::sin(10 * std::numbers::pi * f1);
    };
    two(30, own, mean_g, waves);
    curve = [=](double t) { return waves(t, 1); };
  }
  if (number == 4) {
    two(
        10, own,
        [](std::span<const double> x) {
          double sum = 1 + 10 * static_cast<double>(x.size() - 1);
          for (std::size_t i = 1; i < x.size(); ++i)
            sum += x[i] * x[i] - 10 * std::cos(4 * std::numbers::pi * x[i]);
          return sum;
        },
        root);
    for (std::size_t i = 1; i < 10; ++i) f.problem.axes[i].low = -5, f.problem.axes[i].high = 5;
  }
  if (number == 6) {
    const auto first = [](double t) {
      return 1 - std::exp(-4 * t) * std::pow(std::sin(6 * std::numbers::pi * t), 6);
    };
    two(
        10, [=](std::span<const double> x) { return first(x[0]); },
        [](std::span<const double> x) {
          double sum = 0;
          for (std::size_t i = 1; i < x.size(); ++i) sum += x[i];
          return 1 + 9 * std::pow(sum / 9, 0.25);
        },
        square);
    curve = [=](double t) { return square(t, 1); };
    from = 1;  // the least first objective, over x[0]
    for (int i = 0; i <= 1000000; ++i) from = std::min(from, first(i * 1e-6));
  }
  f.true_volume = curve_volume(curve, from, 1, f.reference);
  return f;
}

/// Source: Deb, Thiele, Laumanns & Zitzler, "Scalable multi-objective optimization test problems", IEEE CEC
/// 2002, 825-830; three objectives, 12 unknowns. The front is an eighth of the unit sphere.
inline FrontProblem dtlz2() {
  FrontProblem f{"DTLZ2", "IEEE CEC 2002, 825-830", {}, {1.1, 1.1, 1.1}, 0, "closed form: the unit sphere"};
  f.problem = many(unit_ranges(12), 3, [](std::span<const double> x, Judged& j) {
    double g = 1;
    for (std::size_t i = 2; i < x.size(); ++i) g += (x[i] - 0.5) * (x[i] - 0.5);
    const double a = x[0] * std::numbers::pi / 2, b = x[1] * std::numbers::pi / 2;
    j.objective[0] = g * std::cos(a) * std::cos(b);
    j.objective[1] = g * std::cos(a) * std::sin(b);
    j.objective[2] = g * std::sin(a);
  });
  // The dominated part of the cube of edge 1.1 is all of it but an eighth of the unit ball.
  f.true_volume = 1.1 * 1.1 * 1.1 - std::numbers::pi / 6;
  return f;
}

inline double over(double value, double limit, double scale) {
  return std::max(0.0, (value - limit) / scale);
}

/// The front of a problem in two unknowns by its definition alone: the whole box on a fine grid.
inline double grid_volume(const Problem& problem, const std::vector<double>& reference, int steps) {
  std::vector<std::vector<double>> points;
  const Judge judge = problem.make_judge();
  const auto at = [&](std::size_t k, int i) {
    return problem.axes[k].low + (problem.axes[k].high - problem.axes[k].low) * i / steps;
  };
  for (int a = 0; a <= steps; ++a)
    for (int b = 0; b <= steps; ++b) {
      const double x[] = {at(0, a), at(1, b)};
      const Judged j = judge(x);
      if (j.feasible()) points.push_back({j.objective[0], j.objective[1]});
    }
  std::sort(points.begin(), points.end());
  double volume = 0, ceiling = reference[1];
  for (const std::vector<double>& p : points) {
    if (p[0] >= reference[0] || p[1] >= ceiling) continue;
    volume += (reference[0] - p[0]) * (ceiling - p[1]);
    ceiling = p[1];
  }
  return volume;
}

/// Source: Binh & Korn, "MOBES: a multiobjective evolution strategy for constrained optimization problems",
/// MENDEL 97 (1997) 176-182.
inline FrontProblem bnh() {
  FrontProblem f{"BNH", "MENDEL 97 (1997) 176-182", {}, {140, 50}, 0, ""};
  f.problem = many({{0, 5}, {0, 3}}, 2, [](std::span<const double> x, Judged& j) {
    j.objective[0] = 4 * x[0] * x[0] + 4 * x[1] * x[1];
    j.objective[1] = std::pow(x[0] - 5, 2) + std::pow(x[1] - 5, 2);
    j.violation = over(std::pow(x[0] - 5, 2) + x[1] * x[1], 25, 25) +
                  over(7.7, std::pow(x[0] - 8, 2) + std::pow(x[1] + 3, 2), 7.7);
  });
  // The front is x1 = x2 from 0 to 3, then x2 = 3 (Deb 2001, section 8.3.1): f2 as a function of f1.
  f.front_from = "closed form: x1 = x2 up to 3, then x2 = 3";
  f.true_volume = curve_volume(
      [](double f1) {
        const double t = std::sqrt(f1 / 8);
        return t <= 3 ? 2 * (t - 5) * (t - 5) : std::pow(std::sqrt(f1 / 4 - 9) - 5, 2) + 4;
      },
      0, 136, f.reference);
  return f;
}

/// Source: Srinivas & Deb, "Multiobjective optimization using nondominated sorting in genetic algorithms",
/// Evol. Comput. 2 (1994) 221-248.
inline FrontProblem srn() {
  FrontProblem f{"SRN", "Evol. Comput. 2 (1994) 221-248", {}, {250, 50}, 0, ""};
  f.problem = many({{-20, 20}, {-20, 20}}, 2, [](std::span<const double> x, Judged& j) {
    j.objective[0] = 2 + std::pow(x[0] - 2, 2) + std::pow(x[1] - 1, 2);
    j.objective[1] = 9 * x[0] - std::pow(x[1] - 1, 2);
    j.violation = over(x[0] * x[0] + x[1] * x[1], 225, 225) + over(x[0] - 3 * x[1] + 10, 0, 10);
  });
  f.front_from = "the definition, on a grid of 4000 x 4000";
  f.true_volume = grid_volume(f.problem, f.reference, 4000);
  return f;
}

/// Source: Tanaka, Watanabe, Furukawa & Tanino, "GA-based decision support system for multicriteria
/// optimization", IEEE SMC 1995, 1556-1561.
inline FrontProblem tnk() {
  FrontProblem f{"TNK", "IEEE SMC 1995, 1556-1561", {}, {1.1, 1.1}, 0, ""};
  f.problem =
      many({{0, std::numbers::pi}, {0, std::numbers::pi}}, 2, [](std::span<const double> x, Judged& j) {
        j.objective[0] = x[0];
        j.objective[1] = x[1];
        const double angle = x[0] == 0 && x[1] == 0 ? 0 : std::atan2(x[0], x[1]);
        j.violation = over(1 + 0.1 * std::cos(16 * angle), x[0] * x[0] + x[1] * x[1], 1) +
                      over(std::pow(x[0] - 0.5, 2) + std::pow(x[1] - 0.5, 2), 0.5, 0.5);
      });
  f.front_from = "the definition, on a grid of 6000 x 6000";
  f.true_volume = grid_volume(f.problem, f.reference, 6000);
  return f;
}

/// Source: Osyczka & Kundu, "A new method to solve generalized multicriteria optimization problems using the
/// simple genetic algorithm", Struct. Optim. 10 (1995) 94-99.
inline FrontProblem osy() {
  FrontProblem f{"OSY", "Struct. Optim. 10 (1995) 94-99", {}, {0, 80}, 0, ""};
  f.problem =
      many({{0, 10}, {0, 10}, {1, 5}, {0, 6}, {1, 5}, {0, 10}}, 2, [](std::span<const double> x, Judged& j) {
        j.objective[0] = -(25 * std::pow(x[0] - 2, 2) + std::pow(x[1] - 2, 2) + std::pow(x[2] - 1, 2) +
                           std::pow(x[3] - 4, 2) + std::pow(x[4] - 1, 2));
        for (const double t : x) j.objective[1] += t * t;
        j.violation = over(2, x[0] + x[1], 2) + over(x[0] + x[1], 6, 6) + over(x[1] - x[0], 2, 2) +
                      over(x[0] - 3 * x[1], 2, 2) + over(std::pow(x[2] - 3, 2) + x[3], 4, 4) +
                      over(4, std::pow(x[4] - 3, 2) + x[5], 4);
      });
  // x6 = 0 and x4 = 0 on the whole front, in five pieces (Deb, Pratap & Meyarivan, "Constrained test problems
  // for multi-objective evolutionary optimization", EMO 2001, 284-298, table 3):
  // (5, 1, 1...5, 0, 5), (5, 1, 1...5, 0, 1), (4.056...5, (x1 - 2) / 3, 1, 0, 1), (0, 2, 1...3.732, 0, 1),
  // (0...1, 2 - x1, 1, 0, 1).
  f.front_from = "the five pieces of EMO 2001, 284-298, table 3, each in 20001 points";
  const Judge judge = f.problem.make_judge();
  std::vector<std::vector<double>> rows;
  for (int i = 0; i <= 20000; ++i) {
    const double t = i / 20000.0, a = 4.056 + (5 - 4.056) * t, third = 1 + 4 * t, fourth = 1 + 2.732 * t;
    for (const std::vector<double>& x : std::vector<std::vector<double>>{{5, 1, third, 0, 5, 0},
                                                                         {5, 1, third, 0, 1, 0},
                                                                         {a, (a - 2) / 3, 1, 0, 1, 0},
                                                                         {0, 2, fourth, 0, 1, 0},
                                                                         {t, 2 - t, 1, 0, 1, 0}}) {
      const Judged j = judge(x);
      if (j.violation < 1e-9) rows.push_back({j.objective[0], j.objective[1]});
    }
  }
  std::sort(rows.begin(), rows.end());
  double ceiling = f.reference[1];
  for (const std::vector<double>& p : rows)
    if (p[1] < ceiling) {
      f.true_volume += (f.reference[0] - p[0]) * (ceiling - p[1]);
      ceiling = p[1];
    }
  return f;
}

inline std::vector<FrontProblem> front_problems() {
  return {zdt(1), zdt(2), zdt(3), zdt(4), zdt(6), bnh(), srn(), tnk(), osy(), dtlz2()};
}

/// The same as hypervolume(), quick for thousands of points of three objectives: slices along the third.
inline double sliced_volume(std::vector<std::vector<double>> rows, const std::vector<double>& reference) {
  std::erase_if(rows, [&](const std::vector<double>& r) {
    return r[0] >= reference[0] || r[1] >= reference[1] || r[2] >= reference[2];
  });
  std::sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) { return a[2] < b[2]; });
  std::map<double, double> stairs;  // first objective -> second, falling
  double volume = 0, area = 0, height = 0;
  for (const std::vector<double>& r : rows) {
    volume += area * (r[2] - height);
    height = r[2];
    auto after = stairs.upper_bound(r[0]);
    double ceiling = after == stairs.begin() ? reference[1] : std::prev(after)->second;
    if (ceiling <= r[1]) continue;
    double from = r[0];
    while (true) {  // steps that the new one passes under
      const double to = after == stairs.end() ? reference[0] : after->first;
      area += (to - from) * (ceiling - r[1]);
      if (after == stairs.end() || after->second <= r[1]) break;
      from = to;
      ceiling = after->second;
      after = stairs.erase(after);
    }
    stairs[r[0]] = r[1];
  }
  return volume + area * (reference[2] - height);
}

/// Share of the true front's volume that a front holds.
inline double share(const FrontProblem& f, const std::vector<Point>& front) {
  std::vector<std::vector<double>> rows;
  for (const Point& p : front)
    rows.emplace_back(p.judged.objective.begin(), p.judged.objective.begin() + f.problem.objectives);
  return (f.problem.objectives == 3 ? sliced_volume(std::move(rows), f.reference)
                                    : hypervolume(std::move(rows), f.reference)) /
         f.true_volume;
}

}  // namespace antiphase::engine::published
