#include "optimize/program/spread_command.h"

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "configs/read_tolerances.h"
#include "objectives/design_problem.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/threads.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/own_tubes.h"
#include "optimize/studies/spread_of.h"
#include "results/json/spread_json.h"
#include "results/terminal/spread_text.h"

namespace antiphase {
namespace {

/// Of the brief, if there is one.
OrErrors<Demands> read_builds_demands(const SpreadArguments& arguments, const TubeLibrary& library) {
  if (arguments.brief_file.empty()) return Demands{};
  auto brief = read_brief(arguments.brief_file, library);
  if (const auto* errors = std::get_if<InputErrors>(&brief)) return *errors;
  Brief& asked = std::get<Brief>(brief);
  return with_low_frequency(asked.space, std::move(asked.demands));
}

/// Of the file, if there is one, but for what the command line says itself.
OrErrors<Tolerances> tolerances_asked(const SpreadArguments& arguments, const Design& design) {
  OrErrors<Tolerances> read;
  if (!arguments.tolerances_file.empty()) read = read_tolerances(arguments.tolerances_file, design);
  if (auto* tolerances = std::get_if<Tolerances>(&read)) {
    if (arguments.resistor_pct) tolerances->resistor_pct = *arguments.resistor_pct;
    if (arguments.emission_left) tolerances->emission_left = *arguments.emission_left;
  }
  return read;
}

}  // namespace

int run_spread(const SpreadArguments& arguments) {
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return tell(*errors);
  auto design = read_design(arguments.design_file, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&design)) return tell(*errors);
  const auto demands = read_builds_demands(arguments, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&demands)) return tell(*errors);
  auto tolerances = tolerances_asked(arguments, std::get<Design>(design));
  if (const auto* errors = std::get_if<InputErrors>(&tolerances)) return tell(*errors);
  const auto readings = read_tube_readings(arguments.tube_readings);
  if (const auto* errors = std::get_if<InputErrors>(&readings)) return tell(*errors);
  auto own = put_own_tubes(std::get<std::vector<TubeReadingsFile>>(readings), std::get<TubeLibrary>(library),
                           std::get<Tolerances>(tolerances), std::get<Design>(design));
  if (const auto* errors = std::get_if<InputErrors>(&own)) return tell(*errors);
  std::get<Tolerances>(tolerances).known = std::get<OwnTubes>(own).known;

  SpreadReport report =
      spread_of(std::get<Design>(design), std::get<Demands>(demands), std::get<Tolerances>(tolerances),
                {arguments.samples, arguments.seed, threads_for(arguments.threads), arguments.select});
  report.brief_file = arguments.brief_file;
  report.own_tubes = std::move(std::get<OwnTubes>(own).told);
  const std::string text = arguments.json    ? spread_json(report)
                           : arguments.sheet ? measuring_sheet_text(report)
                                             : spread_text(report);
  if (!(arguments.json ? print(text) : print_for_people(text))) return kFileTrouble;
  return report.summary.kept > 0 ? kDone : kNothingSatisfies;
}

}  // namespace antiphase
