/// `antiphase new`: a brief to start from.
#pragma once

#include <string>

#include "optimize/program/cards_asked.h"
#include "optimize/studies/start/starting_brief.h"

namespace antiphase {

struct NewArguments {
  StartingFacts facts;
  std::string out;  ///< file for the brief; empty: standard output
  CardsAsked tubes;
};

/// Asks at a terminal for what was not said: always if the brief is shown there too or goes into a file of
/// its own, and if it goes anywhere else only where nothing was said at all, so that no script waits.
/// @return an exit code.
int run_new(const NewArguments& arguments);

}  // namespace antiphase
