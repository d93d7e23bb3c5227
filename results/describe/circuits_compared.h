/// Circuits side by side: the best of each, and what one costs and gives against another.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// What a design has over another and what it lacks, each "7.1 dB more headroom", "one section fewer".
struct GivesAndCosts {
  std::vector<std::string> gives, costs;
};

/// Figures of the score, those that are shown beside every brief, drive and supply current, sections and
/// bottles. Told is what differs by kToldShare of what counts as one unit of a score. A figure that one of
/// the two does not have is passed over.
GivesAndCosts gives_and_costs(const Demands&, const Record& own, const Record& other);
inline constexpr double kToldShare = 0.1;

/// What is compared, by what tells it from the others of the report: "Split load", "cascode", "followers".
std::string in_few_words(const Report&, const Compared&);

/// "3 sections in 2 tubes, one section left over".
std::string sections_in_words(const Design&);

/// design_in_words of a record of the report, with its circuit before it where several are compared: "Split
/// load, 12AX7 at …".
std::string design_in_words(const Report&, const Record&);

/// A sentence or more for each circuit, best first: figures, what it gives and costs against the first,
/// parts; and why circuits were left out. Empty where one circuit alone was searched and none left out.
std::vector<std::string> circuits_in_words(const Report&);

}  // namespace antiphase
