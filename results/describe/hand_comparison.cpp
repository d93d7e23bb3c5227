#include "results/describe/hand_comparison.h"

#include <algorithm>

#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

HandRow by_hand(std::string method, const HandEstimate& hand) {
  if (!hand.valid) return {std::move(method), "no such point", "", ""};
  return {std::move(method), engineering_text(hand.thd_pct, "%"),
          engineering_text(hand.grid_drive_peak_v, "V"), engineering_text(hand.ac_load_ohm, "ohm")};
}

}  // namespace

std::vector<HandRow> hand_rows(const Record& r) {
  const SteadyState& s = r.evaluation.at_target;
  if (s.solved != Solved::yes) return {};
  const bool pair = outputs(r.design.circuit) == 2;
  const double worse = pair ? std::max(s.thd_pct[0], s.thd_pct[1]) : s.thd_pct[0];
  const char* solved = pair ? "solved, the worse output" : "solved";
  return {{solved, engineering_text(worse, "%"), engineering_text(s.input_peak_v, "V"), ""},
          by_hand("by hand, AC line through the rest point", r.evaluation.hand_at_rest_point),
          by_hand("by hand, AC line from the supply end", r.evaluation.hand_from_supply)};
}

std::vector<std::string> hand_sentences(const Design& d) {
  if (sections(d.circuit) == 1)
    return {"By hand, the section runs along a straight AC line with its cathode held still.",
            "The AC line drawn from the supply end has the slope of the plate resistor in parallel with the "
            "load; it is not the DC line of the plate resistor alone, and misses the true rest point."};
  return {
      has_role(d, Role::tail)
          ? "By hand, one section is taken alone with its cathode held still; in the pair the common cathode "
            "follows about half of the drive, so grid 1 needs about twice as much, and the nearly constant "
            "tail current cancels most of the even harmonics that a single section makes."
          : "By hand, section 1 is taken alone with its cathode held still, into its plate resistor and "
            "load; "
            "what section 2 adds to the distortion is left out.",
      "The AC line drawn from the supply end has the slope of the plate resistor in parallel with the "
      "load; it is not the DC line of the plate resistor alone, on which the true rest point lies."};
}

}  // namespace antiphase
