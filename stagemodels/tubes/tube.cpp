#include "stagemodels/tubes/tube.h"

namespace antiphase {

TriodeCurrents Tube::currents_at(double grid_to_cathode_v, double plate_to_cathode_v) const {
  TriodeCurrents c = antiphase::currents_at(law(), grid_to_cathode_v, plate_to_cathode_v);
  if (antiphase::has_grid_current(law()) || grid_diode.silent_at(grid_to_cathode_v)) return c;
  grid_diode.add(&grid_to_cathode_v, 1, &c.grid_a, &c.grid_per_grid_s);
  return c;
}

}  // namespace antiphase
