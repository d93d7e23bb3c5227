/// Tubes and designs that several tests need.
#pragma once

#include <cmath>
#include <random>
#include <string>

#include "stagemodels/design.h"

namespace antiphase::testing {

/// A tube with one law and a grid that conducts from `grid_conduction_v`; no ratings.
inline Tube tube_with(TriodeLaw law, double grid_conduction_v = -0.6) {
  Tube tube;
  tube.name = "test";
  tube.grid_conduction_v = {grid_conduction_v, "test"};
  tube.models.push_back({law, "test"});
  return tube;
}

/// A pentode with that law.
inline Tube pentode_with(const SuppressorPentode& law, double grid_conduction_v = -0.6) {
  Tube tube = tube_with(screen_on_plate(law), grid_conduction_v);
  tube.pentode.given = true;
  tube.pentode.law = law;
  return tube;
}
// The law of the EF86's card, rounded.
inline const SuppressorPentode kSmallPentode{200, 1.33, 184, 100, 0.0052, 4.9, 10};

// Koren 1996, published parameter sets (Glass Audio 8 (1996) no. 5).
inline const Koren1996 kKoren12AX7{100, 1.4, 1060, 600, 300, 0};
inline const Koren1996 kKoren12AT7{60, 1.35, 460, 300, 300, 0};
inline const Koren1996 kKoren12AU7{21.5, 1.3, 1180, 84, 300, 0};
inline const Koren1996 kKoren6DJ8{28, 1.3, 330, 320, 300, 0};
// Dempwolf & Zoelzer, DAFx-11, measured set RSD-2.
inline const DempwolfZoelzer2011 kRsd2{2.173e-3, 100.2, 1.28, 3.19, 5.911e-4, 1.358, 11.76, 4.527e-8};

/// A pair that any of the high-mu tubes is at home in.
inline Design pair_of(const Tube& tube, BiasForm bias = BiasForm::self_biased,
                      TailForm tail = TailForm::resistor) {
  Design d;
  d.tube = {&tube, &tube};
  d.supply_v = 320;
  d.plate_ohm = {150e3, 160e3};
  d.bias = {bias, 1500, 60, -100};
  d.tail.form = tail;
  d.tail.ohm = bias == BiasForm::self_biased ? 47e3 : bias == BiasForm::direct_coupled ? 68e3 : 100e3;
  d.tail.current_a = 1e-3;
  d.balancing_ohm = 560e3;
  d.divider_foot_ohm = 15e3;
  d.load_ohm = 220e3;
  d.swing_peak_v = 25;
  return d;
}

struct RandomNumbers {
  std::mt19937_64 engine;
  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(engine);
  }
  double log_between(double low, double high) { return std::exp(between(std::log(low), std::log(high))); }
  int below(int n) { return std::uniform_int_distribution<int>(0, n - 1)(engine); }
};

}  // namespace antiphase::testing
