/// An output valve as the splitter sees it: a grid that has a capacitance and draws current when driven
/// positive.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stagemodels/tubes/grid_diode.h"
#include "stagemodels/tubes/output_law.h"
#include "stagemodels/tubes/sourced.h"

namespace antiphase {

/// One published way to run a push-pull pair. Either bias_v or cathode_ohm stands.
struct OutputValveCondition {
  std::string connection;       ///< "pentode" (beam tetrodes too), "ultralinear", "triode"
  std::string operating_class;  ///< "A", "AB1", "AB2", "B"; empty: not published
  double plate_v = 0;
  std::optional<double> screen_v;
  std::optional<double> bias_v;  ///< fixed, < 0
  std::optional<double>
      cathode_ohm;  ///< of the pair's common resistor, or of each valve's own: the source says
  std::optional<double> drive_grid_to_grid_peak_v;
  std::string source;
};

/// What the grid circuit of an output valve asks for, and the law of its currents if the card has one.
struct OutputValve {
  std::string name;
  std::vector<std::string> also_known_as;
  GridDiode grid;                ///< of one valve, against its cathode
  double grid_conduction_v = 0;  ///< where it takes GridDiode::kOnset_a
  std::string grid_conduction_source;
  std::string grid_source;  ///< where the resistance and the slope of `grid` are from
  std::optional<Sourced> grid_leak_ohm_max_fixed_bias;
  std::optional<Sourced> grid_leak_ohm_max_self_bias;
  double grid_to_rest_f = 0,
         grid_plate_f = 0;  ///< grid to all but the plate, and to the plate; 0: not published
  std::string capacitance_source;
  std::optional<Sourced> input_f;     ///< effective, Miller part included, without wiring
  std::optional<OutputValveLaw> law;  ///< empty: the card has none, and its pair cannot be solved
  std::vector<OutputValveCondition> conditions;
  std::string notes;
};

}  // namespace antiphase
