/// Output pairs for tests: valves of one's own law.
#pragma once

#include "stagemodels/output/pair_solver.h"

namespace antiphase::testing {

inline OutputValve valve_with(const OutputLaw& law, double onset_v = -0.6) {
  OutputValve v;
  v.name = "made up";
  v.law = OutputValveLaw{law, {}, "made up"};
  v.grid_conduction_v = onset_v;
  v.grid = grid_diode(onset_v);
  return v;
}

/// i = gm (vg + va / mu) where that is positive: the exponent is 1, and the cut-off is sharp.
inline OutputLaw linear_triode(double mu, double rp_ohm) {
  return Koren1996{.mu = mu, .ex = 1, .kg1 = 2 * rp_ohm / mu, .kp = 1e5, .kvb = 0, .vct = 0};
}

inline OutputPair fixed_bias_pair(const OutputValve& valve, double supply_v, double bias_v,
                                  double plate_to_plate_ohm) {
  OutputPair p;
  p.valve = {&valve, &valve};
  p.supply_v = p.screen_v = supply_v;
  p.bias_v = bias_v;
  p.transformer.plate_to_plate_ohm = plate_to_plate_ohm;
  return p;
}

}  // namespace antiphase::testing
