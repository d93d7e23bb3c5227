#include "optimize/program/search_command.h"

#include <chrono>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <thread>

#include "configs/read_brief.h"
#include "optimize/engine/pareto/spread_out.h"
#include "optimize/program/complete_file.h"
#include "optimize/program/complete_search.h"
#include "optimize/program/conflict_search.h"
#include "optimize/program/effort.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/interruption.h"
#include "optimize/program/known_designs.h"
#include "optimize/program/other_results.h"
#include "optimize/program/places.h"
#include "optimize/program/progress_line.h"
#include "optimize/program/robust_search.h"
#include "optimize/program/search_report.h"
#include "optimize/program/spread_of.h"
#include "optimize/program/versions.h"
#include "results/save.h"
#include "results/svg/search_plots.h"
#include "results/terminal/report_text.h"
#include "results/writers/writer.h"

namespace antiphase {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

std::string now_in_utc() {
  const std::time_t now = std::time(nullptr);
  std::tm utc{};
  gmtime_r(&now, &utc);
  char text[32];
  std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
  return text;
}

std::string default_folder(const std::string& brief_file) {
  return std::filesystem::path(brief_file).stem().string() + "-results";
}

void set_against(Report& report, const OtherResults& other) {
  Against against;
  against.file = other.file;
  against.title = other.title;
  against.other = make_record(other.best, report.demands, Depth::with_hand);
  if (!report.candidates.empty()) {
    const Record& own = report.candidates.front();
    against.lead =
        lead_over(report.demands, own.design, own.evaluation, other.best, against.other.evaluation);
    const Design &a = own.design, &b = other.best;
    against.same_task = a.circuit == b.circuit && a.swing_peak_v == b.swing_peak_v &&
                        a.load_ohm == b.load_ohm && a.load_f == b.load_f;
  }
  report.against = std::move(against);
}

/// The findings of going through all stand in place of what the search found, where there are any.
void take_over(CompleteOutcome& complete, int objectives, engine::SearchOutcome& found) {
  constexpr int kFrontShown = 400;
  if (complete.findings.best.empty()) return;
  if (!found.best.empty() && complete.finished && complete.record.slices == 1)
    complete.record.search_had_the_best =
        found.best.front().judged.feasible() &&
        found.best.front().judged.cost == complete.findings.best.front().judged.cost;
  found.best = complete.findings.best;
  found.front = engine::spread_out(complete.findings.front, objectives, kFrontShown);
}

/// Bands and measuring sheets: of every candidate where they were asked for, else of the first few, for the
/// page.
void set_spreads(const Brief& brief, Report& report, bool every, int threads) {
  constexpr std::size_t kSheets = 3;
  constexpr int kBuildsForSheet = 1000, kSelected = 200;
  const BuildsRequest input = brief.builds.value_or(BuildsRequest{});
  const std::size_t count = every ? report.candidates.size() : std::min(kSheets, report.candidates.size());
  for (std::size_t n = 0; n < count; ++n) {
    Record& r = report.candidates[n];
    if (!r.feasible) continue;
    SpreadReport spread =
        spread_of(r.design, with_low_frequency(brief.space, brief.demands), input.tolerances,
                  {every ? input.builds : kBuildsForSheet, brief.seed, threads, every || n == 0, kSelected});
    spread.brief_file = brief.title.empty() ? "brief" : brief.title;
    r.spread = std::make_shared<const SpreadReport>(std::move(spread));
  }
  report.every_spread = every;
}

}  // namespace

