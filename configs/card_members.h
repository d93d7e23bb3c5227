/// Members that all kinds of cards have: numbers with their source, and a grid's current.
#pragma once

#include <optional>
#include <string>

#include "configs/object_reader.h"
#include "stagemodels/tubes/grid_diode.h"
#include "stagemodels/tubes/sourced.h"

namespace antiphase {

/// The member "source": a data sheet, a handbook, or "from memory: …".
std::string read_source(ObjectReader& in);

/// {"value": …, "source": …}
Sourced read_sourced(const Cursor& cursor, const NumberRule& rule);
std::optional<Sourced> optional_sourced(ObjectReader& in, std::string_view name, const NumberRule& rule);
std::optional<Sourced> required_sourced(ObjectReader& in, std::string_view name, std::string_view description,
                                        const NumberRule& rule);

/// The rule of "grid_conduction_v".
inline constexpr NumberRule kGridConduction{"V", -3, 1};

/// Bias of an output valve's grid against its cathode; with any drive margin a swing that designs allow.
inline constexpr NumberRule kOutputBias{"V", -300, -0.01};

struct GridCurrent {
  GridDiode diode;
  std::string source;
};

/// What is said of a grid whose card gives no resistance and slope of its own.
extern const std::string kUsualGridCurrentSource;

/// The member "grid_current" {"series_ohm", "slope_v", "source"}, or the usual values if it is not there.
/// `onset_v`: the voltage at which the grid takes GridDiode::kOnset_a.
GridCurrent read_grid_current(ObjectReader& in, double onset_v);

}  // namespace antiphase
