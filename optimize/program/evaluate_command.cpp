#include "optimize/program/evaluate_command.h"

#include <cstdio>

#include "configs/read_design.h"
#include "optimize/engine/snapping/preferred_values.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/places.h"
#include "optimize/program/search_report.h"
#include "results/json/evaluation_json.h"
#include "results/save.h"
#include "results/terminal/evaluation_text.h"
#include "results/writers/netlist.h"
#include "results/writers/parts_csv.h"
#include "stagemodels/linear/feedback.h"

namespace antiphase {

namespace {

/// Where overall feedback is asked for without its resistor, the E24 value nearest to what it takes.
Design with_standard_feedback(Design design) {
  if (!has_feedback(design) || design.feedback.resistor_ohm > 0) return design;
  Evaluation e;
  evaluate(design, Depth::rest, e);
  if (e.operating_point.solved != Solved::yes) return design;
  if (const auto ohm = feedback_resistor(design, e.operating_point))
    design.feedback.resistor_ohm = engine::nearest(engine::Series::e24, *ohm);
  return design;
}

}  // namespace

int run_evaluate(const EvaluateArguments& arguments) {
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return report_errors(*errors);
  const auto design = read_design(arguments.design_file, std::get<TubeLibrary>(library));
  if (const auto* errors = std::get_if<InputErrors>(&design)) return report_errors(*errors);
  const Record record = make_record(with_standard_feedback(std::get<Design>(design)), Demands{});
  const auto saved = [](const std::string& path, const std::string& content) {
    const auto trouble = save_file(path, content);
    if (trouble) std::fprintf(stderr, "antiphase evaluate: %s\n", in_words(*trouble).c_str());
    return !trouble;
  };
  if (!arguments.parts.empty() && !saved(arguments.parts, parts_csv(record, {}, {}))) return kFileTrouble;
  if (!arguments.netlist.empty() && !saved(arguments.netlist, netlist(record))) return kFileTrouble;
  if (!print(arguments.json ? evaluation_json(record) : evaluation_text(record))) return kFileTrouble;
  // A design whose rest point has no solution was read and answered, but nothing satisfies it.
  return record.evaluation.operating_point.solved == Solved::yes ? kDone : kNothingSatisfies;
}

}  // namespace antiphase
