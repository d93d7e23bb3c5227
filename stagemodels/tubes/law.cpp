#include "stagemodels/tubes/law.h"

namespace antiphase {

TriodeCurrents currents_at(const TriodeLaw& law, double grid_to_cathode_v, double plate_to_cathode_v) {
  TriodeRows rows;
  std::visit([&](const auto& l) { l.currents(&grid_to_cathode_v, &plate_to_cathode_v, 1, rows); }, law);
  return {rows.plate_a[0], rows.plate_per_grid_s[0], rows.plate_per_plate_s[0], rows.grid_a[0],
          rows.grid_per_grid_s[0]};
}

bool has_grid_current(const TriodeLaw& law) {
  return std::visit([](const auto& l) { return l.kGridCurrent; }, law);
}

}  // namespace antiphase
