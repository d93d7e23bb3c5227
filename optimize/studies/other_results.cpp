#include "optimize/studies/other_results.h"

#include <nlohmann/json.hpp>

#include "configs/read_design.h"
#include "results/make_record.h"

namespace antiphase {

OrTrouble<OtherResults> other_results(const std::string& text, const std::string& file,
                                      const TubeLibrary& library) {
  try {
    const auto document = nlohmann::json::parse(text);
    const std::string title = document.at("title").get<std::string>();
    const auto& candidates = document.at("candidates");
    if (candidates.empty()) return Trouble{file + ": has no candidates to compare with"};
    const auto design = read_design_text(candidates.at(0).at("design").dump(), file, library);
    if (const auto* errors = std::get_if<InputErrors>(&design)) return Trouble{in_words(*errors)};
    return OtherResults{file, title, std::get<Design>(design)};
  } catch (const std::exception&) {
    return Trouble{file + ": is not a candidates.json as this program writes it"};
  }
}

Against against(const OtherResults& other, const Report& report) {
  Against beside;
  beside.file = other.file;
  beside.title = other.title;
  beside.other = make_record(other.best, report.demands, Depth::with_hand);
  if (report.candidates.empty()) return beside;
  const Record& own = report.candidates.front();
  const Design &a = own.design, &b = other.best;
  beside.lead = lead_over(report.demands, a, own.evaluation, b, beside.other.evaluation);
  beside.same_task = a.circuit == b.circuit && a.swing_peak_v == b.swing_peak_v && a.load_ohm == b.load_ohm &&
                     a.load_f == b.load_f;
  return beside;
}

}  // namespace antiphase
