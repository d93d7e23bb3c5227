/// The law of a pentode or beam tetrode whose plate and screen share one space current.
#pragma once

#include "stagemodels/fields.h"
#include "stagemodels/tubes/output_currents.h"

namespace antiphase {

/// Space current ik = 2 E^ex / kg for E > 0, with E = (w / kp) ln(1 + exp(kp (1/mu + vg / w))) and the
/// equivalent screen voltage w = vs + through va; nothing flows for w <= 0. Plate and screen share it as
/// ia / is = division va / sqrt(vs (va + knee_v)); the plate takes nothing for va <= 0.
/// Legend: vg, vs, va grid 1, screen and plate to the cathode, V; ik, ia, is A.
/// Sources: E and the exponent from N. Koren, "Improved vacuum tube models for SPICE simulations", Glass
/// Audio 8 (1996) no. 5; the division from F. Tank, Jahrb. drahtl. Telegr. 31 (1928) 82 (from memory): ia /
/// is goes with the root of va / vs. That what the cathode sends arrives somewhere and that the plate reaches
/// through the screen by a fixed share: K. R. Spangenberg, Vacuum Tubes (1948) (from memory). Differs from
/// Koren's pentode, whose plate has no say in E and whose two currents are two laws; knee_v is our own,
/// without which the plate's first volt would count without end. The triode connection (vs = va) is Koren's
/// triode with mu / (1 + through) and kvb 0.
struct SpaceCurrentPentode {
  double mu = 10;         ///< 1, of grid 1 against the screen
  double ex = 1.4;        ///< 1
  double kg = 1000;       ///< V^ex / A
  double kp = 50;         ///< 1
  double through = 0.02;  ///< 1, volts of the screen that one volt of the plate is worth at the cathode
  double division =
      10;  ///< 1, plate current over screen current where both stand far above knee_v, at one voltage
  double knee_v = 1;  ///< V

  static constexpr const char* kForm = "space_current_pentode";

  static constexpr auto fields() {
    using T = SpaceCurrentPentode;
    return std::array{
        Field<T>{"mu", "1", "amplification factor of grid 1 against the screen", &T::mu, 1, 100},
        Field<T>{"ex", "1", "exponent of the space current", &T::ex, 0.8, 3},
        Field<T>{"kg", "V^ex/A", "inverse scale of the space current", &T::kg, 1, 1e6},
        Field<T>{"kp", "1", "how sharply the current cuts off", &T::kp, 1, 1e6},
        Field<T>{"through", "1", "reach of the plate through the screen", &T::through, 0, 1},
        Field<T>{"division", "1", "plate current over screen current at one voltage", &T::division, 0.1, 1e4},
        Field<T>{"knee_v", "V", "plate voltage below which the root of the division becomes a straight line",
                 &T::knee_v, 0.1, 500},
    };
  }

  OutputCurrents currents(const ElectrodeVoltages&) const;
};

}  // namespace antiphase
