#include "optimize/program/tubes_command.h"

#include <filesystem>

#include "configs/nearest_names.h"
#include "configs/read_brief.h"
#include "optimize/program/curve_files.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/interruption.h"
#include "optimize/program/progress_line.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/threads.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/tubes_for_brief.h"
#include "results/json/output_valve_json.h"
#include "results/json/tube_json.h"
#include "results/json/tube_ranking_json.h"
#include "results/save.h"
#include "results/svg/plate_curves.h"
#include "results/terminal/output_valve_text.h"
#include "results/terminal/substitutes_text.h"
#include "results/terminal/tube_ranking_text.h"
#include "results/terminal/tube_text.h"

namespace antiphase {
namespace {

int wrong_command_line(const std::string& words) {
  return tell("tubes", Trouble{words});
}

int print_answer(const TubesArguments& a, const std::string& text) {
  return (a.json ? print(text) : print_for_people(text)) ? kDone : kFileTrouble;
}

/// Empty: the options go together.
std::string contradiction(const TubesArguments& a) {
  if (!a.brief_file.empty() && !a.name.empty())
    return "--for tries every tube of the library: give no NAME with it (a brief may list the tubes it "
           "allows)";
  if (!a.brief_file.empty() && (!a.plot.empty() || a.substitutes))
    return "--for goes with --json, --threads and --quiet, not with --plot or --substitutes";
  if (a.name.empty() && !a.plot.empty()) return "--plot needs the NAME of one tube, like 12AX7";
  if (a.name.empty() && a.substitutes) return "--substitutes needs the NAME of one tube, like 12AX7";
  return {};
}

std::vector<const Tube*> all_tubes(const TubeLibrary& library) {
  std::vector<const Tube*> all;
  for (const Tube& tube : library.tubes()) all.push_back(&tube);
  return all;
}

int run_for_brief(const TubesArguments& a, const TubeLibrary& library) {
  auto read = read_brief(a.brief_file, library);
  if (const auto* errors = std::get_if<InputErrors>(&read)) return tell(*errors);
  Brief& brief = std::get<Brief>(read);
  brief.effort = Effort::quick;
  const std::atomic<bool>& stop = watch_for_interruption();
  TubeRanking ranking = with_progress(a.quiet, [&](const engine::Watch& watch) {
    return tubes_for_brief(brief, library, threads_for(a.threads), watch, stop);
  });
  ranking.brief_file = std::filesystem::path(a.brief_file).filename().string();
  if (!(a.json ? print(tube_ranking_json(ranking)) : print_for_people(tube_ranking_text(ranking))))
    return kFileTrouble;
  if (ranking.trials.size() < ranking.tubes) return interruption_exit_code();
  return !ranking.trials.empty() && ranking.trials.front().met() ? kDone : kNothingSatisfies;
}

/// The picture of its plate curves over the readings that the card names.
int save_plot(const TubesArguments& a, const TubeLibrary& library, const Tube& tube) {
  std::vector<std::string> files;
  const auto folder = std::filesystem::path(library.file_of(&tube)).parent_path();
  for (const std::string& name : tube.curve_files)
    files.push_back((folder / name).lexically_normal().string());
  std::vector<PlacedPoint> placed;
  if (const int code = read_curve_files(files, placed); code != kDone) return code;
  std::vector<CurvePoint> readings;
  for (const PlacedPoint& p : placed) readings.push_back(p.point);
  const auto error = save_file(a.plot, plate_curves_svg(tube, tube.law(), readings));
  return error ? tell("tubes", *error) : kDone;
}

int run_for_tube(const TubesArguments& a, const TubeLibrary& library, const Tube& tube) {
  if (tube.pentode.given && (!a.plot.empty() || a.substitutes))
    return wrong_command_line("the " + tube.name +
                              " is a pentode: plate curves and substitutes are known of triodes only");
  if (!a.plot.empty())
    if (const int code = save_plot(a, library, tube); code != kDone) return code;
  std::string text;
  if (a.substitutes) {
    const Substitutes found = substitutes_for(tube, all_tubes(library));
    text = a.json ? substitutes_json(found) : substitutes_text(found);
  } else {
    text = a.json ? tube_json(tube) : tube_text(tube);
  }
  if (!a.plot.empty() && !a.json) text += "\nPicture of its plate curves: " + a.plot + "\n";
  return print_answer(a, text);
}

int run_for_output_valve(const TubesArguments& a, const OutputValve& valve) {
  if (!a.plot.empty() || a.substitutes)
    return wrong_command_line(
        "the " + valve.name +
        " is an output valve: plate curves and substitutes are known of driver tubes only");
  return print_answer(a, a.json ? output_valve_json(valve) : output_valve_text(valve));
}

int run_for_library(const TubesArguments& a, const TubeLibrary& library) {
  const std::vector<const Tube*> all = all_tubes(library);
  return print_answer(
      a, a.json ? tubes_json(all) : tubes_table(all) + output_valves_line(library.output_valves()));
}

}  // namespace

int run_tubes(const TubesArguments& arguments) {
  if (const std::string wrong = contradiction(arguments); !wrong.empty()) return wrong_command_line(wrong);
  const auto read = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&read)) return tell(*errors);
  const TubeLibrary& library = std::get<TubeLibrary>(read);
  if (!arguments.brief_file.empty()) return run_for_brief(arguments, library);
  if (arguments.name.empty()) return run_for_library(arguments, library);
  if (const OutputValve* valve = library.find_output_valve(arguments.name))
    return run_for_output_valve(arguments, *valve);
  if (const Tube* tube = library.find(arguments.name)) return run_for_tube(arguments, library, *tube);
  return wrong_command_line("there is no card for \"" + arguments.name + "\"" +
                            did_you_mean(library.nearest_names(arguments.name, 3)));
}

}  // namespace antiphase
