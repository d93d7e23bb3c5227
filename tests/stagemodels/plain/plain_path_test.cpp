// Wide vectors and plain x86-64 give the same figures, and neither hides a NaN.
//
// The stage models are compiled with -fno-math-errno -fno-trapping-math alone, which leave NaN and infinity
// their meaning and every sum its order (stagemodels/CMakeLists.txt); what is left between the paths is
// rounding in exp and log, 4 units in the last place, times the condition of the equations.
#include <doctest/doctest.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <memory>
#include <string>

#include "stagemodels/tubes/law.h"
#include "stagemodels/wide.h"
#include "tests/stagemodels/plain/figures_of_designs.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("the wide and the plain path agree on every figure of three hundred designs") {
  const std::unique_ptr<FILE, int (*)(FILE*)> out(popen(ANTIPHASE_PLAIN_FIGURES, "r"), &pclose);
  REQUIRE(out);
  std::vector<double> plain;
  for (char line[64]; std::fgets(line, sizeof line, out.get());) plain.push_back(std::strtod(line, nullptr));
  const std::vector<Figure> wide = figures_of_designs();
  REQUIRE(plain.size() == wide.size());
  REQUIRE(wide.size() > 50u * kComparedDesigns);
  constexpr double kAllowed = 1e-9;
  double worst = 0;
  std::size_t differing = 0;
  for (std::size_t n = 0; n < wide.size(); ++n) {
    CAPTURE(n);
    const double apart = std::abs(wide[n].value - plain[n]);
    REQUIRE(std::isfinite(apart));
    differing += apart != 0;
    if (wide[n].scale > 0) worst = std::max(worst, apart / wide[n].scale);
    CHECK(apart <= kAllowed * wide[n].scale);
  }
#if defined(__x86_64__) && ANTIPHASE_VECTOR_MATH
  const std::string width = __builtin_cpu_supports("avx512f") ? "512"
                            : __builtin_cpu_supports("avx2")  ? "256"
                                                              : "128";
#else
  const std::string width = "no wide";
#endif
  MESSAGE(wide.size(), " figures, ", width, "-bit vectors here against plain: ", differing,
          " differ at all, worst by ", worst, " of its scale");
}

TEST_CASE("a NaN at one instant stays at that instant, whatever the width") {
  // A law promises nothing for NaN itself (a section that it cannot judge passes no current); the node
  // voltage that it came from stands in Kirchhoff's law beside it and ends the solve.
  const double nan = std::numeric_limits<double>::quiet_NaN();
  constexpr int kMany = 16, kBad = 5;
  for (const TriodeLaw& law : {TriodeLaw(kKoren12AX7), TriodeLaw(kRsd2)}) {
    std::array<double, kMany> grid_v{}, plate_v{};
    for (int k = 0; k < kMany; ++k) {
      grid_v[k] = -1.0 - 0.1 * k;
      plate_v[k] = 200;
    }
    const auto currents = [&] {
      TriodeRows rows;
      std::visit([&](const auto& l) { l.currents(grid_v.data(), plate_v.data(), kMany, rows); }, law);
      return rows;
    };
    const TriodeRows good = currents();
    grid_v[kBad] = nan;
    const TriodeRows bad = currents();
    for (int k = 0; k < kMany; ++k)
      if (k != kBad) {
        CHECK(bad.plate_a[k] == good.plate_a[k]);
        CHECK(bad.plate_per_grid_s[k] == good.plate_per_grid_s[k]);
      }
  }
}

TEST_CASE("a design with a member that is no number is never called solved") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const Tube tube = tube_with(kKoren12AX7);
  double Design::*const members[] = {&Design::supply_v, &Design::load_ohm, &Design::swing_peak_v};
  for (double Design::*const member : members)
    for (BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
      Design d = pair_of(tube, bias);
      d.*member = nan;
      Evaluation e;
      evaluate(d, Depth::full, e);
      CHECK(e.at_target.solved != Solved::yes);
    }
}
