/// All tube cards of a folder. The tubes keep their addresses for the life of the library.
#pragma once

#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "configs/faults.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

class TubeLibrary {
 public:
  const Tube* find(std::string_view name_or_alias) const;  ///< case does not matter; null if unknown
  std::vector<std::string> nearest_names(std::string_view name, int count) const;
  const std::deque<Tube>& tubes() const { return tubes_; }  ///< sorted by name
  void add(Tube tube);

 private:
  std::deque<Tube> tubes_;
};

/// Reads every *.json of `folder` as a tube card.
OrFaults<TubeLibrary> read_tube_library(const std::string& folder);

/// Reads one card.
OrFaults<Tube> read_tube(const std::string& file);

}  // namespace antiphase
