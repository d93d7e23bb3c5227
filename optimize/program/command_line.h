/// What was asked on the command line.
#pragma once

#include <string>
#include <variant>

#include "optimize/program/evaluate_command.h"
#include "optimize/program/fit_command.h"
#include "optimize/program/new_command.h"
#include "optimize/program/readings_command.h"
#include "optimize/program/search_command.h"
#include "optimize/program/snap_command.h"
#include "optimize/program/spread_command.h"
#include "optimize/program/tubes_command.h"

namespace antiphase {

/// A text to print on standard output: help, versions, the manual page, completions for a shell.
struct TextAsked {
  std::string text;
};

/// A command line that cannot be followed, in words, without the name of the program.
struct WrongUsage {
  std::string what;
};

using CommandAsked =
    std::variant<TextAsked, WrongUsage, SearchArguments, EvaluateArguments, SpreadArguments,
                 ReadingsArguments, TubesArguments, SnapArguments, FitArguments, NewArguments>;

/// Reads a command line; runs nothing and opens no file.
/// @param argv argc strings, the program's name first.
CommandAsked read_command_line(int argc, const char* const* argv);

}  // namespace antiphase
