#include "results/describe/against.h"

#include "results/describe/candidate_columns.h"
#include "results/describe/circuits_compared.h"
#include "results/describe/explain.h"
#include "results/describe/trade_off.h"
#include "results/describe/values.h"

namespace antiphase {

std::vector<std::string> tubes_in_words(const Report& report) {
  std::vector<std::string> words;
  for (const Record& r : report.best_of_tubes)
    words.push_back(r.design.tube[0]->name + ": score " + score_text(r) + "; " +
                    objectives_in_words(report.demands, r) + ". " + design_in_words(report, r) + ".");
  return words;
}

std::vector<std::string> against_in_words(const Report& report) {
  if (!report.against || report.candidates.empty()) return {};
  const Against& other = *report.against;
  const Record& own = report.candidates.front();
  std::vector<std::string> words;
  words.push_back("Here: " + objectives_in_words(report.demands, own) + ". " + design_in_words(own) + ".");
  words.push_back("There (" + other.file + (other.title.empty() ? "" : ", \"" + other.title + "\"") +
                  "): " + objectives_in_words(report.demands, other.other) + ". " +
                  design_in_words(other.other) + ".");
  if (!other.same_task)
    words.push_back(
        "They were made for another circuit, target swing or load, so the two do not do the same.");
  if (!other.other.feasible) words.push_back("The best there does not keep every limit of this brief.");
  const std::string lead = lead_in_words(other.lead, report.demands, "the best there");
  words.push_back(lead.empty() ? "One of them has no score under this brief."
                               : "By the score of this brief: " + lead);
  return words;
}

}  // namespace antiphase
