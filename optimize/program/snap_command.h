/// `antiphase snap`: preferred values near a value.
#pragma once

#include <string>

namespace antiphase {

struct SnapArguments {
  std::string value;
  std::string series = "E24";
  int combinations = 5;
  bool json = false;
};

/// @return an exit code.
int run_snap(const SnapArguments& arguments);

}  // namespace antiphase
