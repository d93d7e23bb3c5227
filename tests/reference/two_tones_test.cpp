// Intermodulation at the target: the solver against both phases stepped through in the independent library.

#include "tests/reference/two_tones.h"

#include <doctest/doctest.h>

#include "tests/reference/cases.h"
#include "tests/reference/worst.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

constexpr int kSteps =
    20;  // of each half cycle: sums of orders up to 20 are exact, far beyond the fifth that counts
constexpr double kLowShare = 0.8, kCloseShare = 0.5;

TEST_CASE("intermodulation of clean stages is what both phases stepped through give") {
  Worst worst[2][3] = {
      {{"4:1, second", 0.003, 0.01}, {"4:1, third", 0.003, 0.01}, {"4:1, total", 0.003, 0.01}},
      {{"close pair, second", 0.003, 0.01},
       {"close pair, third", 0.003, 0.01},
       {"close pair, total", 0.003, 0.01}}};
  int compared = 0;
  for (Cases cases : {draw_pairs(20261212, 4), draw_gain_stages(20261313, 6)}) {
    for (Case& c : cases.all) {
      INFO(drawing_text(c));
      solve(c);
      if (c.evaluation.at_target.solved != Solved::yes) continue;
      solve_cycles(c);
      if (c.grid_conducts() || !c.conducts_all_the_time()) continue;
      ++compared;
      const IntermodulationFigures& got = c.evaluation.intermodulation;
      REQUIRE(got.solved == Solved::yes);
      for (const bool close : {false, true}) {
        const auto want = two_tones(c.design, c.rest, close ? kCloseShare : kLowShare, close, kSteps);
        const auto& mine = close ? got.close_pair : got.low_and_high;
        for (std::size_t o = 0; o < 3; ++o) {
          if (c.sections() == 1 && o == 1) continue;
          const std::string where = c.name + " [" + std::to_string(o) + "]";
          Worst* w = worst[close ? 1 : 0];
          CHECK(w[0].keeps(mine[o].second_pct, want[o].second_pct, where));
          CHECK(w[1].keeps(mine[o].third_pct, want[o].third_pct, where));
          CHECK(w[2].keeps(mine[o].total_pct, want[o].total_pct, where));
        }
      }
    }
  }
  std::string table = std::to_string(compared) + " clean stages, " + Worst::head();
  for (const auto& kind : worst)
    for (const Worst& w : kind) table += w.line();
  MESSAGE(table);
  CHECK(compared >= 10);
}

TEST_CASE("fewer steps of both phases change nothing") {
  Cases cases = draw_pairs(20261414, 1);
  Case& c = cases.all.front();
  const auto coarse = two_tones(c.design, c.rest, kLowShare, false, 12);
  const auto fine = two_tones(c.design, c.rest, kLowShare, false, kSteps);
  for (std::size_t o = 0; o < 3; ++o) {
    CHECK(within(coarse[o].second_pct, fine[o].second_pct, 1e-4));
    CHECK(within(coarse[o].third_pct, fine[o].third_pct, 1e-4));
  }
}

}  // namespace
}  // namespace antiphase::reference
