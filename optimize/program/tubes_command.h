/// `antiphase tubes`: the library, one tube, its substitutes, or every tube tried for a brief.
#pragma once

#include <string>

#include "optimize/program/cards_asked.h"

namespace antiphase {

struct TubesArguments {
  std::string name;  ///< empty: the whole library, unless a brief is given
  std::string plot;  ///< file for the picture of its plate curves; empty: none
  bool substitutes = false;
  std::string brief_file;  ///< rank all tubes for it; empty: do not
  CardsAsked tubes;
  int threads = 0;  ///< of searches; 0: all processors
  bool quiet = false;
  bool json = false;
};

/// @return an exit code.
int run_tubes(const TubesArguments& arguments);

}  // namespace antiphase
