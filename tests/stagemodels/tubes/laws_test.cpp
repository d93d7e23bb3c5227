#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "stagemodels/tubes/law.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

// Published parameter sets: N. Koren, Glass Audio 8 (1996) no. 5; K. Dempwolf, U. Zoelzer, DAFx-11 (2011).
// And round numbers of our own with a grid offset, which the article has not.
const Koren1996 kKoren12AX7{100, 1.4, 1060, 600, 300, 0};
const Koren1996 kWithOffset{100, 1.43, 1650, 690, 285, 0.5};
const Koren1996 kKoren12AU7{21.5, 1.3, 1180, 84, 300, 0};
const Koren1996 kKoren12AT7{60, 1.35, 460, 300, 300, 0};
const Koren1996 kKoren6DJ8{28, 1.3, 330, 320, 300, 0};
const DempwolfZoelzer2011 kRsd1{2.242e-3, 103.2, 1.26, 3.40, 6.177e-4, 1.314, 9.901, 8.025e-8};
const DempwolfZoelzer2011 kRsd2{2.173e-3, 100.2, 1.28, 3.19, 5.911e-4, 1.358, 11.76, 4.527e-8};
const DempwolfZoelzer2011 kEhx1{1.371e-3, 86.9, 1.349, 4.56, 3.263e-4, 1.156, 11.99, 3.917e-8};

struct Value {
  const char* set;
  TriodeLaw law;
  double plate_v, grid_v, plate_ma, gm_ma_per_v, mu, rp_kohm;
};

// Worked out from the published equations by an independent program.
const std::vector<Value> kValues{
    {"Koren 12AX7", kKoren12AX7, 100, -1, 0.1004, 0.588, 82.6, 140.6},
    {"Koren 12AX7", kKoren12AX7, 250, -2, 0.9518, 1.670, 89.7, 53.7},
    {"Koren 12AX7", kKoren12AX7, 200, -1.5, 0.8625, 1.726, 91.4, 53.0},
    {"with offset", kWithOffset, 100, -1, 0.46446, 1.24327, 98.0, 78.8},
    {"with offset", kWithOffset, 250, -2, 1.25646, 1.64504, 96.7, 58.8},
    {"RSD-1", kRsd1, 100, -1, 0.2743, 0.867, 103.2, 119.0},
    {"RSD-1", kRsd1, 250, -2, 0.9013, 1.891, 103.2, 54.6},
    {"RSD-2", kRsd2, 100, -1, 0.3061, 0.903, 100.2, 111.0},
    {"RSD-2", kRsd2, 250, -2, 1.0198, 1.954, 100.2, 51.3},
    {"EHX-1", kEhx1, 100, -1, 0.2000, 0.748, 86.9, 116.2},
    {"EHX-1", kEhx1, 250, -2, 1.1553, 1.738, 86.9, 50.0},
    {"Koren 12AU7", kKoren12AU7, 100, 0, 12.585, 3.380, 20.7, 6.11},
    {"Koren 12AU7", kKoren12AU7, 250, -8.5, 10.394, 2.480, 18.0, 7.25},
    {"Koren 12AT7", kKoren12AT7, 250, -2, 12.844, 7.221, 56.9, 7.88},
    {"Koren 6DJ8", kKoren6DJ8, 90, -1.3, 14.324, 9.426, 27.9, 2.96},
};

}  // namespace

TEST_CASE("published parameter sets give the currents and slopes worked out independently") {
  for (const Value& v : kValues) {
    CAPTURE(std::string(v.set));
    CAPTURE(v.plate_v);
    const TriodeCurrents c = currents_at(v.law, v.grid_v, v.plate_v);
    // 0.1 %; mu and rp are printed with three digits: half a unit of the last one, and 0.01 %.
    CHECK(within_ratio(c.plate_a * 1e3, v.plate_ma, 1e-3));
    CHECK(within_ratio(c.plate_per_grid_s * 1e3, v.gm_ma_per_v, 1e-3));
    CHECK(within(c.plate_per_grid_s / c.plate_per_plate_s, v.mu, 0.05 + 1e-4 * v.mu));
    CHECK(within(1e-3 / c.plate_per_plate_s, v.rp_kohm, (v.rp_kohm < 10 ? 0.005 : 0.05) + 1e-4 * v.rp_kohm));
  }
}

TEST_CASE("the grid currents of the measured 12AX7 sets are the published ones") {
  const std::vector<double> grid_v{-0.6, -0.3, 0, 0.3, 0.5, 1};
  const std::vector<double> rsd1_ua{0.0926, 0.673, 18.84, 129.9, 249.0, 617.8};
  const std::vector<double> rsd2_ua{0.0467, 0.215, 12.69, 116.6, 230.8, 591.1};
  for (std::size_t k = 0; k < grid_v.size(); ++k) {
    CAPTURE(grid_v[k]);
    for (const double plate_v : {20.0, 300.0}) {
      CHECK(within_ratio(currents_at(kRsd1, grid_v[k], plate_v).grid_a * 1e6, rsd1_ua[k], 2.5e-3));
      CHECK(within_ratio(currents_at(kRsd2, grid_v[k], plate_v).grid_a * 1e6, rsd2_ua[k], 2.5e-3));
    }
  }
}

