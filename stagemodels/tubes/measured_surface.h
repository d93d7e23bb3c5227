/// A law that follows measured curves: Koren's form times a smooth correction read off the measurements.
#pragma once

#include "stagemodels/tubes/koren_1996.h"

namespace antiphase {

/// ia = K exp(c(p, q)), K the Koren form with these parameters, p = ln(K / reference_a), q = ln(va / 100 V).
/// c is a tensor product of uniform cubic B-splines: smooth to the second derivative, so that it cannot make
/// harmonics of its own; the same last three coefficients at each end make it still beyond the measurements.
/// Where c's slopes stay within what surface_fit.h keeps them to, the current rises with grid and plate.
/// Source of the splines: C. de Boor, A Practical Guide to Splines (revised ed. 2001); of fitting them with a
/// penalty: P. H. C. Eilers, B. D. Marx, "Flexible smoothing with B-splines and penalties", Statistical
/// Science 11 (1996) 89.
struct MeasuredSurface : Koren1996 {
  static constexpr int kAlongCurrent = 15, kAlongPlate = 11;  ///< coefficients
  static constexpr double kPlate_v = 100;                     ///< where q is zero

  double reference_a = 1e-3;                                    ///< A
  double current_low = -4.6, current_step = 0.5;                ///< p of the first knot and between knots
  double plate_low = -2, plate_step = 0.5;                      ///< the same for q
  std::array<double, kAlongCurrent * kAlongPlate> log_ratio{};  ///< c's coefficients, plate by plate

  static constexpr bool kGridCurrent = false;
  static constexpr const char* kForm = "measured_surface";

  static constexpr auto fields() {
    using T = MeasuredSurface;
    return std::array{
        Field<T>{"mu", "1", "amplification factor of the form under the correction", &T::mu, 1, 500},
        Field<T>{"ex", "1", "its exponent", &T::ex, 0.8, 3},
        Field<T>{"kg1", "V^ex/A", "its inverse current scale", &T::kg1, 1, 1e6},
        Field<T>{"kp", "1", "how sharply it cuts off", &T::kp, 1, 1e6},
        Field<T>{"kvb", "V^2", "its knee at low plate voltage", &T::kvb, 0, 1e6},
        Field<T>{"vct", "V", "its grid offset", &T::vct, -5, 5},
        Field<T>{"reference_a", "A", "current at which the correction's first axis is zero", &T::reference_a,
                 1e-6, 1},
        Field<T>{"current_low", "1", "logarithm of the current at its first knot", &T::current_low, -20, 10},
        Field<T>{"current_step", "1", "and from knot to knot", &T::current_step, 0.01, 10},
        Field<T>{"plate_low", "1", "logarithm of the plate voltage over 100 V at its first knot",
                 &T::plate_low, -10, 10},
        Field<T>{"plate_step", "1", "and from knot to knot", &T::plate_step, 0.01, 10},
    };
  }

  static constexpr auto lists() {
    return std::array{ListField<MeasuredSurface, kAlongCurrent * kAlongPlate>{
        "log_ratio", "1", "coefficients of the correction, current by current for each plate voltage",
        &MeasuredSurface::log_ratio, -5, 5}};
  }

  /// Fills the first `instants` entries of `out`. grid_v, plate_v: #instants, to the cathode, V.
  void currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const;
};

/// Four cubic B-splines that are not zero at `t` (0 … 1) between two knots, and their derivatives.
struct CubicBasis {
  double value[4], slope[4];
};
inline CubicBasis cubic_basis(double t) {
  const double s = 1 - t, t2 = t * t, s2 = s * s;
  return {{s * s2 / 6, (4 - 6 * t2 + 3 * t * t2) / 6, (4 - 6 * s2 + 3 * s * s2) / 6, t * t2 / 6},
          {-0.5 * s2, 0.5 * (3 * t2 - 4 * t), 0.5 * (4 * s - 3 * s2), 0.5 * t2}};
}

}  // namespace antiphase
