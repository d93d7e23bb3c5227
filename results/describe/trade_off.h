/// The ends of the Pareto front and its knee, and which figures a person wants to see first.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

struct TradeOffPoint {
  std::string name;      ///< "Least distortion", "Knee"
  std::string figures;   ///< the objectives' figures in words, commas between
  const Record* record;  ///< a member of report.pareto
};

/// One entry per objective (the best of those members of the front that are within bounds), then every member
/// whose remark names it a knee; a design that is best in several ways stands once, with both names. Empty
/// without a front.
std::vector<TradeOffPoint> trade_off(const Report&);

/// A few designs that cover the front: the points above and those marked as choices, along the front in the
/// order of the first objective. Those without a name are "Choice 1", "Choice 2", …
std::vector<TradeOffPoint> choices(const Report&);

/// A sentence for each step from one of the choices to the next: "From least distortion to choice 1: 6 kΩ
/// less output impedance for 0.1 points more distortion." Named is what changes by more than kStepShare of
/// what the front spans in that figure. Empty with fewer than two choices.
inline constexpr double kStepShare = 0.05;
std::vector<std::string> trade_off_steps(const Report&);

/// What is to be said of a design in a list: its own remark, or else the end of the trade-off that it is.
std::string remark_in_words(const Record&, const std::vector<TradeOffPoint>&);

/// "least distortion", "most headroom", "balance nearest zero".
std::string best_in_words(const Figure&);

/// "6 kΩ less output impedance", "0.1 points more distortion", "balance 2 points nearer zero": a change of a
/// figure, as a cost.
std::string change_in_words(const Figure&, double cost_change);

/// Indices into figures(), each once, without those that no candidate has: the objectives in the brief's
/// order, then gain, input drive and, with overall feedback, what it leaves of the sensitivity.
std::vector<std::size_t> figures_asked_for(const Report&);

/// The same, then the headline figures not among them.
std::vector<std::size_t> figures_to_show(const Report&);

/// What a plot of the trade-off is drawn over: the objectives, then the headline figures not among them.
std::vector<std::size_t> figures_for_axes(const Report&);

/// "distortion 0.42 %, output impedance 48.2 kΩ": the objectives' figures of a record.
std::string objectives_in_words(const Demands&, const Record&);

/// Place of a figure in the table of figures.
std::size_t index_of(const Figure&);

/// Same circuit, tubes and values.
bool same_design(const Design&, const Design&);

}  // namespace antiphase
