/// The law of a small pentode, whose suppressor keeps what has reached the plate there.
#pragma once

#include "stagemodels/fields.h"
#include "stagemodels/tubes/output_currents.h"

namespace antiphase {

/// Space current as of SpaceCurrentPentode, with w = vs + through va. Plate and screen share it as
/// ia / is = division va / (va + knee_v); the plate takes nothing for va <= 0.
/// Legend: vg, vs, va grid 1, screen and plate to the cathode, V; ia, is A.
/// Sources: the space current as there; that with a suppressor the shares are those of the screen's wires,
/// and hardly hang on the plate's voltage above the knee: K. R. Spangenberg, Vacuum Tubes (1948) (from
/// memory). The knee is our own: a straight line from nothing, whose last percents come slowly, as N. Koren's
/// arctangent does (Glass Audio 8 (1996) no. 5). The triode connection (vs = va) is Koren's triode with mu /
/// (1 + through) and kvb 0.
struct SuppressorPentode {
  double mu = 35;          ///< 1, of grid 1 against the screen
  double ex = 1.4;         ///< 1
  double kg = 1000;        ///< V^ex / A
  double kp = 100;         ///< 1
  double through = 0.005;  ///< 1, volts of the screen that one volt of the plate is worth at the cathode
  double division = 5;     ///< 1, plate current over screen current far above the knee
  double knee_v = 10;      ///< V

  static constexpr const char* kForm = "suppressor_pentode";

  static constexpr auto fields() {
    using T = SuppressorPentode;
    return std::array{
        Field<T>{"mu", "1", "amplification factor of grid 1 against the screen", &T::mu, 1, 200},
        Field<T>{"ex", "1", "exponent of the space current", &T::ex, 0.8, 3},
        Field<T>{"kg", "V^ex/A", "inverse scale of the space current", &T::kg, 1, 1e6},
        Field<T>{"kp", "1", "how sharply the current cuts off", &T::kp, 1, 1e6},
        Field<T>{"through", "1", "reach of the plate through the screen", &T::through, 0, 1},
        Field<T>{"division", "1", "plate current over screen current far above the knee", &T::division, 0.1,
                 1e4},
        Field<T>{"knee_v", "V", "plate voltage at which the ratio of the currents is half of that",
                 &T::knee_v, 0.1, 500},
    };
  }

  OutputCurrents currents(const ElectrodeVoltages&) const;

  /// Plate current over screen current.
  double ratio(double plate_to_cathode_v) const {
    return plate_to_cathode_v > 0 ? division * plate_to_cathode_v / (plate_to_cathode_v + knee_v) : 0;
  }
};

}  // namespace antiphase
