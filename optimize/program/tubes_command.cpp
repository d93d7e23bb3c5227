#include "optimize/program/tubes_command.h"

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <thread>

#include "configs/curve_points.h"
#include "configs/nearest_names.h"
#include "configs/read_brief.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/interruption.h"
#include "optimize/program/places.h"
#include "optimize/program/tubes_for_brief.h"
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
  std::fprintf(stderr, "antiphase tubes: %s\n", words.c_str());
  return kBadInput;
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

int run_for_brief(const TubesArguments& a, const TubeLibrary& library) {
  auto read = read_brief(a.brief_file, library);
  if (const auto* errors = std::get_if<InputErrors>(&read)) return report_errors(*errors);
  Brief& brief = std::get<Brief>(read);
  brief.effort = Effort::quick;
  const std::atomic<bool>& stop = watch_for_interruption();
  const int threads =
      a.threads > 0 ? a.threads : static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  TubeRanking ranking = tubes_for_brief(brief, library, threads, a.quiet, stop);
  ranking.brief_file = std::filesystem::path(a.brief_file).filename().string();
  if (!print(a.json ? tube_ranking_json(ranking) : tube_ranking_text(ranking))) return kFileTrouble;
  if (ranking.trials.size() < ranking.tubes) return interruption_exit_code();
  return !ranking.trials.empty() && ranking.trials.front().met() ? kDone : kNothingSatisfies;
}

/// The curve readings that the card names, with the errors of all files at once.
int read_curves(const TubesArguments& a, const Tube& tube, std::vector<CurvePoint>& readings) {
  int code = kDone;
  for (const std::string& name : tube.curve_files) {
    const auto file = std::filesystem::path(tube_folder(a.tubes)) / name;
    const auto read = read_curve_points(file.lexically_normal().string());
    if (const auto* errors = std::get_if<InputErrors>(&read)) {
      code = std::max(code, report_errors(*errors));
      continue;
    }
    const auto& points = std::get<CurveFile>(read).points;
    readings.insert(readings.end(), points.begin(), points.end());
  }
  return code;
}

int run_for_tube(const TubesArguments& a, const TubeLibrary& library, const Tube& tube) {
  if (!a.plot.empty()) {
    std::vector<CurvePoint> readings;
    if (const int code = read_curves(a, tube, readings); code != kDone) return code;
    if (const auto trouble = save_file(a.plot, plate_curves_svg(tube, tube.law(), readings))) {
      std::fprintf(stderr, "antiphase tubes: %s\n", in_words(*trouble).c_str());
      return kFileTrouble;
    }
  }
  std::string text;
  if (a.substitutes) {
    std::vector<const Tube*> all;
    for (const Tube& other : library.tubes()) all.push_back(&other);
    const Substitutes found = substitutes_for(tube, all);
    text = a.json ? substitutes_json(found) : substitutes_text(found);
  } else {
    text = a.json ? tube_json(tube) : tube_text(tube);
  }
  if (!a.plot.empty() && !a.json) text += "\nPicture of its plate curves: " + a.plot + "\n";
  return print(text) ? kDone : kFileTrouble;
}

}  // namespace

int run_tubes(const TubesArguments& arguments) {
  if (const std::string wrong = contradiction(arguments); !wrong.empty()) return wrong_command_line(wrong);
  const auto read = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&read)) return report_errors(*errors);
  const TubeLibrary& library = std::get<TubeLibrary>(read);
  if (!arguments.brief_file.empty()) return run_for_brief(arguments, library);
  if (arguments.name.empty()) {
    std::vector<const Tube*> all;
    for (const Tube& tube : library.tubes()) all.push_back(&tube);
    return print(arguments.json ? tubes_json(all)
                                : tubes_table(all) + output_valves_line(library.output_valves()))
               ? kDone
               : kFileTrouble;
  }
  if (const OutputValve* valve = library.find_output_valve(arguments.name)) {
    if (!arguments.plot.empty() || arguments.substitutes)
      return wrong_command_line(
          "the " + valve->name +
          " is an output valve: plate curves and substitutes are known of driver tubes only");
    return print(arguments.json ? output_valve_json(*valve) : output_valve_text(*valve)) ? kDone
                                                                                         : kFileTrouble;
  }
  const Tube* tube = library.find(arguments.name);
  if (!tube)
    return wrong_command_line("there is no card for \"" + arguments.name + "\"" +
                              did_you_mean(library.nearest_names(arguments.name, 3)));
  return run_for_tube(arguments, library, *tube);
}

}  // namespace antiphase
