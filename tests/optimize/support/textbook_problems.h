/// Problems with published optima.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <span>
#include <string>
#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine::testing {

struct Textbook {
  std::string name, source;
  Problem problem;
  double optimum = 0;      ///< published least cost of a feasible point
  std::vector<double> at;  ///< a published point of (nearly) that cost
};

inline Problem box(std::vector<std::pair<double, double>> ranges, Judged (*judge)(std::span<const double>)) {
  Problem p;
  for (const auto& [low, high] : ranges) p.axes.push_back(Axis{"x", low, high, false, {}});
  p.make_judge = [judge] { return Judge(judge); };
  return p;
}

inline double excess(double value, double limit) {
  return std::max(0.0, value / limit - 1);
}

/// Source: Rosenbrock, Computer J. 3 (1960) 175-184, here in three unknowns (chained form).
inline Textbook rosenbrock() {
  return {"Rosenbrock",
          "Computer J. 3 (1960) 175-184",
          box({{-2, 2}, {-2, 2}, {-2, 2}},
              [](std::span<const double> x) {
                Judged j;
                for (std::size_t i = 0; i + 1 < x.size(); ++i)
                  j.cost += 100 * std::pow(x[i + 1] - x[i] * x[i], 2) + std::pow(1 - x[i], 2);
                return j;
              }),
          0,
          {1, 1, 1}};
}

/// Four minima of zero. Source: Himmelblau, Applied Nonlinear Programming (1972).
inline Textbook himmelblau() {
  return {"Himmelblau's function",
          "Applied Nonlinear Programming (1972)",
          box({{-5, 5}, {-5, 5}},
              [](std::span<const double> x) {
                const double a = x[0] * x[0] + x[1] - 11, b = x[0] + x[1] * x[1] - 7;
                return Judged{a * a + b * b, 0, {}};
              }),
          0,
          {3, 2}};
}

/// Himmelblau's constrained problem, "g04" of the CEC collections. Source of the optimum: Runarsson & Yao,
/// IEEE Trans. Evol. Comput. 4 (2000) 284-294, appendix: -30665.539.
inline Textbook himmelblau_constrained() {
  return {"Himmelblau's constrained problem",
          "Runarsson & Yao (2000), g04",
          box({{78, 102}, {33, 45}, {27, 45}, {27, 45}, {27, 45}},
              [](std::span<const double> x) {
                const double u =
                    85.334407 + 0.0056858 * x[1] * x[4] + 0.0006262 * x[0] * x[3] - 0.0022053 * x[2] * x[4];
                const double v =
                    80.51249 + 0.0071317 * x[1] * x[4] + 0.0029955 * x[0] * x[1] + 0.0021813 * x[2] * x[2];
                const double w =
                    9.300961 + 0.0047026 * x[2] * x[4] + 0.0012547 * x[0] * x[2] + 0.0019085 * x[2] * x[3];
                Judged j;
                j.cost = 5.3578547 * x[2] * x[2] + 0.8356891 * x[0] * x[4] + 37.293239 * x[0] - 40792.141;
                j.violation = std::max(0.0, u - 92) / 92 + std::max(0.0, -u) / 92 +
                              std::max(0.0, v - 110) / 110 + std::max(0.0, 90 - v) / 90 +
                              std::max(0.0, w - 25) / 25 + std::max(0.0, 20 - w) / 20;
                return j;
              }),
          -30665.539,
          {78, 33, 29.995256, 45, 36.775813}};
}

/// Welded beam: weld height and length, bar height and width (inch). Source: Ragsdell & Phillips, J. Eng.
/// Ind. 98 (1976) 1021-1025; in the form and with the optimum 1.724852 of Mahdavi, Fesanghary & Damangir,
/// Appl. Math. Comput. 188 (2007) 1567-1579 (their best 1.7248).
inline Textbook welded_beam() {
  return {"welded beam",
          "Mahdavi et al. (2007)",
          box({{0.1, 2}, {0.1, 10}, {0.1, 10}, {0.1, 2}},
              [](std::span<const double> x) {
                constexpr double P = 6000, L = 14, E = 30e6, G = 12e6;
                const double h = x[0], l = x[1], t = x[2], b = x[3];
                const double direct = P / (std::numbers::sqrt2 * h * l);
                const double half = (h + t) / 2;
                const double R = std::sqrt(l * l / 4 + half * half);
                const double J = 2 * std::numbers::sqrt2 * h * l * (l * l / 12 + half * half);
                const double bending = P * (L + l / 2) * R / J;
                const double shear =
                    std::sqrt(direct * direct + direct * bending * l / R + bending * bending);
                const double stress = 6 * P * L / (b * t * t);
                const double deflection = 4 * P * L * L * L / (E * t * t * t * b);
                const double buckling = 4.013 * E * std::sqrt(t * t * std::pow(b, 6) / 36) / (L * L) *
                                        (1 - t / (2 * L) * std::sqrt(E / (4 * G)));
                Judged j;
                j.cost = 1.10471 * h * h * l + 0.04811 * t * b * (14 + l);
                j.violation = excess(shear, 13600) + excess(stress, 30000) + excess(h, b) +
                              excess(0.10471 * h * h + 0.04811 * t * b * (14 + l), 5) + excess(0.125, h) +
                              excess(deflection, 0.25) + std::max(0.0, (P - buckling) / P);
                return j;
              }),
          1.724852,
          {0.205730, 3.470489, 9.036624, 0.205730}};
}

