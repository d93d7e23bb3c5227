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

namespace {

TriodeCurrents of_pentode(const TriodeSection& s, double grid_v, double plate_v, double screen_v) {
  const double by = s.spread.current, per_mu = 1 / s.spread.mu;
  const OutputCurrents c =
      s.pentode->currents({.grid = grid_v, .screen = screen_v * per_mu, .plate = plate_v * per_mu});
  return {.plate_a = c.plate_a * by,
          .plate_per_grid_s = c.plate_per_grid_s * by,
          .plate_per_plate_s = c.plate_per_plate_s * by * per_mu,
          .plate_per_screen_s = c.plate_per_screen_s * by * per_mu,
          .screen_a = c.screen_a * by,
          .screen_per_grid_s = c.screen_per_grid_s * by,
          .screen_per_plate_s = c.screen_per_plate_s * by * per_mu,
          .screen_per_screen_s = c.screen_per_screen_s * by * per_mu};
}

TriodeCurrents of_triode(const TriodeSection& s, double grid_v, double plate_v) {
  const double per_mu = 1 / s.spread.mu;
  TriodeCurrents c = antiphase::currents_at(*s.law, grid_v, plate_v * per_mu);
  c.plate_a *= s.spread.current;
  c.plate_per_grid_s *= s.spread.current;
  c.plate_per_plate_s *= s.spread.current * per_mu;
  return c;
}

}  // namespace

TriodeCurrents TriodeSection::currents_at(double grid_to_cathode_v, double plate_to_cathode_v,
                                          double screen_to_cathode_v) const {
  TriodeCurrents c = pentode ? of_pentode(*this, grid_to_cathode_v, plate_to_cathode_v, screen_to_cathode_v)
                             : of_triode(*this, grid_to_cathode_v, plate_to_cathode_v);
  if (!grid_silent_at(grid_to_cathode_v) && !antiphase::has_grid_current(*law))
    tube->grid_diode.add(&grid_to_cathode_v, 1, &c.grid_a, &c.grid_per_grid_s);
  return c;
}

}  // namespace antiphase
