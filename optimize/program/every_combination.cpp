#include "optimize/program/every_combination.h"

#include <filesystem>

#include "optimize/program/earlier_results.h"
#include "results/save.h"

namespace antiphase {
namespace {

OrTrouble<CompleteOutcome> merged(const std::vector<std::string>& folders, const DesignProblem& problem,
                                  const CompleteIdentity& whole) {
  Slices slices;
  for (const std::string& folder : folders) {
    auto slice = read_complete_file(folder, problem, whole);
    if (const auto* trouble = std::get_if<Trouble>(&slice)) return *trouble;
    if (auto trouble = slices.add(std::get<CompleteRead>(std::move(slice)), complete_file_in(folder)))
      return *trouble;
  }
  return slices.merged(problem, whole);
}

/// The findings of the same slice in the file of the folder.
OrTrouble<engine::CompleteFindings> read_unfinished(const std::string& folder, const DesignProblem& problem,
                                                    const CompleteIdentity& wanted) {
  auto read = read_complete_file(folder, problem, wanted);
  if (const auto* trouble = std::get_if<Trouble>(&read))
    return Trouble{trouble->what + "; without --continue the search begins anew", trouble->of_files};
  return findings_of(std::get<CompleteRead>(std::move(read)), wanted, complete_file_in(folder));
}

}  // namespace

OrTrouble<CompleteOutcome> go_through_every_combination(const CompleteArguments& arguments,
                                                        const Brief& brief, const DesignProblem& problem,
                                                        const std::string& folder, int threads,
                                                        const engine::Watch& watch,
                                                        const std::atomic<bool>& stop) {
  const CompleteIdentity identity = identity_of(brief, problem, arguments.slice, arguments.slices);
  if (!arguments.merge.empty()) return merged(arguments.merge, problem, identity);
  OrTrouble<engine::CompleteFindings> from;
  const bool goes_on = arguments.go_on && std::filesystem::exists(complete_file_in(folder));
  if (goes_on) from = read_unfinished(folder, problem, identity);
  if (const auto* trouble = std::get_if<Trouble>(&from)) return *trouble;
  const auto keep = [&](const std::string& text) -> std::optional<Trouble> {
    if (const auto error = save(folder, {{kCompleteFile, text}})) return Trouble{in_words(*error), true};
    return std::nullopt;
  };
  auto outcome = search_every_combination(
      problem, identity, std::get<engine::CompleteFindings>(std::move(from)), threads, watch, stop, keep);
  if (auto* found = std::get_if<CompleteOutcome>(&outcome); found && goes_on)
    found->continued_from = complete_file_in(folder);
  return outcome;
}

}  // namespace antiphase
