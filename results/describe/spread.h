/// How builds of one design scatter, in words and tables.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "objectives/builds/faulty_parts.h"
#include "objectives/builds/sample.h"
#include "objectives/builds/select_on_test.h"
#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// What is known of a part of the builds, as plain data: the writers need nothing else.
struct SpreadReport {
  Design design;
  Evaluation nominal;
  Tolerances tolerances;
  std::vector<Varied> varied;
  SpreadSummary summary;
  std::vector<Corner> corners;
  std::uint64_t seed = 1;
  std::vector<OwnTubeRecord> own_tubes;
  std::string brief_file;  ///< whose limits count; empty: those of tubes and parts alone
  struct Broken {
    Defect defect;
    DefectPoint point;                        ///< not run for defects that are seen in AC only
    std::optional<Pair> gain = std::nullopt;  ///< of those, and of none
  };
  std::vector<Broken> broken;  ///< the first: nothing is
  struct Adjusted {
    std::string label;  ///< the part that is set
    double yield = 0;   ///< with it set in each build
    engine::Interval yield_95;
    double nominal = 0, low = 0, high = 0;  ///< value it is set to: of the design, and 5 and 95 % of builds
    std::string unit;
    double before_balance_pct = 0, after_balance_pct = 0;  ///< size that 95 % of builds stay under
    int builds = 0, not_reached = 0;                       ///< of them cannot be balanced by it
    double plain_yield = 0;                                ///< of the same builds, nothing set
    BalanceRecipe recipe;
    PlatesTell plates;
    std::optional<double> one_step_balance_pct;  ///< size that 95 % stay under after one step by the recipe
  };
  std::vector<Adjusted> adjusted;
};

std::string spread_in_words(const SpreadReport&);  ///< yield and its confidence, one or two sentences
/// What was varied, how far, and by what source.
std::vector<std::string> assumptions(const Design&, const Tolerances&);
ValueTable figure_spread_table(const SpreadReport&);  ///< nominal, 5 %, median, 95 %, worst seen
ValueTable driver_table(const SpreadReport&);         ///< what drives each figure
ValueTable missed_table(const SpreadReport&);         ///< which limits builds break
ValueTable tightening_table(const SpreadReport&);     ///< what half the tolerance of one thing buys
ValueTable corner_table(const SpreadReport&);         ///< ratings at the worst corner
/// How to set each part by a meter, one to three sentences a part; empty where nothing was set.
std::vector<std::string> recipes_in_words(const SpreadReport&);
ValueTable adjusted_table(const SpreadReport&);  ///< what a part that is set in each build buys

}  // namespace antiphase
