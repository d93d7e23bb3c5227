/// What a part has to bear, by cause, and the usual ratings that follow.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "objectives/limits/limit.h"
#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

enum class Cause {
  rest,        ///< at rest, warm
  full_drive,  ///< over the cycle at the target
  cold,        ///< before the tubes conduct, every capacitor charged
  switch_on,   ///< the moment at which a capacitor is still empty
  fault        ///< one other part broken (objectives/builds/faulty_parts.h)
};
std::string_view name_of(Cause);  ///< "full drive"

/// What one cause asks of a part. Sizes; empty: not known, or no matter.
struct Burden {
  Cause cause = Cause::rest;
  std::optional<double> power_w;  ///< mean; of switch_on the first moment's
  std::optional<double> voltage_v;
  std::optional<double> energy_j;  ///< of switch_on: what the part turns into heat until all is charged
  std::optional<double> time_constant_s;  ///< of switch_on: of the capacitor's voltage
  std::string which;                      ///< of fault: "tail resistor shorted"; of switch_on the capacitor
};

/// The one of that cause, or null.
const Burden* burden_of(const std::vector<Burden>&, Cause);

/// By how much a film resistor may be overloaded for kOverload_s, in power: 2.5 times its voltage, the
/// short-time overload test of IEC 60115-1 (from memory). A wirewound one: 10 times its power (common
/// practice: makers' sheets, from memory). A single pulse that is shorter is taken as no worse.
inline constexpr double kFilmOverload = 6.25, kWirewoundOverload = 10, kOverload_s = 5;

inline constexpr double kLargestFilmRating_w = 3;  ///< common practice: makers' sheets

struct PowerRating {
  std::optional<double> rating_w;   ///< the least usual one that is enough for every cause; empty: none is
  std::optional<Cause> decided_by;  ///< the first cause that alone asks for as much
  bool wirewound = false;           ///< no usual film part is enough for the pulse at switch-on
};

/// Power at rest and at full drive: at most `factor` of the rating. Under a fault: all of it. At switch-on:
/// the overload above, or all of it where the pulse is longer than kOverload_s. Usual ratings 0.125 0.25 0.5
/// 1 2 3 5 7 10 W (common practice: resistor makers' sheets), of film to 3 W; of wirewound parts for pulses
/// 5 7 10 15 20 25 50 100 W.
PowerRating power_rating(const std::vector<Burden>&, double factor);

struct VoltageRating {
  std::optional<double> rating_v;
  std::optional<Cause> decided_by;
};

enum class VoltageRow { resistor, film_capacitor, electrolytic_capacitor, diode, transistor };

/// Voltage at rest, at full drive, cold and at switch-on: at most `factor` of the rating; under a fault: all
/// of it. Usual voltages stand with parts_list.
VoltageRating voltage_rating(const std::vector<Burden>&, VoltageRow, double factor);

/// The voltages of a design's nodes with each defect that it can have.
class FaultVoltages {
 public:
  /// Shorted resistors are no faults that parts are rated for: resistors fail open (common practice). Cost: a
  /// rest point for each defect; none where the sound one is not solved. A defect that leaves a sink
  /// without its current is left out: it saturates, which the solved circuit does not show.
  FaultVoltages(const Design&, const Evaluation&);

  /// The greatest that any single defect elsewhere brings: voltage of every element, power of a resistor of
  /// `ohm`. Empty: no defect could be solved. Allowed: an element of circuit_of(design).
  std::optional<Burden> worst_of(const Element&, double ohm) const;

 private:
  struct One {
    std::string label;
    std::vector<int> altered;  ///< elements that are not as the design has them
    NodeVolts volts;
  };
  const Circuit* circuit_;
  std::vector<One> solved_;
};

/// How each figure of these burdens comes about, one sentence: "at rest V\u00b2/R = 0.1 W; …".
std::string burdens_in_words(const std::vector<Burden>&);

}  // namespace antiphase
