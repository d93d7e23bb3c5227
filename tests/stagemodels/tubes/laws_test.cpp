#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "stagemodels/tubes/law.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

// Published parameter sets: N. Koren, Glass Audio 8 (1996) no. 5, and later refits of that form from
// public parameter lists (the second one of each pair); K. Dempwolf, U. Zoelzer, DAFx-11 (2011).
const Koren1996 kKoren12AX7{100, 1.4, 1060, 600, 300, 0};
const Koren1996 kRefitEcc83{99.95, 1.431, 1659.3, 688.57, 284.1, 0.5};
const Koren1996 kKoren12AU7{21.5, 1.3, 1180, 84, 300, 0};
const Koren1996 kRefitEcc82{19.98, 1.291, 1359, 87.34, 300, 0};
const Koren1996 kKoren12AT7{60, 1.35, 460, 300, 300, 0};
const Koren1996 kRefitEcc81{77.09, 1.077, 320.1, 231.05, 300, 0};
const Koren1996 kKoren6DJ8{28, 1.3, 330, 320, 300, 0};
const Koren1996 kRefit6922{31.75, 1.177, 233.1, 288.17, 83.4, 0};
const Koren1996 kRefit6SN7GTB{21.54, 1.316, 1261.1, 156.78, 296.4, 0};
const Koren1996 kRefit12BH7A{24.59, 1.343, 594.4, 73.01, 300, 0};
const Koren1996 kRefit12AY7{44.16, 1.113, 1192.4, 409.96, 300, 0};
const DempwolfZoelzer2011 kRsd1{2.242e-3, 103.2, 1.26, 3.40, 6.177e-4, 1.314, 9.901, 8.025e-8};
const DempwolfZoelzer2011 kRsd2{2.173e-3, 100.2, 1.28, 3.19, 5.911e-4, 1.358, 11.76, 4.527e-8};
const DempwolfZoelzer2011 kEhx1{1.371e-3, 86.9, 1.349, 4.56, 3.263e-4, 1.156, 11.99, 3.917e-8};

struct Value {
  const char* set;
  TriodeLaw law;
  double plate_v, grid_v, plate_ma, gm_ma_per_v, mu, rp_kohm;
};

// Worked out from the published equations by an independent program; the 12AX7 currents agree with
// an independent public table to all four digits printed.
const std::vector<Value> kValues{
    {"Koren 12AX7", kKoren12AX7, 100, -1, 0.1004, 0.588, 82.6, 140.6},
    {"Koren 12AX7", kKoren12AX7, 250, -2, 0.9518, 1.670, 89.7, 53.7},
    {"Koren 12AX7", kKoren12AX7, 200, -1.5, 0.8625, 1.726, 91.4, 53.0},
    {"ECC83 refit", kRefitEcc83, 100, -1, 0.4622, 1.237, 98.0, 79.2},
    {"ECC83 refit", kRefitEcc83, 250, -2, 1.2518, 1.638, 96.6, 59.0},
    {"RSD-1", kRsd1, 100, -1, 0.2743, 0.867, 103.2, 119.0},
    {"RSD-1", kRsd1, 250, -2, 0.9013, 1.891, 103.2, 54.6},
    {"RSD-2", kRsd2, 100, -1, 0.3061, 0.903, 100.2, 111.0},
    {"RSD-2", kRsd2, 250, -2, 1.0198, 1.954, 100.2, 51.3},
    {"EHX-1", kEhx1, 100, -1, 0.2000, 0.748, 86.9, 116.2},
    {"EHX-1", kEhx1, 250, -2, 1.1553, 1.738, 86.9, 50.0},
    {"Koren 12AU7", kKoren12AU7, 100, 0, 12.585, 3.380, 20.7, 6.11},
    {"Koren 12AU7", kKoren12AU7, 250, -8.5, 10.394, 2.480, 18.0, 7.25},
    {"ECC82 refit", kRefitEcc82, 100, 0, 11.813, 2.956, 19.4, 6.56},
    {"ECC82 refit", kRefitEcc82, 250, -8.5, 10.729, 2.383, 17.5, 7.35},
    {"Koren 12AT7", kKoren12AT7, 250, -2, 12.844, 7.221, 56.9, 7.88},
    {"ECC81 refit", kRefitEcc81, 250, -2, 9.979, 5.276, 62.1, 11.8},
    {"Koren 6DJ8", kKoren6DJ8, 90, -1.3, 14.324, 9.426, 27.9, 2.96},
    {"6922 refit", kRefit6922, 90, -1.3, 14.301, 10.772, 31.6, 2.93},
    {"6SN7GTB refit", kRefit6SN7GTB, 90, 0, 10.413, 3.219, 21.1, 6.57},
    {"6SN7GTB refit", kRefit6SN7GTB, 250, -8, 9.130, 2.874, 20.6, 7.16},
    {"12BH7A refit", kRefit12BH7A, 250, -10.5, 9.837, 2.831, 16.5, 5.84},
    {"12AY7 refit", kRefit12AY7, 250, -4, 3.045, 1.859, 43.1, 23.2},
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
