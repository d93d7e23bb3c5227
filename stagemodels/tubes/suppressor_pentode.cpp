#include "stagemodels/tubes/suppressor_pentode.h"

#include "stagemodels/tubes/space_current.h"

namespace antiphase {

OutputCurrents SuppressorPentode::currents(const ElectrodeVoltages& v) const {
  const double plate_v = v.plate > 0 ? v.plate : 0.0, widened_v = plate_v + knee_v;
  const SpaceCurrent ik = space_current(*this, v.grid, v.screen + through * plate_v);
  const double r = ratio(plate_v), share = r / (1 + r);
  const double share_per_plate =
      v.plate > 0 ? division * knee_v / (widened_v * widened_v * (1 + r) * (1 + r)) : 0.0;
  const double moved = ik.a * share_per_plate;  // from the screen to the plate, a volt
  const double by_plate = v.plate > 0 ? through * ik.per_equivalent_s : 0.0;
  return {share * ik.a,
          share * ik.per_grid_s,
          share * ik.per_equivalent_s,
          share * by_plate + moved,
          (1 - share) * ik.a,
          (1 - share) * ik.per_grid_s,
          (1 - share) * ik.per_equivalent_s,
          (1 - share) * by_plate - moved};
}

}  // namespace antiphase
