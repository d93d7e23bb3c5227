#include "optimize/program/search_steps.h"

#include <filesystem>

#include "optimize/engine/passes.h"
#include "optimize/program/every_combination.h"
#include "optimize/program/interruption.h"
#include "optimize/program/progress_line.h"
#include "optimize/program/versions.h"
#include "optimize/studies/candidate_spreads.h"
#include "optimize/studies/complete/work_ahead.h"
#include "optimize/studies/conflict_search.h"
#include "optimize/studies/effort.h"
#include "optimize/studies/search_report.h"
#include "results/svg/search_plots.h"
#include "results/writers/writer.h"

namespace antiphase {
namespace {

std::vector<engine::SearchOptions> passes_of(const SearchUnderWay& s) {
  return engine::passes_for(s.brief.effort, s.brief.seed);
}

bool met(const Report& report) {
  return !report.candidates.empty() && report.candidates.front().feasible;
}

}  // namespace

std::optional<Trouble> look_ahead(const SearchUnderWay& s) {
  const CompleteArguments& every = s.arguments.complete;
  if (s.goes_through_all() && every.merge.empty()) {
    const std::string words =
        too_many(s.problem, every.slices, s.threads, s.arguments.time_limit_s.has_value());
    if (!words.empty()) return Trouble{words};
  }
  if (const auto error = save(s.folder, {})) return Trouble{in_words(*error), true};
  return std::nullopt;
}

std::optional<Trouble> read_earlier(SearchUnderWay& s, const TubeLibrary& library) {
  if (s.arguments.complete.go_on) {
    auto earlier = read_earlier_designs(s.folder, s.brief.digest, library, s.problem);
    if (const auto* trouble = std::get_if<Trouble>(&earlier)) return *trouble;
    s.earlier = std::get<EarlierDesigns>(std::move(earlier));
  }
  if (!s.arguments.against.empty()) {
    auto other = read_other_results(s.arguments.against, library);
    if (const auto* trouble = std::get_if<Trouble>(&other))
      return Trouble{"--against: " + trouble->what, trouble->of_files};
    s.other = std::get<OtherResults>(std::move(other));
  }
  return std::nullopt;
}

void search_parts(SearchUnderWay& s, const std::atomic<bool>& stop) {
  if (s.slice_alone()) return;
  s.found = with_progress(s.arguments.quiet, [&](const engine::Watch& watch) {
    return engine::search(s.problem.families(), passes_of(s), s.earlier.points, {.threads = s.threads}, watch,
                          &stop);
  });
}

/// Few combinations, after a search that came to its end. What is interrupted counts for nothing.
void prove_unasked(SearchUnderWay& s, const std::atomic<bool>& stop) {
  if (!s.proves_unasked() || s.found.stop != engine::Stop::finished) return;
  const CompleteIdentity identity = identity_of(s.brief, s.problem, 1, 1);
  auto outcome = with_progress(s.arguments.quiet, [&](const engine::Watch& watch) {
    return search_every_combination(s.problem, identity, {}, s.threads, watch, stop,
                                    [](const std::string&) { return std::optional<Trouble>(); });
  });
  auto* proved = std::get_if<CompleteOutcome>(&outcome);
  if (!proved || !proved->finished) return;
  s.complete = std::move(*proved);
  s.complete->record.asked = false;
  take_over(*s.complete, s.problem.families(), s.found);
}

std::optional<Trouble> go_through_all(SearchUnderWay& s, const std::atomic<bool>& stop) {
  if (!s.goes_through_all()) {
    prove_unasked(s, stop);
    return std::nullopt;
  }
  auto outcome = with_progress(s.arguments.quiet, [&](const engine::Watch& watch) {
    return go_through_every_combination(s.arguments.complete, s.brief, s.problem, s.folder, s.threads, watch,
                                        stop);
  });
  if (const auto* trouble = std::get_if<Trouble>(&outcome)) return *trouble;
  s.complete = std::get<CompleteOutcome>(std::move(outcome));
  take_over(*s.complete, s.problem.families(), s.found);
  return std::nullopt;
}

void rank_by_their_builds(SearchUnderWay& s, const std::atomic<bool>& stop) {
  const bool asked = s.brief.builds && s.brief.builds->rank_by != RankBy::nominal && !s.slice_alone();
  if (!asked || s.found.best.empty() || !s.found.best.front().judged.feasible()) return;
  RobustOutcome robust = with_progress(s.arguments.quiet, [&](const engine::Watch& watch) {
    Demands demands = with_low_frequency(s.brief.space, s.brief.demands);
    demands.factors = s.problem.demands().factors;  // with what is outside as given
    return rank_by_builds(s.problem, demands, *s.brief.builds, s.found, s.brief.candidates, s.brief.seed,
                          s.threads, watch, stop);
  });
  s.sampling_ended_early = robust.interrupted;
  if (!robust.ranked.empty()) s.robust = std::move(robust);
}

Report report_of(const SearchUnderWay& s, const std::atomic<bool>& stop) {
  Report report = make_report(s.brief, s.problem, s.found, s.robust ? &*s.robust : nullptr);
  if (!stop) add_spreads(s.brief, s.arguments.spread, s.threads, report);
  if (s.other) report.against = against(*s.other, report);
  if (!met(report) && !s.slice_alone() && !stop)
    report.conflict = with_progress(s.arguments.quiet, [&](const engine::Watch& watch) {
      return find_conflict(s.brief, s.problem, s.found.best, s.threads, watch, stop);
    });
  return report;
}

void record_run(const SearchUnderWay& s, RunRecord& run) {
  run.brief_file = std::filesystem::path(s.arguments.brief_file).filename().string();
  run.brief_digest = s.brief.digest;
  run.seed = s.brief.seed;
  run.effort = name_of(s.brief.effort);
  run.versions = versions();
  if (!s.slice_alone())
    run.evaluations_asked = engine::planned_evaluations(s.problem.families(), passes_of(s));
  run.finished = s.complete ? s.complete->finished : s.found.stop != engine::Stop::interrupted;
  run.finished &= !s.sampling_ended_early;
  run.why_stopped = run.finished ? "finished" : time_is_up() ? "time limit" : "interrupted";
  run.continued_from = s.earlier.file;
  run.combinations = engine::combinations(s.problem.families());
  if (!s.complete) return;
  run.every_combination = s.complete->record;
  if (!s.complete->continued_from.empty()) run.continued_from = s.complete->continued_from;
}

std::vector<FileToSave> files_of(const SearchUnderWay& s, const Report& report) {
  std::vector<FileToSave> files;
  for (const Writer& writer : writers())
    files.push_back({std::string(writer.file_name), writer.write(report)});
  if (s.complete && s.arguments.complete.asked) files.push_back({kCompleteFile, s.complete->file});
  if (s.arguments.plots)
    for (FileToSave& plot : search_plots(report)) files.push_back(std::move(plot));
  return files;
}

}  // namespace antiphase
