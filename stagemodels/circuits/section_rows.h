/// The currents of a stage's sections at all instants of a sweep, grid current of every kind included.
#pragma once

#include "stagemodels/tubes/section.h"

namespace antiphase {

/// Section i's instants stand at i * n … of each row.
struct SectionRows {
  TriodeRows rows;
  alignas(64) Row grid_v, plate_v;  ///< to the cathode
};

/// Adds the diode's current to `count` instants, unless none of them draws any.
inline void add_grid_diode(const GridDiode& diode, const double* grid_v, int count, double* grid_a,
                           double* grid_s) {
  if (!diode.conducts()) return;
  double highest = grid_v[0];
  for (int k = 1; k < count; ++k) highest = grid_v[k] > highest ? grid_v[k] : highest;
  if (!diode.silent_at(highest)) diode.add(grid_v, count, grid_a, grid_s);
}

/// Fills the currents from the voltages at `n` instants. Sections that are alike share one sweep of their
/// law.
template <int Sections>
inline void sweep_sections(const std::array<TriodeSection, 2>& section, int n, SectionRows& s) {
  const auto sweep = [&](int first, int count, TriodeRows& out) {
    std::visit(
        [&](const auto& l) { l.currents(&s.grid_v[first * n], &s.plate_v[first * n], count * n, out); },
        *section[first].law);
  };
  const bool alike = Sections == 1 || section[0] == section[1];
  if (alike && section[0].spread.none()) {
    sweep(0, Sections, s.rows);
  } else {
    for (int i = 0; i < Sections; ++i) {
      TriodeRows own;
      const double current = section[i].spread.current, per_mu = 1 / section[i].spread.mu;
      for (int k = i * n; k < (i + 1) * n; ++k) s.plate_v[k] *= per_mu;
      sweep(i, 1, own);
      for (int k = 0; k < n; ++k) {
        s.rows.plate_a[i * n + k] = own.plate_a[k] * current;
        s.rows.plate_per_grid_s[i * n + k] = own.plate_per_grid_s[k] * current;
        s.rows.plate_per_plate_s[i * n + k] = own.plate_per_plate_s[k] * current * per_mu;
        s.rows.grid_a[i * n + k] = own.grid_a[k];
        s.rows.grid_per_grid_s[i * n + k] = own.grid_per_grid_s[k];
      }
    }
  }
  for (int i = 0; i < Sections; ++i)
    if (!has_grid_current(*section[i].law))
      add_grid_diode(section[i].tube->grid_diode, &s.grid_v[i * n], n, &s.rows.grid_a[i * n],
                     &s.rows.grid_per_grid_s[i * n]);
}

}  // namespace antiphase
