/// `antiphase spread`: how builds of one design scatter, and what to measure at first switch-on.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "optimize/program/cards_asked.h"

namespace antiphase {

struct SpreadArguments {
  std::string design_file;
  std::string brief_file;       ///< empty: limits of tubes and parts alone
  std::string tolerances_file;  ///< empty: the defaults
  CardsAsked tubes;
  std::vector<std::string> tube_readings;  ///< files with readings of one very tube each
  int samples = 10000;
  std::uint64_t seed = 1;
  int threads = 0;  ///< 0: all processors
  std::optional<double> resistor_pct, emission_left;
  bool select = false;  ///< what a part set in each build is worth
  bool sheet = false;   ///< print the measuring sheet alone
  bool json = false;
};

/// @return an exit code.
int run_spread(const SpreadArguments& arguments);

}  // namespace antiphase
