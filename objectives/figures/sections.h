/// What of tubes a stage takes: sections, and the bottles that they come in.
#pragma once

#include <algorithm>

#include "objectives/figures/figure.h"
#include "stagemodels/circuits/designators.h"

namespace antiphase {

/// Both hang on the circuit and its types alone, and need no solution.
inline constexpr Figure kSections{
    .name = "sections",
    .label = "triode sections",
    .unit = "1",
    .description = "triode sections that the stage uses",
    .direction = Direction::smaller,
    .scale = 1,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation&) -> std::optional<double> {
      const Circuit& list = circuit_of(d);
      return static_cast<double>(std::count_if(
          list.begin(), list.end(), [](const Element& e) { return e.kind == ElementKind::triode; }));
    }};

inline constexpr Figure kTubes{
    .name = "tubes",
    .label = "tubes",
    .unit = "1",
    .description = "bottles that the sections come in; one of which a section is left over counts whole",
    .direction = Direction::smaller,
    .scale = 1,
    .needs = Depth::rest,
    .measure = [](const Design& d, const Evaluation& e) -> std::optional<double> {
      // A design without types has a bottle for each section.
      if (!d.tube[0]) return kSections.measure(d, e);
      return static_cast<double>(Designators(d).bottles());
    }};

}  // namespace antiphase