int run_search(const SearchArguments& arguments) {
  const Clock::time_point start = Clock::now();
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return report_errors(*errors);
  auto read = read_brief(arguments.brief_file, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&read)) return report_errors(*errors);
  Brief& brief = std::get<Brief>(read);
  if (arguments.seed) brief.seed = *arguments.seed;
  if (arguments.effort) brief.effort = *effort_named(*arguments.effort);

  const std::string folder = arguments.out.empty() ? default_folder(arguments.brief_file) : arguments.out;
  const int threads = arguments.threads > 0
                          ? arguments.threads
                          : static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  const DesignProblem problem(brief.space, brief.demands);
  const CompleteArguments& every = arguments.complete;
  if (every.asked && !problem.families().empty()) {
    const std::string words = too_many(problem, every, threads, arguments.time_limit_s.has_value());
    if (!words.empty()) {
      std::fprintf(stderr, "antiphase search: %s\n", words.c_str());
      return kBadInput;
    }
  }
  if (const auto trouble = save(folder, {})) {  // a folder that cannot be made: before the work, not after it
    std::fprintf(stderr, "antiphase search: %s\n", in_words(*trouble).c_str());
    return kFileTrouble;
  }
  KnownDesigns known;
  if (every.go_on) {
    known = known_designs(folder, brief.digest, std::get<TubeLibrary>(library), problem);
    if (!known.trouble.empty()) {
      std::fprintf(stderr, "antiphase search: %s\n", known.trouble.c_str());
      return kBadInput;
    }
  }

  std::optional<OtherResults> other;
  if (!arguments.against.empty()) {
    other = other_results(arguments.against, std::get<TubeLibrary>(library));
    if (!other->trouble.empty()) {
      std::fprintf(stderr, "antiphase search: --against: %s\n", other->trouble.c_str());
      return kBadInput;
    }
  }

  const std::atomic<bool>& stop = watch_for_interruption();
  if (arguments.time_limit_s) end_after(*arguments.time_limit_s);
  const std::vector<engine::SearchOptions> passes = engine::passes_for(brief.effort, brief.seed);
  ProgressLine progress(arguments.quiet);
  const engine::Watch watch = [&](const engine::Snapshot& s) { progress.show(s); };
  const Clock::time_point search_start = Clock::now();
  const bool alone = every.asked && every.slices > 1;  // a slice has no use for a search of the whole
  engine::SearchOutcome found;
  if (!alone)
    found = engine::search(problem.families(), passes, known.points, {.threads = threads}, watch, &stop);
  progress.finish();
  std::optional<CompleteOutcome> complete;
  if (every.asked && !problem.families().empty()) {
    ProgressLine through(arguments.quiet);
    complete = search_every_combination(
        brief, problem, every, folder, threads, [&](const engine::Snapshot& s) { through.show(s); }, stop);
    through.finish();
    if (complete->exit_code != 0) return complete->exit_code;
    take_over(*complete, static_cast<int>(brief.demands.objectives.size()), found);
  }
  std::optional<RobustOutcome> robust;
  bool sampling_ended_early = false;
  if (brief.builds && brief.builds->rank_by != RankBy::nominal && !alone && !found.best.empty() &&
      found.best.front().judged.feasible()) {
    ProgressLine sampling(arguments.quiet);
    robust = rank_by_builds(
        problem, with_low_frequency(brief.space, brief.demands), *brief.builds, found, brief.candidates,
        brief.seed, threads, [&](const engine::Snapshot& s) { sampling.show(s); }, stop);
    sampling.finish();
    sampling_ended_early = robust->interrupted;
    if (robust->ranked.empty()) robust.reset();
  }
  const double search_s = seconds_since(search_start);

  Report report = make_report(brief, problem, found, robust ? &*robust : nullptr);
  if (!stop) set_spreads(brief, report, arguments.spread, threads);
  if (other) set_against(report, *other);
  if (report.candidates.empty() || !report.candidates.front().feasible) {
    if (!alone && !stop) {
      ProgressLine looking(arguments.quiet);
      report.conflict = find_conflict(
          brief, problem, found.best, threads, [&](const engine::Snapshot& s) { looking.show(s); }, stop);
      looking.finish();
    }
  }
  RunRecord& run = report.run;
  run.brief_file = std::filesystem::path(arguments.brief_file).filename().string();
  run.brief_digest = brief.digest;
  run.seed = brief.seed;
  run.effort = name_of(brief.effort);
  run.versions = versions();
  if (!alone)
    run.evaluations_asked = engine::planned_evaluations(
        problem.families().size(), static_cast<int>(brief.demands.objectives.size()), passes);
  run.complete = complete ? complete->finished : found.stop != engine::Stop::interrupted;
  run.complete &= !sampling_ended_early;
  run.why_stopped = run.complete ? "finished" : time_is_up() ? "time limit" : "interrupted";
  run.continued_from = known.file;
  if (complete) {
    run.every_combination = complete->record;
    if (!complete->continued_from.empty()) run.continued_from = complete->continued_from;
  }
  run.times = {seconds_since(start), search_s, threads, now_in_utc()};

  std::vector<FileToSave> files;
  for (const Writer& writer : writers())
    files.push_back({std::string(writer.file_name), writer.write(report)});
  if (complete) files.push_back({kCompleteFile, complete->file});
  if (arguments.plots)
    for (FileToSave& plot : search_plots(report)) files.push_back(std::move(plot));
  const std::optional<SaveError> trouble = save(folder, files);

  bool printed = true;
  if (arguments.json) {
    printed = print(files.front().content);
  } else {
    std::string text = report_text(report);
    if (!trouble) {
      text += "\nWritten to " + folder + ":\n ";
      for (const FileToSave& file : files) text += " " + file.name;
      text += "\n";
    }
    printed = print(text);
  }
  if (trouble) {  // what was found has been printed all the same
    std::fprintf(stderr, "antiphase search: %s; no file was written\n", in_words(*trouble).c_str());
    return kFileTrouble;
  }
  if (!printed) return kFileTrouble;
  if (!run.complete && !time_is_up()) return interruption_exit_code();
  const bool met = !report.candidates.empty() && report.candidates.front().feasible;
  return met ? kDone : kNothingSatisfies;
}

}  // namespace antiphase
