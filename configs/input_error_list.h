/// Where the errors of one file are gathered.
#pragma once

#include <string>

#include "configs/input_errors.h"
#include "configs/json_document.h"

namespace antiphase {

class InputErrorList {
 public:
  explicit InputErrorList(std::string file) : file_(std::move(file)) {}

  /// `pointer`: JSON pointer of the place, "" for the whole file.
  void add(const std::string& pointer, Place place, std::string what);
  bool empty() const { return errors_.list.empty(); }
  bool full() const { return static_cast<int>(errors_.list.size()) >= kMostErrors; }
  /// In order of place. Beyond kMostErrors only their number is kept.
  InputErrors take();

 private:
  static constexpr int kMostErrors = 100;  ///< nobody reads more; a hostile file could make millions
  std::string file_;
  InputErrors errors_;
  int not_kept_ = 0;
};

/// `pointer` with one more step; ~ and / in the name are written ~0 and ~1 (RFC 6901).
std::string pointer_to(const std::string& pointer, std::string_view name);

/// One error about a whole file that could not be read.
InputErrors unreadable(const std::string& file, std::string what);

}  // namespace antiphase
