/// `antiphase readings`: what is in the box, from what a meter read.
#pragma once

#include <optional>
#include <string>

#include "optimize/program/cards_asked.h"

namespace antiphase {

struct ReadingsArguments {
  std::string design_file;
  std::string meter_file;       ///< empty: readings are asked for at the terminal
  std::string tolerances_file;  ///< empty: the defaults
  CardsAsked tubes;
  std::string meter_ohm;  ///< as it was typed; empty: 10 megohms
  std::optional<double> accuracy_pct, resistor_pct, emission_left;
  int threads = 0;  ///< 0: all processors
  bool ask = false;
  bool pairs = false;  ///< two faults at once too
  bool json = false;
};

/// @return an exit code.
int run_readings(const ReadingsArguments& arguments);

}  // namespace antiphase
