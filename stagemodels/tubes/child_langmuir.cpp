#include "stagemodels/tubes/child_langmuir.h"

#include <cmath>

namespace antiphase {

void ChildLangmuir::currents(const double* grid_v, const double* plate_v, int instants,
                             TriodeRows& out) const {
  for (int n = 0; n < instants; ++n) {
    const double u = std::fmax(grid_v[n] + plate_v[n] / mu + offset_v, 0.0);
    const double root = std::sqrt(u);
    const double slope = 1.5 * k * root;
    out.plate_a[n] = k * u * root;
    out.plate_per_grid_s[n] = slope;
    out.plate_per_plate_s[n] = slope / mu;
    out.grid_a[n] = 0;
    out.grid_per_grid_s[n] = 0;
  }
}

}  // namespace antiphase
