/// `antiphase tubes`: the library, or one tube with its points against its model.
#pragma once

#include <string>

namespace antiphase {

struct TubesArguments {
  std::string name;  ///< empty: the whole library
  std::string tubes;
  bool json = false;
};

/// @return an exit code.
int run_tubes(const TubesArguments& arguments);

}  // namespace antiphase
