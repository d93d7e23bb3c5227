/// `antiphase evaluate`: every figure of one design.
#pragma once

#include <string>

namespace antiphase {

struct EvaluateArguments {
  std::string design_file;
  std::string tubes;
  bool json = false;
};

/// @return an exit code.
int run_evaluate(const EvaluateArguments& arguments);

}  // namespace antiphase
