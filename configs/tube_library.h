/// All tube cards of a folder, and the output valves whose grids the stages may drive. Both keep their
/// addresses for the life of the library.
#pragma once

#include <list>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "configs/input_errors.h"
#include "stagemodels/tubes/output_valve.h"
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
  void add(Tube tube, std::string file = "");

  const OutputValve* find_output_valve(std::string_view name_or_alias) const;
  std::vector<std::string> nearest_output_valves(std::string_view name, int count) const;
  const std::list<OutputValve>& output_valves() const { return output_valves_; }  ///< sorted by name
  void add(OutputValve valve, std::string file = "");

  /// The file that a card of this library was read from; empty if it was added without one.
  const std::string& file_of(const void* card) const;

 private:
  std::list<Tube> tubes_;  // a list: sorted insertion moves nothing
  std::list<OutputValve> output_valves_;
  std::map<const void*, std::string> files_;  // by the card's address, which it keeps
};

/// Where cards are read from: every *.json of each folder but those beginning with a dot.
struct CardFolders {
  std::vector<std::string> tubes, output_valves;
};

/// Reads the cards of all folders into one library. InputErrors of all cards are gathered; a name or alias
/// that stands on two cards is one that names both files.
OrErrors<TubeLibrary> read_card_folders(const CardFolders& folders);

/// The same for one folder of tube cards, and those of `output_valve_folder` as cards of output valves; if it
/// is empty, those of the folder output_valves beside `folder`, if there is one.
OrErrors<TubeLibrary> read_tube_library(const std::string& folder,
                                        const std::string& output_valve_folder = "");

/// Reads one card. The layout is described in configs/schema/tube.schema.json.
OrErrors<Tube> read_tube(const std::string& file);

/// Reads one card from its text; `file` is only a name for messages.
OrErrors<Tube> read_tube_text(std::string text, const std::string& file);

/// The same for the card of an output valve: configs/schema/output_valve.schema.json.
OrErrors<OutputValve> read_output_valve(const std::string& file);
OrErrors<OutputValve> read_output_valve_text(std::string text, const std::string& file);

}  // namespace antiphase
