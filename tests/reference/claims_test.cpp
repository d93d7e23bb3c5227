// What the solver says about a design in words, looked at from the independent side: the target is
// reached at the smallest such drive, or out of reach; the clean swing ends where and why it is said to.

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "tests/reference/cases.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();

/// At the solver's own instants: what is looked at here is what it concludes, not how finely it looks.
SteadyState state_at(const Case& c, double input_peak_v) {
  const int steps = solver_steps(c.design, input_peak_v);
  return steady_state(c.design, drawing_of(c.design), c.rest.capacitor_v, input_peak_v, steps).state;
}

double smaller_output(const Case& c, const SteadyState& s) {
  return c.sections() == 1 ? s.output_peak_v[0] : std::min(s.output_peak_v[0], s.output_peak_v[1]);
}

TEST_CASE("the target swing is reached at the drive that is said, at no smaller one, or not at all") {
  int reached = 0, out_of_reach = 0;
  for (Cases cases : {draw_pairs(20260606, 6), draw_gain_stages(20260707, 12)}) {
    int number = 0;
    for (Case& c : cases.all) {
      if (++number % 2 == 0) c.design.swing_peak_v *= 2;  // beyond the reach of some
      INFO(drawing_text(c));
      solve(c);
      const SteadyState& at_target = c.evaluation.at_target;
      if (at_target.solved == Solved::yes) {
        ++reached;
        CHECK(within_ratio(smaller_output(c, state_at(c, at_target.input_peak_v)), c.design.swing_peak_v,
                           5e-4));
        for (const double share : {0.3, 0.6, 0.8, 0.9, 0.97}) {
          CHECK(smaller_output(c, state_at(c, share * at_target.input_peak_v)) < c.design.swing_peak_v);
        }
      } else {
        ++out_of_reach;
        CHECK(at_target.solved == Solved::target_out_of_reach);
        const double bias_v = std::abs(c.rest.point.grid_to_cathode_v[0]);
        for (const double times : {0.5, 1.0, 1.5, 2.0, 3.0, 4.0}) {
          CHECK(smaller_output(c, state_at(c, times * bias_v)) < c.design.swing_peak_v);
        }
      }
    }
  }
  MESSAGE(reached << " designs reach their target, " << out_of_reach << " do not");
  CHECK(reached >= 10);
  CHECK(out_of_reach >= 5);
}

/// Distances to the three ends of the clean swing; negative: broken.
struct Margins {
  double distortion_pct = kInfinite, grid_v = kInfinite, current_share = kInfinite;
};

Margins margins(const Case& c, const SteadyState& s) {
  Margins m;
  for (std::size_t i = 0; i < c.sections(); ++i) {
    m.distortion_pct = std::min(m.distortion_pct, c.design.clean_limit_pct - s.thd_pct[i]);
    m.grid_v = std::min(m.grid_v, c.design.tube[i]->grid_conduction_v.value - s.grid_to_cathode_peak_v[i]);
    m.current_share =
        std::min(m.current_share, s.plate_current_low_a[i] / c.rest.point.plate_current_a[i] - 0.01);
  }
  return m;
}

TEST_CASE("the clean swing ends where it is said, and for the reason that is said") {
  // How exactly the end must be met: a tenth of what the figures are shown to.
  constexpr double kDistortionPct = 0.02, kGridV = 0.005, kCurrentShare = 0.001;
  int by_distortion = 0, by_grid = 0, by_cutoff = 0, not_at_rest = 0;
  for (Cases cases : {draw_pairs(20260808, 12), draw_gain_stages(20260909, 24)}) {
    int number = 0;
    for (Case& c : cases.all) {
      // A grid that may go positive and a loose limit in every third, so that all ends are met.
      std::array<Tube, 2> tolerant;
      if (++number % 3 == 0) {
        c.design.clean_limit_pct = 20;
        for (std::size_t i = 0; i < c.sections(); ++i) {
          tolerant[i] = *c.design.tube[i];
          tolerant[i].grid_conduction_v.value = 20;
          c.design.tube[i] = &tolerant[i];
        }
      }
      INFO(drawing_text(c));
      solve(c);
      const CleanSwing& clean = c.evaluation.clean;
      CAPTURE(name_of(clean.limited_by));
      REQUIRE(clean.solved == Solved::yes);
      if (clean.swing_peak_v <= 0) {
        ++not_at_rest;
        const Pair& vgk = c.rest.point.grid_to_cathode_v;
        CHECK(std::max(vgk[0], c.sections() == 2 ? vgk[1] : vgk[0]) >
              c.design.tube[0]->grid_conduction_v.value);
        continue;
      }
      const SteadyState s = state_at(c, clean.input_peak_v);
      const Margins m = margins(c, s);
      CAPTURE(m.distortion_pct);
      CAPTURE(m.grid_v);
      CAPTURE(m.current_share);
      CHECK(within_ratio(clean.swing_peak_v, smaller_output(c, s), 1e-3));
      CHECK(m.distortion_pct > -kDistortionPct);
      CHECK(m.grid_v > -kGridV);
      CHECK(m.current_share > -kCurrentShare);
      switch (clean.limited_by) {
        case CleanLimit::distortion:
          ++by_distortion;
          CHECK(m.distortion_pct < kDistortionPct);
          break;
        case CleanLimit::grid_conduction:
          ++by_grid;
          CHECK(m.grid_v < kGridV);
          break;
        case CleanLimit::cutoff:
          ++by_cutoff;
          CHECK(m.current_share < kCurrentShare);
          break;
        default:
          FAIL_CHECK("an end that the definition does not know");
      }
    }
  }
  MESSAGE(by_distortion << " ended by distortion, " << by_grid << " by grid conduction, " << by_cutoff
                        << " by cut-off, " << not_at_rest << " not clean even at rest");
  CHECK(by_distortion >= 5);
  CHECK(by_grid >= 5);
  CHECK(by_cutoff >= 3);
}

}  // namespace
}  // namespace antiphase::reference
