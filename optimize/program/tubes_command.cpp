#include "optimize/program/tubes_command.h"

#include <cstdio>

#include "configs/nearest_names.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/places.h"
#include "results/json/output_valve_json.h"
#include "results/json/tube_json.h"
#include "results/terminal/output_valve_text.h"
#include "results/terminal/tube_text.h"

namespace antiphase {

int run_tubes(const TubesArguments& arguments) {
  const auto read = read_library(arguments.tubes);
  if (const auto* faults = std::get_if<Faults>(&read)) return report_faults(*faults);
  const TubeLibrary& library = std::get<TubeLibrary>(read);
  if (arguments.name.empty()) {
    std::vector<const Tube*> all;
    for (const Tube& tube : library.tubes()) all.push_back(&tube);
    return print(arguments.json ? tubes_json(all)
                                : tubes_table(all) + output_valves_line(library.output_valves()))
               ? kDone
               : kFileTrouble;
  }
  if (const OutputValve* valve = library.find_output_valve(arguments.name))
    return print(arguments.json ? output_valve_json(*valve) : output_valve_text(*valve)) ? kDone
                                                                                         : kFileTrouble;
  const Tube* tube = library.find(arguments.name);
  if (!tube) {
    std::fprintf(stderr, "antiphase tubes: there is no card for \"%s\"%s\n", arguments.name.c_str(),
                 did_you_mean(library.nearest_names(arguments.name, 3)).c_str());
    return kBadInput;
  }
  return print(arguments.json ? tube_json(*tube) : tube_text(*tube)) ? kDone : kFileTrouble;
}

}  // namespace antiphase
