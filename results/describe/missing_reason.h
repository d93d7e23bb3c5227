/// Why a part of an evaluation has no figures.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// What ended it: its own end, or, if it was never begun, the first part before it that failed.
/// `yes` if it has figures; `not_run` if the evaluation did not go that far.
Solved missing_reason(Solved own, const Evaluation&);

/// Whether somebody asked for the part: it has figures, or it has a cause for having none.
inline bool asked(Solved own, const Evaluation& e) {
  return missing_reason(own, e) != Solved::not_run;
}

/// "No figures of …: reason."; empty if the part has figures or was not asked for.
std::string missing_sentence(const std::string& what, Solved own, const Evaluation&);

/// The design names the valve whose grid each output drives.
inline bool drives_named_grid(const Design& d) {
  return d.output_valve != nullptr;
}

inline constexpr std::string_view kNoOutputValve = "no output valve is named";
inline constexpr std::string_view kNoCouplingCapacitor = "no coupling capacitor is given";
/// For `starved_db` of a design that names its output valve.
std::string never_starved();

}  // namespace antiphase
