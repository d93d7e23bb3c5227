#include "stagemodels/tubes/section.h"

#include <algorithm>

namespace antiphase {

int Tube::credible_laws() const {
  return static_cast<int>(
             std::count_if(models.begin() + 1, models.end(), [](const TubeModel& m) { return m.credible; })) +
         1;
}

const TriodeLaw& Tube::law(int which) const {
  const TubeModel* last = &models.front();
  for (std::size_t k = 1; k < models.size() && which > 0; ++k)
    if (models[k].credible) {
      last = &models[k];
      --which;
    }
  return last->law;
}

TriodeCurrents TriodeSection::currents_at(double grid_to_cathode_v, double plate_to_cathode_v) const {
  const double per_mu = 1 / spread.mu;
  TriodeCurrents c = antiphase::currents_at(*law, grid_to_cathode_v, plate_to_cathode_v * per_mu);
  c.plate_a *= spread.current;
  c.plate_per_grid_s *= spread.current;
  c.plate_per_plate_s *= spread.current * per_mu;
  if (!grid_silent_at(grid_to_cathode_v) && !antiphase::has_grid_current(*law))
    tube->grid_diode.add(&grid_to_cathode_v, 1, &c.grid_a, &c.grid_per_grid_s);
  return c;
}

}  // namespace antiphase
