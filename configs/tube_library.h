/// All tube cards of a folder. The tubes keep their addresses for the life of the library.
#pragma once

#include <list>
#include <string>
#include <string_view>
#include <vector>

#include "configs/faults.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

class TubeLibrary {
 public:
  TubeLibrary() = default;
  TubeLibrary(TubeLibrary&&) = default;  ///< the tubes move along and keep their addresses
  TubeLibrary& operator=(TubeLibrary&&) = default;
  TubeLibrary(const TubeLibrary&) = delete;  ///< a copy's tubes would have other addresses
  TubeLibrary& operator=(const TubeLibrary&) = delete;

  const Tube* find(std::string_view name_or_alias) const;  ///< case does not matter; null if unknown
  std::vector<std::string> nearest_names(std::string_view name, int count) const;
  const std::list<Tube>& tubes() const { return tubes_; }  ///< sorted by name
  void add(Tube tube);

 private:
  std::list<Tube> tubes_;  // a list: sorted insertion moves nothing
};

/// Reads every *.json of `folder` (not those beginning with a dot) as a tube card. Faults of all
/// cards are gathered; a name or alias that stands on two cards is one.
OrFaults<TubeLibrary> read_tube_library(const std::string& folder);

/// Reads one card. The layout is described in configs/schema/tube.schema.json.
OrFaults<Tube> read_tube(const std::string& file);

/// Reads one card from its text; `file` is only a name for messages.
OrFaults<Tube> read_tube_text(std::string text, const std::string& file);

}  // namespace antiphase
