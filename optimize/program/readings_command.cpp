#include "optimize/program/readings_command.h"

#include <unistd.h>

#include <cstdio>
#include <iostream>

#include "configs/read_design.h"
#include "configs/read_tolerances.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/threads.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/diagnosis_of.h"
#include "results/describe/safety.h"
#include "results/json/diagnosis_json.h"
#include "results/terminal/diagnosis_text.h"
#include "results/text/lines.h"
#include "results/text/read_quantity.h"

namespace antiphase {
namespace {

/// Of the file, if there is one, but for what the command line says itself.
OrErrors<Tolerances> tolerances_asked(const ReadingsArguments& arguments, const Design& design) {
  OrErrors<Tolerances> read;
  if (!arguments.tolerances_file.empty()) read = read_tolerances(arguments.tolerances_file, design);
  if (auto* tolerances = std::get_if<Tolerances>(&read)) {
    if (arguments.resistor_pct) tolerances->resistor_pct = *arguments.resistor_pct;
    if (arguments.emission_left) tolerances->emission_left = *arguments.emission_left;
  }
  return read;
}

std::optional<std::string> typed(const std::string& question) {
  std::fputs(question.c_str(), stderr);
  std::string answer;
  if (!std::getline(std::cin, answer)) return std::nullopt;
  answer.erase(0, std::min(answer.find_first_not_of(" \t"), answer.size()));
  answer.erase(answer.find_last_not_of(" \t\r") + 1);
  return answer;
}

/// Reading after reading, in the order of the sheet; an empty answer passes one over. Questions go to
/// standard error, so that the answer may go into a file. The order is the safe one: rest voltages, the
/// supply first.
MeterFile asked_for(const Design& design) {
  tell_lines(wrapped(kSafetyLine) +
                 "\nClip the meter on with the power off and the capacitors discharged; one hand away. Wait "
                 "until the "
                 "tubes\nare warm. An empty answer passes a reading over; \"end\" ends.\n",
             kDone);
  MeterFile file;
  const std::vector<BenchReading> readings = bench_readings(design);
  for (std::size_t k = 0; k < readings.size(); ++k) {
    for (;;) {
      const auto answer = typed(std::string(readings[k].label) + ": ");
      if (!answer || *answer == "end") return file;
      if (answer->empty()) break;
      const auto reading = parse_meter_value(*answer, k, readings, design);
      if (const auto* right = std::get_if<MeterReading>(&reading)) {
        file.readings.push_back(*right);
        break;
      }
      std::fputs(wrapped("  " + std::get<std::string>(reading) + ". Once more:", 80, 2).c_str(), stderr);
    }
  }
  return file;
}

}  // namespace

int run_readings(const ReadingsArguments& arguments) {
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return tell(*errors);
  const auto read = read_design(arguments.design_file, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&read)) return tell(*errors);
  const Design& design = std::get<Design>(read);
  const auto tolerances = tolerances_asked(arguments, design);
  if (const auto* errors = std::get_if<InputErrors>(&tolerances)) return tell(*errors);
  ReadingsAsk ask;
  ask.pairs = arguments.pairs;
  ask.threads = threads_for(arguments.threads);
  if (arguments.accuracy_pct) ask.accuracy_pct = *arguments.accuracy_pct;
  if (!arguments.meter_ohm.empty()) ask.meter_ohm = *read_quantity(arguments.meter_ohm, "ohm");

  const bool asks = arguments.ask || (arguments.meter_file.empty() && isatty(STDIN_FILENO));
  if (!asks && arguments.meter_file.empty())
    return tell("readings", Trouble{"give a file of readings, or --ask at a terminal", false});
  const OrErrors<MeterFile> meter =
      asks ? OrErrors<MeterFile>(asked_for(design)) : read_meter(arguments.meter_file, design);
  if (const auto* errors = std::get_if<InputErrors>(&meter)) return tell(*errors);
  if (std::get<MeterFile>(meter).readings.empty())
    return tell("readings", Trouble{"no reading was given; nothing to tell", false});
  const DiagnosisReport report =
      diagnosis_of(design, std::get<Tolerances>(tolerances), std::get<MeterFile>(meter), ask);
  const bool printed =
      arguments.json ? print(diagnosis_json(report)) : print_for_people(diagnosis_text(report));
  return printed ? kDone : kFileTrouble;
}

}  // namespace antiphase
