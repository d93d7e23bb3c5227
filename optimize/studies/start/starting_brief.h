/// A brief to start from, out of a handful of facts that a builder knows of his amplifier.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "configs/tube_library.h"
#include "optimize/engine/snapping/preferred_values.h"
#include "optimize/studies/trouble.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase {

/// As typed; empty: not said.
struct StartingFacts {
  std::string pair, supply, bias, bias_v, stage, at_hand, feedback, source_v, power, series;
};

/// The same, understood. What follows is known once the facts before it are.
struct KnownFacts {
  const OutputValve* pair = nullptr;
  double supply_v = 0;
  bool cathode_bias = false;
  bool bias_said = false;                           ///< the voltage; else it follows from `condition`
  double bias_v = 0;                                ///< < 0, the grids against the cathodes
  const OutputValveCondition* condition = nullptr;  ///< of the pair's card that fits best; null: none
  const CircuitEntry* stage = nullptr;
  std::vector<const Tube*> at_hand;
  double feedback_db = 0;
  double source_v_rms = 0;
  double power_w = 0;
  engine::Series series = engine::Series::e24;
};

/// What stands in a brief for a fact that nobody said, and why. An empty text: it has to be said.
struct FactDefault {
  std::string text, reason;
};

/// One fact: an option of the command line, and a question at a terminal.
struct StartingFact {
  std::string_view flag, type_name;  ///< "bias-v", "VOLTS"
  std::string_view description;      ///< for help and questions
  std::string StartingFacts::*text;
  bool (*applies)(const KnownFacts&);
  FactDefault (*fallback)(const KnownFacts&, const TubeLibrary&);
  /// Understands a text; what is wrong with it and what would be right, or nothing.
  std::string (*take)(const std::string&, const TubeLibrary&, KnownFacts&);
};

/// In the order in which they are asked.
std::span<const StartingFact> starting_facts();

/// Asks for one fact. `wrong`: what was wrong with the last answer; empty at first.
/// @return the answer, empty for the default; nothing: the answers have ended.
using AskFact = std::function<std::optional<std::string>(const StartingFact&, const FactDefault&,
                                                         const std::string& wrong)>;

/// The text of a brief that `search` reads. Its notes say of every value where it is from: said, off a card,
/// or common practice. A fact that is not said is asked for, or without `ask` takes its default.
/// @param schema where the schema of briefs lies, for editors.
/// Trouble: a fact cannot be understood, has no meaning beside the others, or has no default and is not said.
OrTrouble<std::string> starting_brief(const StartingFacts& said, const TubeLibrary&,
                                      const std::string& schema, const AskFact& ask = {});

}  // namespace antiphase