/// Pressure vessel: shell and head thickness in sixteenths of an inch, radius and length. Source: Sandgren,
/// J. Mech. Des. 112 (1990) 223-229; optimum 6059.7143 as in Coello Coello & Mezura Montes, Adv. Eng.
/// Inform. 16 (2002) 193-203 (6059.946) and many later (6059.714335).
inline Textbook pressure_vessel() {
  Textbook t{"pressure vessel",
             "Coello Coello & Mezura Montes (2002)",
             box({{0.0625, 6.1875}, {0.0625, 6.1875}, {10, 200}, {10, 200}},
                 [](std::span<const double> x) {
                   const double r = x[2], l = x[3];
                   const double volume = std::numbers::pi * r * r * (l + 4 * r / 3);
                   Judged j;
                   j.cost = 0.6224 * x[0] * r * l + 1.7781 * x[1] * r * r + 3.1661 * x[0] * x[0] * l +
                            19.84 * x[0] * x[0] * r;
                   j.violation = excess(0.0193 * r, x[0]) + excess(0.00954 * r, x[1]) +
                                 excess(1296000, volume) + excess(l, 240);
                   return j;
                 }),
             6059.714335,
             {0.8125, 0.4375, 42.098446, 176.636596}};
  for (int axis : {0, 1})
    for (int n = 1; n <= 99; ++n) t.problem.axes[axis].levels.push_back(0.0625 * n);
  return t;
}

/// Golinski's speed reducer: face width, module, teeth of the pinion (a whole number), two shaft lengths and
/// two shaft diameters (cm). Source: Golinski, J. Mechanisms 5 (1970) 287-309; both lengths from 7.3, with
/// the optimum 2994.471066 of Zhang, Luo & Wang, Inf. Sci. 178 (2008) 3043-3074 (cited from memory).
inline Textbook speed_reducer() {
  Textbook t{"speed reducer",
             "Zhang et al. (2008)",
             box({{2.6, 3.6}, {0.7, 0.8}, {17, 28}, {7.3, 8.3}, {7.3, 8.3}, {2.9, 3.9}, {5, 5.5}},
                 [](std::span<const double> x) {
                   const double b = x[0], m = x[1], z = x[2], l1 = x[3], l2 = x[4], d1 = x[5], d2 = x[6];
                   Judged j;
                   j.cost = 0.7854 * b * m * m * (3.3333 * z * z + 14.9334 * z - 43.0934) -
                            1.508 * b * (d1 * d1 + d2 * d2) + 7.4777 * (d1 * d1 * d1 + d2 * d2 * d2) +
                            0.7854 * (l1 * d1 * d1 + l2 * d2 * d2);
                   const auto stress = [&](double l, double constant, double d) {
                     return std::sqrt(std::pow(745 * l / (m * z), 2) + constant) / (d * d * d);
                   };
                   j.violation = excess(27, b * m * m * z) + excess(397.5, b * m * m * z * z) +
                                 excess(1.93 * l1 * l1 * l1, m * z * std::pow(d1, 4)) +
                                 excess(1.93 * l2 * l2 * l2, m * z * std::pow(d2, 4)) +
                                 excess(stress(l1, 16.9e6, d1), 110) + excess(stress(l2, 157.5e6, d2), 85) +
                                 excess(m * z, 40) + excess(5 * m, b) + excess(b, 12 * m) +
                                 excess(1.5 * d1 + 1.9, l1) + excess(1.1 * d2 + 1.9, l2);
                   return j;
                 }),
             2994.471066,
             {3.5, 0.7, 17, 7.3, 7.715320, 3.350215, 5.286654}};
  for (int teeth = 17; teeth <= 28; ++teeth) t.problem.axes[2].levels.push_back(teeth);
  return t;
}

}  // namespace antiphase::engine::testing
