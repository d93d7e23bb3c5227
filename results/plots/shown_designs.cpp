#include "results/plots/shown_designs.h"

#include <algorithm>

#include "results/describe/candidate_columns.h"
#include "results/describe/circuits_compared.h"
#include "results/describe/trade_off.h"

namespace antiphase {

std::vector<ShownDesign> shown_designs(const Report& report) {
  std::vector<ShownDesign> shown;
  for (const Record& r : report.candidates)
    shown.push_back(
        {&r, (r.feasible ? "Candidate " : "Near miss ") + std::to_string(r.rank), std::to_string(r.rank)});
  char letter = 'a';
  for (const TradeOffPoint& p : trade_off(report)) {
    if (place_among(shown, p.record->design) >= 0 || letter > 'z') continue;
    shown.push_back({p.record, p.name, std::string(1, letter++)});
  }
  for (const CircuitBest& of : report.best_of_circuits) {
    if (!of.best || place_among(shown, of.best->design) >= 0 || letter > 'z') continue;
    shown.push_back({&*of.best, (of.best->feasible ? "Best " : "Nearest ") + in_few_words(report, of.of),
                     std::string(1, letter++)});
  }
  return shown;
}

int place_among(const std::vector<ShownDesign>& shown, const Design& design) {
  const auto it = std::find_if(shown.begin(), shown.end(),
                               [&](const ShownDesign& s) { return same_design(s.record->design, design); });
  return it == shown.end() ? -1 : static_cast<int>(it - shown.begin());
}

}  // namespace antiphase
