/// A writer: a report in, the text of one file out. Writers touch no file; saving is save.h's.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "results/report.h"

namespace antiphase {

/// Members are constant text and plain functions, so that a table of them needs no set-up.
struct Writer {
  std::string_view name;         ///< "candidates-json"
  std::string_view file_name;    ///< in the output folder
  std::string_view description;  ///< one sentence for people
  /// Gives: the bytes of the file, the same for the same report (run.times is the one thing that may
  /// differ between runs of one search, and stands in no writer's output but candidates-json's and the
  /// page's).
  std::string (*write)(const Report&);
};

/// All of them, in the order in which they are written.
std::span<const Writer> writers();
const Writer* find_writer(std::string_view name);  ///< null if unknown

}  // namespace antiphase
