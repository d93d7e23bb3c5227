/// What is wrong with a file, and where. Reading gives a value or the list of all errors.
#pragma once

#include <string>
#include <variant>
#include <vector>

namespace antiphase {

struct InputError {
  std::string file;
  std::string pointer;       ///< JSON pointer of the place, "" for the whole file
  int line = 0, column = 0;  ///< from 1; 0: not known
  std::string what;          ///< what is wrong and what would be right
};

struct InputErrors {
  bool unreadable = false;       ///< the file could not be opened or read at all (exit code 3, not 2)
  std::vector<InputError> list;  ///< not empty
};

/// "file:line:column: /pointer: what", one per line, in order of place.
std::string in_words(const InputErrors&);

template <class T>
using OrErrors = std::variant<T, InputErrors>;

}  // namespace antiphase
