/// `antiphase evaluate`: every figure of one design, or the main ones of several side by side.
#pragma once

#include <string>
#include <vector>

#include "optimize/program/cards_asked.h"

namespace antiphase {

struct EvaluateArguments {
  std::vector<std::string> design_files;  ///< one at least
  CardsAsked tubes;
  std::vector<std::string> tube_readings;  ///< files with readings of one very tube each
  std::string parts;                       ///< file for the parts list (CSV); empty: none
  std::string netlist;                     ///< file for the netlist; empty: none
  bool explain = false;                    ///< print everything and not only what is asked first
  bool json = false;
};

/// @return an exit code.
int run_evaluate(const EvaluateArguments& arguments);

}  // namespace antiphase
