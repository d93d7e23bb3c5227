/// Everything the solver says about an output pair.
#pragma once

#include <array>
#include <optional>

#include "stagemodels/solved.h"

namespace antiphase {

/// At rest. V, A, W.
struct PairRest {
  Solved solved = Solved::not_run;
  double cathode_v = 0;
  Pair plate_v{}, screen_v{};  ///< to ground
  Pair plate_current_a{}, screen_current_a{};
  Pair plate_w{}, screen_w{};
  Pair gm_s{}, rp_ohm{};
  double gain = 0;                  ///< volts at the load per volt at each grid, in antiphase
  double output_impedance_ohm = 0;  ///< at the load, driver's voltage held
};

/// Where the power goes over a cycle, W. Their sum is what supplies, bias and driver give.
struct PairPowers {
  double supply_w = 0, screen_supply_w = 0;
  double driver_w = 0;  ///< into the grids, what their bias takes back included
  double load_w = 0;
  double primary_w = 0, secondary_w = 0, cathode_resistor_w = 0, screen_resistor_w = 0;
  Pair plate_w{}, screen_w{}, grid_w{};
};

/// Steady state at one drive, mid-band.
struct PairState {
  Solved solved = Solved::not_run;
  Pair drive_peak_v{};  ///< fundamental that comes to each grid as long as the grid takes no current
  double power_w = 0;   ///< into the load, harmonics included
  std::array<double, kHarmonics + 1> load_v{};  ///< harmonics at the load, signed; [0] is nothing
  double thd_pct = 0;                           ///< over the fundamental, order 2 … 10
  Pair grid_to_cathode_peak_v{};
  Pair grid_current_peak_a{}, grid_current_mean_a{};
  Pair grid_shift_v{};  ///< mean of the grid against its bias
  Pair plate_current_low_a{}, plate_current_high_a{}, plate_current_mean_a{}, screen_current_mean_a{};
  Pair plate_to_cathode_low_v{};
  double cathode_v = 0;
  PairPowers powers;
  int newton_steps = 0;

  double harmonic_pct(int order) const { return 100 * load_v[static_cast<std::size_t>(order)] / load_v[1]; }
};

/// The edge of a class: the drive at which it ends. `not_run` where it was not asked for.
struct PairFigures {
  PairRest rest;
  std::optional<double> watts_wanted;
  PairState at_watts;              ///< at the watts wanted; target_out_of_reach: as far as it was followed
  PairState before_grids_conduct;  ///< where the first grid takes GridDiode::kOnset_a at its crest
  PairState class_a_end;           ///< where the first plate current falls to 1 % of rest at its least
};

}  // namespace antiphase
