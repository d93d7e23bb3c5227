#include "stagemodels/tubes/tube.h"

namespace antiphase {

TriodeCurrents Tube::currents_at(double grid_to_cathode_v, double plate_to_cathode_v) const {
  TriodeCurrents c = antiphase::currents_at(law(), grid_to_cathode_v, plate_to_cathode_v);
  if (antiphase::has_grid_current(law()) || grid_diode.silent_at(grid_to_cathode_v)) return c;
  TriodeRows rows;
  rows.grid_a[0] = rows.grid_per_grid_s[0] = 0;
  grid_diode.add(&grid_to_cathode_v, 1, rows);
  c.grid_a = rows.grid_a[0];
  c.grid_per_grid_s = rows.grid_per_grid_s[0];
  return c;
}

}  // namespace antiphase
