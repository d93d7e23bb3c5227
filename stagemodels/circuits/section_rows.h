/// The currents of a stage's sections at all instants of a sweep, grid current of every kind included.
#pragma once

#include <algorithm>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// Section i's instants stand at i * N … of each row.
struct SectionRows {
  TriodeRows rows;
  alignas(64) Row grid_v, plate_v;  ///< to the cathode
};

/// Adds the diode's current to the N instants of a row from `first` on, unless none of them draws any.
template <int N>
inline void add_grid_diode(const GridDiode& diode, const double* grid_v, double* grid_a, double* grid_s) {
  if (!diode.conducts()) return;
  double highest = grid_v[0];
  for (int k = 1; k < N; ++k) highest = grid_v[k] > highest ? grid_v[k] : highest;
  if (!diode.silent_at(highest)) diode.add(grid_v, N, grid_a, grid_s);
}

/// Fills the currents from the voltages. Sections of the same tube share one sweep of its law.
template <int N, int Sections>
inline void sweep_sections(const std::array<const Tube*, 2>& tube, SectionRows& s) {
  const auto sweep = [&](const TriodeLaw& law, int from, int count, TriodeRows& out) {
    std::visit([&](const auto& l) { l.currents(&s.grid_v[from], &s.plate_v[from], count, out); }, law);
  };
  if (Sections == 2 && tube[0] != tube[1]) {
    TriodeRows second;
    sweep(tube[0]->law(), 0, N, s.rows);
    sweep(tube[1]->law(), N, N, second);
    for (Row TriodeRows::*row :
         {&TriodeRows::plate_a, &TriodeRows::plate_per_grid_s, &TriodeRows::plate_per_plate_s,
          &TriodeRows::grid_a, &TriodeRows::grid_per_grid_s})
      std::copy_n((second.*row).begin(), N, (s.rows.*row).begin() + N);
  } else {
    sweep(tube[0]->law(), 0, Sections * N, s.rows);
  }
  for (int i = 0; i < Sections; ++i)
    if (!has_grid_current(tube[i]->law()))
      add_grid_diode<N>(tube[i]->grid_diode, &s.grid_v[i * N], &s.rows.grid_a[i * N],
                        &s.rows.grid_per_grid_s[i * N]);
}

}  // namespace antiphase
