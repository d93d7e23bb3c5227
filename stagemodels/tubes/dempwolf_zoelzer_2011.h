/// The physically motivated triode law of Dempwolf and Zoelzer, with grid current.
#pragma once

#include "stagemodels/fields.h"
#include "stagemodels/tubes/currents.h"

namespace antiphase {

/// ig = gg (S(cg vg)/cg)^xi + ig0 ; ik = g (S(c (va/mu + vg))/c)^gamma ; ia = ik - ig,
/// S(x) = ln(1 + e^x). Legend: va, vg plate and grid to cathode V; ia, ig, ik A.
/// Source: K. Dempwolf, U. Zoelzer, "A physically-motivated triode model for
/// circuit simulations", Proc. 14th Int. Conf. Digital Audio Effects (DAFx-11), 2011.
/// Differs: where the plate would carry negative current (plate below a positive
/// grid) the published form is kept as it is; it is continuous there.
struct DempwolfZoelzer2011 {
  double g = 2.242e-3;    ///< A/V^gamma
  double mu = 103.2;      ///< 1
  double gamma = 1.26;    ///< 1
  double c = 3.40;        ///< 1/V
  double gg = 6.177e-4;   ///< A/V^xi
  double xi = 1.314;      ///< 1
  double cg = 9.901;      ///< 1/V
  double ig0 = 8.025e-8;  ///< A

  static constexpr bool kGridCurrent = true;
  static constexpr const char* kForm = "dempwolf_zoelzer_2011";

  static constexpr auto fields() {
    using T = DempwolfZoelzer2011;
    return std::array{
        Field<T>{"g", "A/V^gamma", "current scale of the cathode", &T::g, 1e-7, 1},
        Field<T>{"mu", "1", "amplification factor", &T::mu, 1, 500},
        Field<T>{"gamma", "1", "exponent of the cathode current", &T::gamma, 0.8, 3},
        Field<T>{"c", "1/V", "how sharply the cathode current cuts off", &T::c, 0.01, 1000},
        Field<T>{"gg", "A/V^xi", "current scale of the grid", &T::gg, 0, 1},
        Field<T>{"xi", "1", "exponent of the grid current", &T::xi, 0.8, 3},
        Field<T>{"cg", "1/V", "how sharply the grid current sets in", &T::cg, 0.01, 1000},
        Field<T>{"ig0", "A", "constant part of the grid current", &T::ig0, -1e-5, 1e-5},
    };
  }

  /// Fills the first `instants` entries of `out`. grid_v, plate_v: #instants, to the cathode, V.
  void currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const;
};

}  // namespace antiphase
