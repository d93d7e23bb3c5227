/// From a low-frequency limit to capacitors that can be bought.
#pragma once

#include <cmath>
#include <span>

#include "stagemodels/design.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// The reservoir's own corner against the dropping resistor lies this far below the limit: at the limit the
/// stage's supply then moves by a tenth of what it would without a capacitor. The same holds for the
/// capacitor that decouples the supply of a stage ahead. Common practice (no published source).
inline constexpr double kReservoirShare = 10;
/// And none is smaller than this: common practice (no published source), since below it the part holds
/// nothing at the frequencies of the mains and of the stages beside it, however large the dropping resistor.
inline constexpr double kLeastReservoir_f = 1e-6;

struct CapacitorChoice {
  bool held = false;  ///< the limit is kept with what was chosen
  int chosen = 0;     ///< how many members of the design were filled
};

/// A capacitor that may have these values only.
struct OwnCapacitorLevels {
  const DesignField* member = nullptr;  ///< not null
  std::span<const double> levels;       ///< ascending, > 0, not empty
};

/// Chooses the capacitors that `design` needs and does not give (0): the members of all capacitors that its
/// circuit has (circuits/circuit.h), but for a bypass or an input capacitor of a grid that rests at ground
/// and has no levels of its own. Given ones stay.
///
/// Each is one of `levels` (ascending, > 0), or of its own in `own` if it stands there, such that
///   (a) each output is at most 3 dB down at every frequency from `lowest_hz` to its mid-band, and
///   (b) each chosen capacitor, were it the only one, has its pole at or below lowest_hz (the reservoir:
///   below
///       lowest_hz / kReservoirShare, and at least kLeastReservoir_f), so that one which (a) would let shrink
///       to nothing still does its work;
/// and no single one of them can be replaced by the next smaller level without breaking one of the two. The
/// way there is fixed: from (b) alone, up by the step that helps the worst output most until (a) holds, then
/// down in turn while both hold. Then those of supplies go up, by the step that helps most, until the ripple
/// between the outputs at 100 Hz is at most `most_ripple_v_per_v` of that on the supply; if no level gives
/// that, they stay. A capacitor whose levels end below what (b) asks for takes its largest. If
/// even the largest levels do not give (a), because of capacitors that are given or because the stage has no
/// mid-band, those of (b) are taken and `held` is false.
///
/// Allowed: a design whose rest point is solved; 0 < lowest_hz < 1 kHz; levels not empty.
/// Cost: some 50-150 solutions of the network. Allocates nothing. Same input, same choice.
CapacitorChoice choose_capacitors(Design& design, const OperatingPoint& rest, double lowest_hz,
                                  std::span<const double> levels,
                                  std::span<const OwnCapacitorLevels> own = {},
                                  double most_ripple_v_per_v = INFINITY);

}  // namespace antiphase
