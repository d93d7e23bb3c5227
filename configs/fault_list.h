/// Where the faults of one file are gathered.
#pragma once

#include <string>

#include "configs/faults.h"
#include "configs/json_document.h"

namespace antiphase {

class FaultList {
 public:
  explicit FaultList(std::string file) : file_(std::move(file)) {}

  /// `pointer`: JSON pointer of the place, "" for the whole file.
  void add(const std::string& pointer, Place place, std::string what);
  bool empty() const { return faults_.list.empty(); }
  bool full() const { return static_cast<int>(faults_.list.size()) >= kMostFaults; }
  /// In order of place. Beyond kMostFaults only their number is kept.
  Faults take();

 private:
  static constexpr int kMostFaults = 100;  ///< nobody reads more; a hostile file could make millions
  std::string file_;
  Faults faults_;
  int not_kept_ = 0;
};

/// `pointer` with one more step; ~ and / in the name are written ~0 and ~1 (RFC 6901).
std::string pointer_to(const std::string& pointer, std::string_view name);

/// One fault about a whole file that could not be read.
Faults unreadable(const std::string& file, std::string what);

}  // namespace antiphase
