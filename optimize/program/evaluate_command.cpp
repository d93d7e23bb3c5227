#include "optimize/program/evaluate_command.h"

#include <algorithm>

#include "configs/read_design.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/screen_width.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/own_tubes.h"
#include "optimize/studies/standard_feedback.h"
#include "results/describe/own_tube.h"
#include "results/json/evaluation_json.h"
#include "results/json/side_by_side_json.h"
#include "results/make_record.h"
#include "results/save.h"
#include "results/terminal/evaluation_text.h"
#include "results/terminal/side_by_side_text.h"
#include "results/text/lines.h"
#include "results/writers/netlist.h"
#include "results/writers/parts_csv.h"

namespace antiphase {
namespace {

/// False, with the trouble told, if a file that was asked for could not be saved.
bool saved(const std::string& path, const std::string& content) {
  const auto error = save_file(path, content);
  if (error) tell("evaluate", *error);
  return !error;
}

std::string answer_text(const EvaluateArguments& arguments, const Record& record) {
  if (arguments.json) return evaluation_json(record);
  if (arguments.explain) return evaluation_text(record, {}, screen_width());
  return short_evaluation_text(record, screen_width()) +
         wrapped("--explain prints the rest: harmonics, frequencies, levels, overdrive, parts, limits.",
                 screen_width());
}

/// A design whose rest point has no solution was read and answered, but nothing satisfies it.
int exit_code_of(const Record& record) {
  return record.evaluation.operating_point.solved == Solved::yes ? kDone : kNothingSatisfies;
}

/// Of all designs, each once.
std::string own_tubes_text(const std::vector<NamedRecord>& records) {
  std::string text;
  for (const NamedRecord& r : records)
    for (const std::string& sentence : own_tubes_in_words(r.record.own_tubes)) {
      const std::string lines = wrapped(sentence, screen_width());
      if (text.find(lines) == text.npos) text += lines;
    }
  return text + (text.empty() ? "" : "\n");
}

int print_side_by_side(const std::vector<NamedRecord>& records, bool json) {
  if (!(json ? print(side_by_side_json(records))
             : print_for_people(own_tubes_text(records) + side_by_side_text(records))))
    return kFileTrouble;
  int code = kDone;
  for (const NamedRecord& r : records) code = std::max(code, exit_code_of(r.record));
  return code;
}

}  // namespace

int run_evaluate(const EvaluateArguments& arguments) {
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return tell(*errors);
  const auto readings = read_tube_readings(arguments.tube_readings);
  if (const auto* errors = std::get_if<InputErrors>(&readings)) return tell(*errors);
  std::vector<NamedRecord> records;
  int code = kDone;
  for (const std::string& file : arguments.design_files) {
    auto design = read_design(file, std::get<TubeLibrary>(library));
    if (const auto* errors = std::get_if<InputErrors>(&design)) {
      code = std::max(code, tell(*errors));
      continue;
    }
    const auto own = put_own_tubes(std::get<std::vector<TubeReadingsFile>>(readings),
                                   std::get<TubeLibrary>(library), {}, std::get<Design>(design));
    if (const auto* errors = std::get_if<InputErrors>(&own)) {
      code = std::max(code, tell(*errors));
      continue;
    }
    records.push_back({file, make_record(with_standard_feedback(std::get<Design>(design)), Demands{})});
    records.back().record.own_tubes = std::get<OwnTubes>(own).told;
  }
  if (code != kDone) return code;
  if (records.size() > 1) return print_side_by_side(records, arguments.json);
  const Record& record = records.front().record;
  if (!arguments.parts.empty() && !saved(arguments.parts, parts_csv(record, {}, {}))) return kFileTrouble;
  if (!arguments.netlist.empty() && !saved(arguments.netlist, netlist(record))) return kFileTrouble;
  const std::string answer = answer_text(arguments, record);
  if (!(arguments.json ? print(answer) : print_for_people(answer))) return kFileTrouble;
  return exit_code_of(record);
}

}  // namespace antiphase
