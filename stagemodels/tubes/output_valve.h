/// An output valve as the splitter sees it: a grid that has a capacitance and draws current when driven
/// positive.
#pragma once

#include <string>
#include <vector>

#include "stagemodels/tubes/grid_diode.h"

namespace antiphase {

struct OutputValve {
  std::string name;
  std::vector<std::string> also_known_as;
  GridDiode grid;                ///< of one valve, against its cathode
  double grid_conduction_v = 0;  ///< where it takes GridDiode::kOnset_a
  std::string grid_source;
};

}  // namespace antiphase
