/// The steps of `antiphase search`, in the order in which they are taken.
#pragma once

#include <atomic>
#include <optional>
#include <string>
#include <vector>

#include "configs/brief.h"
#include "objectives/design_problem.h"
#include "optimize/program/earlier_results.h"
#include "optimize/program/search_command.h"
#include "optimize/studies/complete/work_ahead.h"
#include "optimize/studies/robust_search.h"
#include "results/report.h"
#include "results/save.h"

namespace antiphase {

/// A search under way: what its steps hand on to each other.
struct SearchUnderWay {
  const SearchArguments& arguments;
  const Brief& brief;
  const DesignProblem& problem;
  std::string folder;  ///< of the files that it writes
  int threads = 1;

  EarlierDesigns earlier = {};
  std::optional<OtherResults> other = {};

  engine::SearchOutcome found = {};
  std::optional<CompleteOutcome> complete = {};
  std::optional<RobustOutcome> robust = {};
  bool sampling_ended_early = false;

  /// A slice of all combinations, which has no use for a search of the whole.
  bool slice_alone() const { return arguments.complete.asked && arguments.complete.slices > 1; }
  bool goes_through_all() const { return arguments.complete.asked && !problem.families().empty(); }
  /// So few combinations that the search may as well end with the proof.
  bool proves_unasked() const { return !arguments.complete.asked && few(problem); }
};

/// Before the work, not after it: too many combinations, or a folder that cannot be made.
std::optional<Trouble> look_ahead(const SearchUnderWay&);

/// What it goes on from, and what its best is to be set beside.
std::optional<Trouble> read_earlier(SearchUnderWay&, const TubeLibrary&);

void search_parts(SearchUnderWay&, const std::atomic<bool>& stop);
std::optional<Trouble> go_through_all(SearchUnderWay&, const std::atomic<bool>& stop);
void rank_by_their_builds(SearchUnderWay&, const std::atomic<bool>& stop);

/// Everything but the record of the run, which only has its counts yet.
Report report_of(const SearchUnderWay&, const std::atomic<bool>& stop);

/// Where the run came from and how it ended; without its times.
void record_run(const SearchUnderWay&, RunRecord& run);

std::vector<FileToSave> files_of(const SearchUnderWay&, const Report&);

}  // namespace antiphase
