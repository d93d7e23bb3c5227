/// Koren's improved triode law, with a grid offset.
#pragma once

#include "stagemodels/fields.h"
#include "stagemodels/tubes/currents.h"

namespace antiphase {

/// Plate current ia = 2 E1^ex / kg1 for E1 > 0, else 0, with
/// E1 = (va/kp) ln(1 + exp(kp (1/mu + (vg + vct) / sqrt(kvb + va^2)))); 0 for va <= 0.
/// Legend: va plate-to-cathode V, vg grid-to-cathode V, ia A.
/// Source: N. Koren, "Improved vacuum tube models for SPICE simulations", Glass
/// Audio 8 (1996) no. 5. Differs: vct (V) is 0 in the article. It stands for what moves a grid's zero:
/// contact potential and the speed with which electrons leave the cathode (Langford-Smith, Radiotron
/// Designer's Handbook, 4th ed., 1953, chapter 2, from memory). The article's grid diode is a placeholder and
/// is left out: this law draws no grid current.
struct Koren1996 {
  double mu = 100;    ///< 1
  double ex = 1.4;    ///< 1
  double kg1 = 1060;  ///< V^ex / A
  double kp = 600;    ///< 1
  double kvb = 300;   ///< V^2
  double vct = 0;     ///< V

  static constexpr bool kGridCurrent = false;
  static constexpr const char* kForm = "koren_1996";

  static constexpr auto fields() {
    return std::array{
        Field<Koren1996>{"mu", "1", "amplification factor", &Koren1996::mu, 1, 500},
        Field<Koren1996>{"ex", "1", "exponent of the current law", &Koren1996::ex, 0.8, 3},
        Field<Koren1996>{"kg1", "V^ex/A", "inverse current scale", &Koren1996::kg1, 1, 1e6},
        Field<Koren1996>{"kp", "1", "how sharply the current cuts off", &Koren1996::kp, 1, 1e6},
        Field<Koren1996>{"kvb", "V^2", "knee at low plate voltage", &Koren1996::kvb, 0, 1e6},
        Field<Koren1996>{"vct", "V", "grid offset (contact potential)", &Koren1996::vct, -5, 5},
    };
  }

  /// Fills the first `instants` entries of `out`. grid_v, plate_v: #instants, to the cathode, V.
  void currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const;
};

}  // namespace antiphase
