/// `antiphase search --complete`: every combination of the parts, after the normal search or alone.
#pragma once

#include <atomic>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "configs/brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/lattice/complete.h"
#include "optimize/studies/complete/complete_file.h"
#include "results/report.h"

namespace antiphase {

struct CompleteOutcome {
  engine::CompleteFindings findings;
  bool finished = false;
  RunRecord::EveryCombination record;
  std::string file;            ///< text of complete.json
  std::string continued_from;  ///< where the findings come from that it began with; empty: it began anew
};

/// What the findings of a slice of this search belong to. 1 <= slice <= slices.
CompleteIdentity identity_of(const Brief& brief, const DesignProblem& problem, int slice, int slices);

/// The findings in a file, to go on from. Trouble: they are of another slice than `wanted`. `file`: its name.
OrTrouble<engine::CompleteFindings> findings_of(CompleteRead read, const CompleteIdentity& wanted,
                                                const std::string& file);

/// What is put by now and then: takes the text of complete.json, and gives trouble where that fails.
using KeepFindings = std::function<std::optional<Trouble>(const std::string& text)>;

/// Goes through the combinations of a slice, from `from` on (findings of the same slice, or none) until all
/// are done or `stop` is set. The problem has a family at least. Trouble: only what `keep` gives.
OrTrouble<CompleteOutcome> search_every_combination(const DesignProblem& problem,
                                                    const CompleteIdentity& identity,
                                                    engine::CompleteFindings from, int threads,
                                                    const engine::Watch& watch, const std::atomic<bool>& stop,
                                                    const KeepFindings& keep);

/// The findings of all slices, put together. Slices are added one by one, so that trouble is told of the
/// first.
class Slices {
 public:
  /// `file`: its name, for messages. Trouble: it is not finished, or does not go with those before it.
  std::optional<Trouble> add(CompleteRead slice, const std::string& file);
  /// Trouble: one of them is missing. Allowed: at least one was added.
  OrTrouble<CompleteOutcome> merged(const DesignProblem& problem, const CompleteIdentity& whole) const;

 private:
  std::vector<CompleteRead> slices_;
};

/// What going through all these families has found stands in place of what the search before it found, where
/// there is anything.
void take_over(CompleteOutcome& complete, const std::vector<engine::Family>& families,
               engine::SearchOutcome& found);

}  // namespace antiphase
