#include "results/describe/missing_reason.h"

#include "results/text/write_quantity.h"

namespace antiphase {

Solved missing_reason(Solved own, const Evaluation& e) {
  if (own != Solved::not_run) return own;
  for (const Solved before : {e.operating_point.solved, e.at_target.solved})
    if (before != Solved::yes) return before;
  return Solved::not_run;
}

std::string missing_sentence(const std::string& what, Solved own, const Evaluation& e) {
  const Solved why = missing_reason(own, e);
  if (why == Solved::yes || why == Solved::not_run) return "";
  return what + ": " + std::string(reason(why)) + ".";
}

std::string never_starved() {
  return "the output grids are not starved within " +
         engineering_text(OverdriveFigures::kMostDrive_db, "dB") + " past the target";
}

}  // namespace antiphase
