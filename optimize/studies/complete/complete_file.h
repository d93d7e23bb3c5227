/// The text of complete.json: what a search through every combination has found so far, so that it can go on,
/// and so that slices can be put together.
#pragma once

#include <string>

#include "objectives/design_problem.h"
#include "optimize/engine/lattice/complete.h"
#include "optimize/studies/trouble.h"

namespace antiphase {

inline constexpr const char* kCompleteFile = "complete.json";

/// What the findings belong to.
struct CompleteIdentity {
  std::string brief_digest;
  std::string lattice_digest;  ///< SHA-256 of all families, their parts and values
  int slice = 1, slices = 1;
};
std::string lattice_digest(const DesignProblem& problem);

/// Numbers in the shortest form that reads back as the same double.
std::string complete_json(const CompleteIdentity& identity, const DesignProblem& problem, std::int64_t chunks,
                          const engine::CompleteFindings& findings);

struct CompleteRead {
  CompleteIdentity identity;
  std::int64_t chunks = 0;
  engine::CompleteFindings findings;
};

/// Reads such a text and checks that it belongs to this brief and these parts, and that its points are judged
/// here as they were there (so a changed tube card or program is noticed). Trouble: without the name of the
/// file.
OrTrouble<CompleteRead> read_complete(const std::string& text, const DesignProblem& problem,
                                      const CompleteIdentity& expected);

}  // namespace antiphase
