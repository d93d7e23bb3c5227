#include "stagemodels/tubes/space_current_pentode.h"

#include <cmath>

#include "stagemodels/tubes/space_current.h"

namespace antiphase {

OutputCurrents SpaceCurrentPentode::currents(const ElectrodeVoltages& v) const {
  const bool takes = v.plate > 0 && v.screen > 0;
  const double plate_v = takes ? v.plate : 0.0, screen_v = takes ? v.screen : 1.0;
  const SpaceCurrent ik = space_current(*this, v.grid, v.screen + through * plate_v);
  // r = division va / sqrt(vs (va + knee)), the plate's current over the screen's
  const double widened_v = plate_v + knee_v;
  const double r = division * plate_v / std::sqrt(screen_v * widened_v);
  const double r_per_plate =
      takes ? division * (0.5 * plate_v + knee_v) / (widened_v * std::sqrt(screen_v * widened_v)) : 0.0;
  const double r_per_screen = takes ? -0.5 * r / screen_v : 0.0;
  const double share = r / (1 + r), share_per_r = 1 / ((1 + r) * (1 + r));
  const double moved_by_plate = ik.a * share_per_r * r_per_plate;  // from the screen to the plate, a volt
  const double moved_by_screen = ik.a * share_per_r * r_per_screen;
  const double by_plate = v.plate > 0 ? through * ik.per_equivalent_s : 0.0;
  return {share * ik.a,
          share * ik.per_grid_s,
          share * ik.per_equivalent_s + moved_by_screen,
          share * by_plate + moved_by_plate,
          (1 - share) * ik.a,
          (1 - share) * ik.per_grid_s,
          (1 - share) * ik.per_equivalent_s - moved_by_screen,
          (1 - share) * by_plate - moved_by_plate};
}

}  // namespace antiphase
