#include "results/describe/as_given.h"

#include "results/describe/section_names.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string given_in_words(const LimitResult& r) {
  std::string what(r.label);
  if (of_another_stage(r.section)) what += of_section(r.section);
  return "Outside its rating as the brief gives it: " + what + ", " + engineering_text(r.value, r.unit) +
         " where " + engineering_text(r.limit, r.unit) +
         (r.at_least ? " or more is asked" : " or less is allowed") + ". No choice of parts changes that. " +
         std::string(r.remedy) + " All else is designed with it as it is.";
}

}  // namespace

std::vector<std::string> as_given_in_words(const DesignProblem& problem) {
  std::vector<std::string> sentences;
  for (const LimitResult& r : problem.outside_as_given()) sentences.push_back(given_in_words(r));
  return sentences;
}

}  // namespace antiphase
