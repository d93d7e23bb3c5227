#include "optimize/program/search_command.h"

#include <chrono>
#include <ctime>
#include <filesystem>

#include "configs/read_brief.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/interruption.h"
#include "optimize/program/screen_width.h"
#include "optimize/program/search_steps.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/threads.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/effort.h"
#include "optimize/studies/own_tubes.h"
#include "results/describe/as_given.h"
#include "results/describe/own_tube.h"
#include "results/terminal/report_text.h"
#include "results/text/lines.h"
#include "results/writers/candidates_json.h"

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

/// With the seed and the effort of the command line, where it says any.
OrErrors<Brief> read_brief_as_asked(const SearchArguments& arguments, const TubeLibrary& library) {
  auto read = read_brief(arguments.brief_file, library);
  if (auto* brief = std::get_if<Brief>(&read)) {
    if (arguments.seed) brief->seed = *arguments.seed;
    if (arguments.effort) brief->effort = *effort_named(*arguments.effort);
  }
  return read;
}

/// The search is one with these tubes.
std::optional<InputErrors> use_own_tubes(const SearchArguments& arguments, const TubeLibrary& library,
                                         Brief& brief) {
  const auto readings = read_tube_readings(arguments.tube_readings);
  if (const auto* errors = std::get_if<InputErrors>(&readings)) return *errors;
  const Tolerances tolerances = brief.builds ? brief.builds->tolerances : Tolerances{};
  auto own =
      put_own_tubes(std::get<std::vector<TubeReadingsFile>>(readings), library, tolerances, brief.space);
  if (const auto* errors = std::get_if<InputErrors>(&own)) return *errors;
  brief.own_tubes_in_words = own_tubes_in_words(std::get<OwnTubes>(own).told);
  brief.known_sections = std::get<OwnTubes>(own).known;
  if (brief.builds) brief.builds->tolerances.known = brief.known_sections;
  return std::nullopt;
}

std::string folder_for(const SearchArguments& arguments) {
  if (!arguments.out.empty()) return arguments.out;
  return std::filesystem::path(arguments.brief_file).stem().string() + "-results";
}

std::string files_in_words(const SearchUnderWay& search, const std::vector<FileToSave>& files) {
  std::string text;
  if (!search.arguments.explain) text = "The rest: --explain prints it. ";
  text += "Written to " + search.folder + ":";
  for (const FileToSave& file : files) text += " " + file.name;
  return (search.arguments.explain ? "\n" : "") + wrapped(text, screen_width(), 2);
}

std::string answer_text(const SearchUnderWay& search, const Report& report) {
  if (search.arguments.json) return candidates_json(report);
  return search.arguments.explain ? report_text(report, screen_width())
                                  : short_report_text(report, screen_width());
}

/// Saves the files and prints the answer; what was found is printed even if no file can be written.
int answer(const SearchUnderWay& search, const Report& report) {
  const std::vector<FileToSave> files = files_of(search, report);
  const std::optional<SaveError> error = save(search.folder, files);
  const bool tells_files = !search.arguments.json && !error;
  const std::string text =
      answer_text(search, report) + (tells_files ? files_in_words(search, files) : std::string());
  const bool printed = search.arguments.json ? print(text) : print_for_people(text);
  if (error) return tell("search", Trouble{in_words(*error) + "; no file was written", true});
  if (!printed) return kFileTrouble;
  if (!report.run.finished && !time_is_up()) return interruption_exit_code();
  const bool met = !report.candidates.empty() && report.candidates.front().feasible;
  return met ? kDone : kNothingSatisfies;
}

}  // namespace

int run_search(const SearchArguments& arguments) {
  const Clock::time_point start = Clock::now();
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return tell(*errors);
  auto brief = read_brief_as_asked(arguments, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&brief)) return tell(*errors);
  if (const auto errors = use_own_tubes(arguments, std::get<TubeLibrary>(library), std::get<Brief>(brief)))
    return tell(*errors);

  const DesignProblem problem(std::get<Brief>(brief).space, std::get<Brief>(brief).demands);
  SearchUnderWay search{arguments, std::get<Brief>(brief), problem, folder_for(arguments),
                        threads_for(arguments.threads)};
  if (const auto trouble = look_ahead(search)) return tell("search", *trouble);
  if (const auto trouble = read_earlier(search, std::get<TubeLibrary>(library)))
    return tell("search", *trouble);

  if (!arguments.quiet)
    for (const std::string& sentence : as_given_in_words(problem)) tell_lines(sentence, kDone);

  const std::atomic<bool>& stop = watch_for_interruption();
  if (arguments.time_limit_s) end_after(*arguments.time_limit_s);
  const Clock::time_point search_start = Clock::now();
  search_parts(search, stop);
  if (const auto trouble = go_through_all(search, stop)) return tell("search", *trouble);
  rank_by_their_builds(search, stop);
  const double search_s = seconds_since(search_start);

  Report report = report_of(search, stop);
  record_run(search, report.run);
  report.run.times = {seconds_since(start), search_s, search.threads, now_in_utc()};
  return answer(search, report);
}

}  // namespace antiphase
