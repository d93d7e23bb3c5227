#include "results/describe/every_combination.h"

#include <cmath>

#include "results/text/formatted.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string count(std::int64_t n) {
  std::string digits = std::to_string(n);
  for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3)
    digits.insert(static_cast<std::size_t>(at), 1, ' ');
  return digits;
}

std::string proof_in_short(const RunRecord::EveryCombination& e, bool met) {
  const std::string all = count(e.combinations) + " combinations of these parts";
  if (!met) return "None of the " + all + " satisfies the brief: that is proved, not only not found.";
  return "Proved: of the " + all + " none scores better than the first, and " + count(e.front) +
         (e.front == 1 ? " is" : " are") + " beaten by none in every figure at once.";
}

}  // namespace

std::string not_proved_in_words(const RunRecord& run) {
  if (run.every_combination || !(run.combinations > 0)) return {};
  constexpr double kExact = 1e15;
  const std::string all = run.combinations < kExact ? count(static_cast<std::int64_t>(run.combinations))
                                                    : formatted("%.2g", run.combinations);
  return "The search judged " + count(run.evaluations_made) + " designs; of the " + all +
         " combinations of the parts it has not seen all. --complete goes through them, and proves the best.";
}

std::vector<std::string> every_combination_in_words(const RunRecord& run, bool met) {
  if (!run.every_combination) return {};
  const RunRecord::EveryCombination& e = *run.every_combination;
  if (!e.asked) return {proof_in_short(e, met)};
  std::vector<std::string> words;
  const bool whole = e.covered == e.combinations && e.slices == 1;
  std::string first = "Of " + count(e.combinations) + " combinations of parts ";
  if (e.slices > 1) first += "in slice " + std::to_string(e.slice) + " of " + std::to_string(e.slices) + " ";
  first += e.covered == e.combinations ? "all were covered" : count(e.covered) + " were covered";
  first += ": " + count(e.left_out_in_blocks) + " in blocks that a bound proves to break a limit";
  for (const auto& [stage, n] : e.turned_away)
    if (n > 0) first += ", " + count(n) + " turned away " + stage;
  first += ", " + count(e.judged_whole) + " judged whole, of which " + count(e.keep_every_limit) +
           " keep every limit.";
  words.push_back(first);
  if (!whole) {
    words.push_back(e.slices > 1
                        ? "The best of the whole is known when all slices are put together (--merge)."
                        : "The rest was not looked at: the best of it may be better.");
  } else if (met) {
    words.push_back("So the first candidate is the best there is among these parts, and " + count(e.front) +
                    (e.front == 1 ? " design is" : " designs are") +
                    " beaten by none in every figure at once" +
                    (e.front_whole ? "" : " (thinned: there were too many to keep)") +
                    "; complete.json holds " + (e.front == 1 ? "it." : "them all."));
    if (e.search_had_the_best)
      words.push_back(*e.search_had_the_best ? "The search before it had found the best already."
                                             : "The search before it had not found the best.");
  } else {
    words.push_back(
        "So no combination of these parts satisfies the brief: that is proved, not only not found.");
  }
  return words;
}

}  // namespace antiphase
