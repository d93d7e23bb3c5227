/// The currents of one triode section, for one instant and for a row of instants.
#pragma once

#include <array>

namespace antiphase {

/// Most instants that one sweep handles; a multiple of 8 so that rows fill whole vectors.
inline constexpr int kMaxInstants = 64;

/// One number per instant. Entries past the instants in use hold no meaning.
using Row = std::array<double, kMaxInstants>;

/// Currents of one section at one instant. A, A/V. Those of a screen are 0 where the section has none.
struct TriodeCurrents {
  double plate_a = 0;            ///< into the plate
  double plate_per_grid_s = 0;   ///< d plate_a / d grid-to-cathode voltage (gm)
  double plate_per_plate_s = 0;  ///< d plate_a / d plate-to-cathode voltage (1/rp)
  double grid_a = 0;             ///< into the grid; 0 for laws without grid current
  double grid_per_grid_s = 0;    ///< d grid_a / d grid-to-cathode voltage
  double plate_per_screen_s = 0;
  double screen_a = 0;  ///< into the screen
  double screen_per_grid_s = 0, screen_per_plate_s = 0, screen_per_screen_s = 0;
};

/// The same for `instants` instants, one row per quantity.
struct TriodeRows {
  alignas(64) Row plate_a;
  alignas(64) Row plate_per_grid_s;
  alignas(64) Row plate_per_plate_s;
  alignas(64) Row grid_a;
  alignas(64) Row grid_per_grid_s;
};

/// What a section with a screen has beside that.
struct ScreenRows {
  alignas(64) Row plate_per_screen_s, screen_a, screen_per_grid_s, screen_per_plate_s, screen_per_screen_s;
};

}  // namespace antiphase
