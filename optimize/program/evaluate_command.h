/// `antiphase evaluate`: every figure of one design.
#pragma once

#include <string>

namespace antiphase {

struct EvaluateArguments {
  std::string design_file;
  std::string tubes;
  std::string parts;     ///< file for the parts list (CSV); empty: none
  std::string netlist;   ///< file for the netlist; empty: none
  bool explain = false;  ///< print everything and not only what is asked first
  bool json = false;
};

/// @return an exit code.
int run_evaluate(const EvaluateArguments& arguments);

}  // namespace antiphase
