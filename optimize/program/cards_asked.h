/// Which tube cards a command is to know.
#pragma once

#include <string>

namespace antiphase {

struct CardsAsked {
  std::string added;  ///< --tubes DIR: beside those that come with the program; empty: none
  std::string only;   ///< --only-tubes DIR: instead of those; empty: no
};

}  // namespace antiphase
