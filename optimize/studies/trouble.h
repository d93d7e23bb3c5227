/// Why a study has no result.
#pragma once

#include <string>
#include <variant>

namespace antiphase {

struct Trouble {
  std::string what;       ///< a sentence for people, without a full stop
  bool of_files = false;  ///< a file could not be read or written; else what was given is wrong
};

template <class T>
using OrTrouble = std::variant<T, Trouble>;

}  // namespace antiphase