TEST_CASE("plate and grid current of the measured sets add up to the published cathode current") {
  // ik = g (ln(1 + exp(c (va/mu + vg)))/c)^gamma, Dempwolf and Zoelzer (2011)
  for (const double grid_v : {-3.0, -0.5, 0.0, 0.7}) {
    const double u = 150 / kRsd1.mu + grid_v;
    const double cathode_a = kRsd1.g * std::pow(std::log1p(std::exp(kRsd1.c * u)) / kRsd1.c, kRsd1.gamma);
    const TriodeCurrents c = currents_at(kRsd1, grid_v, 150);
    CHECK(within_ratio(c.plate_a + c.grid_a, cathode_a, 1e-12));
  }
}

TEST_CASE("the three-halves law has gm = 1.5 i / V0 and rp = mu / gm") {
  const ChildLangmuir law{1.1e-3, 80, 0.4};  // any numbers: an identity of the law
  const TriodeCurrents c = currents_at(law, -1.2, 200);
  const double effective_v = -1.2 + 200.0 / 80 + 0.4;
  CHECK(within_ratio(c.plate_a, 1.1e-3 * std::pow(effective_v, 1.5), 1e-12));
  CHECK(within_ratio(c.plate_per_grid_s, 1.5 * c.plate_a / effective_v, 1e-12));
  CHECK(within_ratio(1 / c.plate_per_plate_s, 80 / c.plate_per_grid_s, 1e-12));
  CHECK(currents_at(law, -4, 200).plate_a == 0);
}

TEST_CASE("only the law with a grid term says that it draws grid current") {
  CHECK(has_grid_current(kRsd1));
  CHECK_FALSE(has_grid_current(kKoren12AX7));
  CHECK_FALSE(has_grid_current(ChildLangmuir{}));
  CHECK(currents_at(kKoren12AX7, 1, 100).grid_a == 0);
}

TEST_CASE("island_triode is the sum at its head, and the three-halves law where nothing is uneven") {
  const IslandTriode law{90,    3.2e-3, 0.75, 29,   0.22,
                         0.085, 0.71,   2.1,  0.57, 0.22};  // any numbers: an identity of the law
  for (const double grid_v : {-9.0, -2.1, -0.4, 0.5})
    for (const double plate_v : {2.0, 60.0, 300.0}) {
      const auto turned = [&](double y) { return (y + std::hypot(y, 0.3 * law.hold_from_v)) / 2; };
      const double hold =
          law.contact_v + grid_v +
          (1 - law.hold_share) * (turned(-grid_v - law.hold_from_v) - turned(-law.hold_from_v));
      const double foot = law.foot_v + law.foot_share * plate_v / law.mu;
      const auto part = [&](double mu) {
        return std::pow(foot * std::log1p(std::exp((hold + plate_v / mu) / foot)), 1.5);
      };
      const double want_a =
          law.perveance *
          ((1 - law.open_share) * part(law.mu) + law.open_share * part(law.open_mu_share * law.mu)) *
          plate_v / std::hypot(plate_v, law.knee_v);
      CHECK(within_ratio(currents_at(law, grid_v, plate_v).plate_a, want_a, 1e-11));
    }
  // Child and Langmuir: no island, no knee, a foot too narrow to be seen half a volt above it (e^-500).
  const IslandTriode even{80, 1.1e-3, 0.4, 0, 1e-3, 0, 1, 2, 0.5, 0};
  const ChildLangmuir child{1.1e-3, 80, 0.4};
  for (const double grid_v : {-2.0, -1.2, 0.0}) {
    const TriodeCurrents is = currents_at(even, grid_v, 200), want = currents_at(child, grid_v, 200);
    CHECK(within_ratio(is.plate_a, want.plate_a, 1e-12));
    CHECK(within_ratio(is.plate_per_grid_s, want.plate_per_grid_s, 1e-12));
    CHECK(within_ratio(is.plate_per_plate_s, want.plate_per_plate_s, 1e-12));
  }
}

TEST_CASE(
    "mu of island_triode falls toward cut-off, from that of the shielded part to that of the open one") {
  const IslandTriode law{80, 3e-3, 0.5, 0, 0.05, 0, 1, 2, 0.6, 0.2};
  const auto mu_at = [&](double grid_v) {
    const TriodeCurrents c = currents_at(law, grid_v, 240);
    return c.plate_per_grid_s / c.plate_per_plate_s;
  };
  // At 240 V the shielded part stops at -3.5 V, the open one (mu 48) at -5.5 V.
  double before = mu_at(0);
  // Slopes go with the root of what is left above cut-off: 3.5 V and 5.5 V.
  const double well = 0.8 * std::sqrt(3.5), open = 0.2 * std::sqrt(5.5);
  CHECK(within_ratio(before, (well + open) / (well / 80 + open / 48), 1e-9));
  for (const double grid_v : {-1.0, -2.0, -3.0, -3.5}) {
    CHECK(mu_at(grid_v) < before);
    before = mu_at(grid_v);
  }
  CHECK(within_ratio(mu_at(-5), 48, 1e-6));  // the other part's current there is e^-30 of a foot
}
