/// A tube type as its card describes it: ratings, published points, and the laws that stand for it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stagemodels/tubes/base.h"
#include "stagemodels/tubes/grid_diode.h"
#include "stagemodels/tubes/law.h"
#include "stagemodels/tubes/output_law.h"
#include "stagemodels/tubes/sourced.h"

namespace antiphase {

/// Limits per section unless said otherwise. Empty: not published for this type.
/// Where a sheet gives design-centre and design-maximum values, the design-centre one stands here.
struct TubeRatings {
  std::optional<Sourced> plate_v_max;                               ///< plate to cathode, working, V
  std::optional<Sourced> plate_cold_v_max;                          ///< plate to cathode with no current, V
  std::optional<Sourced> plate_w_max;                               ///< one plate, W
  std::optional<Sourced> plates_total_w_max;                        ///< both plates together, W
  std::optional<Sourced> cathode_current_a_max;                     ///< DC, A
  std::optional<Sourced> grid_v_negative_max;                       ///< grid below cathode, V, > 0
  std::optional<Sourced> heater_cathode_v_max_cathode_positive;     ///< peak, V
  std::optional<Sourced> heater_cathode_v_max_cathode_negative;     ///< peak, V
  std::optional<Sourced> heater_cathode_v_max_cathode_positive_dc;  ///< DC part, V
  std::optional<Sourced> grid_leak_ohm_max_fixed_bias;
  std::optional<Sourced> grid_leak_ohm_max_self_bias;
};

struct TubeCapacitances {  ///< per section, F
  double grid_plate_f = 0, grid_cathode_f = 0, plate_cathode_f = 0;
  std::string source;
};

struct TubeHeater {
  double volt_v = 6.3, current_a = 0;
  std::string source;
};

/// One typical operating point. plate_v and plate_current_a always stand; the rest if published.
struct PublishedPoint {
  double plate_v = 0;
  std::optional<double> grid_v;       ///< V; or
  std::optional<double> cathode_ohm;  ///< the cathode resistor that sets the bias
  std::optional<double> plate_current_a;
  std::optional<double> gm_s, mu, rp_ohm;
  std::string source;
};

struct TubeModel {
  TriodeLaw law;
  std::string source;  ///< publication, or how it was fitted and to what
  bool credible =
      false;  ///< meets what is published well enough to stand for the type; the first always does
};

/// What a pentode has beside what a triode has. As a triode, with its screen on the plate, it follows the
/// tube's models.
struct Pentode {
  bool given = false;  ///< false: the tube is a triode, and the rest has no meaning
  SuppressorPentode law;
  std::string source;                        ///< of the law: what it was fitted to
  std::vector<OutputValvePoint> points;      ///< those
  std::optional<Sourced> screen_v_max;       ///< to the cathode, working, V
  std::optional<Sourced> screen_cold_v_max;  ///< the same with no current, V
  std::optional<Sourced> screen_w_max;       ///< W
};

struct Tube {
  std::string name;
  std::vector<std::string> also_known_as;
  int sections = 2;
  std::optional<TubeBase> base;  ///< empty: the card does not say
  TubeRatings ratings;
  TubeHeater heater;
  TubeCapacitances capacitance;
  Sourced grid_conduction_v;  ///< grid-to-cathode voltage from which the grid draws current, V
  GridDiode grid_diode;       ///< grid current of laws that have none of their own
  std::string grid_diode_source;
  double plate_current_spread_pct = 0;  ///< usual spread of plate current, tube to tube
  std::string spread_source;
  std::string notes;
  std::vector<TubeModel> models;  ///< the first is used; never empty
  Pentode pentode;
  std::vector<PublishedPoint> published_points;
  std::vector<std::string> curve_files;  ///< curve readings (CSV), seen from the folder of the card

  /// How many laws stand for the type: the first, and each that its card calls credible.
  int credible_laws() const;
  /// The one that is used, or the n-th credible one (the last, if there are fewer). Reference to `models`.
  const TriodeLaw& law(int which = 0) const;
};

}  // namespace antiphase
