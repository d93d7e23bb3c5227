#include "optimize/program/spread_command.h"

#include <algorithm>
#include <thread>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "configs/read_tolerances.h"
#include "objectives/design_problem.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/places.h"
#include "optimize/program/spread_of.h"
#include "results/json/spread_json.h"
#include "results/terminal/spread_text.h"

namespace antiphase {

int run_spread(const SpreadArguments& arguments) {
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return report_errors(*errors);
  const auto read = read_design(arguments.design_file, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&read)) return report_errors(*errors);
  const Design& design = std::get<Design>(read);

  Demands demands;
  if (!arguments.brief_file.empty()) {
    auto brief = read_brief(arguments.brief_file, std::get<TubeLibrary>(library));
    if (const auto* errors = std::get_if<InputErrors>(&brief)) return report_errors(*errors);
    Brief& asked = std::get<Brief>(brief);
    demands = with_low_frequency(asked.space, std::move(asked.demands));
  }
  Tolerances tolerances;
  if (!arguments.tolerances_file.empty()) {
    auto given = read_tolerances(arguments.tolerances_file, design);
    if (const auto* errors = std::get_if<InputErrors>(&given)) return report_errors(*errors);
    tolerances = std::move(std::get<Tolerances>(given));
  }
  if (arguments.resistor_pct) tolerances.resistor_pct = *arguments.resistor_pct;
  if (arguments.emission_left) tolerances.emission_left = *arguments.emission_left;

  const int threads = arguments.threads > 0
                          ? arguments.threads
                          : static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  SpreadReport report =
      spread_of(design, demands, tolerances, {arguments.samples, arguments.seed, threads, arguments.select});
  report.brief_file = arguments.brief_file;

  const std::string text = arguments.json    ? spread_json(report)
                           : arguments.sheet ? measuring_sheet_text(report)
                                             : spread_text(report);
  if (!print(text)) return kFileTrouble;
  return report.summary.kept > 0 ? kDone : kNothingSatisfies;
}

}  // namespace antiphase
