/// A triode whose grid holds one part of the cathode less than the other: the three-halves law with islands.
#pragma once

#include "stagemodels/fields.h"
#include "stagemodels/tubes/currents.h"

namespace antiphase {

/// ia = P [(1 - f) S(h + va/mu)^1.5 + f S(h + va/(a mu))^1.5] va / sqrt(va^2 + Vk^2); 0 for va <= 0. In it
///   S(u) = d ln(1 + e^(u/d)) with d = d0 + d1 va/mu: what is left of the voltage u near cut-off;
///   h = Vc + vg + (1 - r) (T(-vg - V1) - T(-V1)) with T(y) = (y + sqrt(y^2 + (0.3 V1)^2)) / 2: volts at the
///   grid, which count for 1 near the cathode's voltage and for r far below V1.
/// Legend: va plate-to-cathode V, vg grid-to-cathode V, ia A; P perveance, mu mu, Vc contact_v, Vk knee_v,
/// d0 foot_v, d1 foot_share, r hold_share, V1 hold_from_v, a open_mu_share, f open_share.
///
/// Why each term is there:
/// * S^1.5: space charge between parallel electrodes (C. D. Child, Phys. Rev. 32 (1911) 492; I. Langmuir,
///   Phys. Rev. 2 (1913) 450).
/// * f, a: in the middle of the meshes, and beyond the ends of the grid, the cathode is shielded less. There
///   mu is smaller and the current stops later, so that mu falls toward cut-off: the island effect (K. R.
///   Spangenberg, Vacuum Tubes (1948), chapter 7, from memory). Two parts stand for the whole spread of mu.
/// * r, V1: with the plate high and the grid far below the cathode, what still flows comes from the middle of
///   the meshes alone, where volts at the grid count for less. On two sheets of three the fit wants it; on
///   the 12AX7's it comes out at 1 to 1.1, within what their lines are drawn to.
/// * Vc: contact potential and the electrons' own energy. d0: the spread of that energy, and of spacing.
///   d1: the spread of mu within each part, which counts as volts in proportion to the plate's.
/// * Vk: a plate below some volts cannot draw all that passes the grid; the rest turns back.
/// The current has all derivatives for va > 0 and rises with both voltages, for any parameters in range.
/// A term for the bend of the three-halves law at large currents was tried: left-out lines gained nothing.
/// Own law; beside the published ones in tests/stagemodels/tubes/laws_compared_test.cpp. No grid current.
struct IslandTriode {
  double mu = 100;             ///< 1, of the part that the grid shields well
  double perveance = 1e-3;     ///< A / V^1.5
  double contact_v = 0.5;      ///< V
  double knee_v = 13;          ///< V
  double foot_v = 0.2;         ///< V
  double foot_share = 0.1;     ///< 1
  double hold_share = 1;       ///< 1
  double hold_from_v = 2;      ///< V below the cathode
  double open_mu_share = 0.6;  ///< 1, mu of the other part, of `mu`
  double open_share = 0.1;     ///< 1, that part of the whole perveance

  static constexpr bool kGridCurrent = false;
  static constexpr const char* kForm = "island_triode";

  static constexpr auto fields() {
    using T = IslandTriode;
    return std::array{
        Field<T>{"mu", "1", "amplification factor where the grid shields the cathode well", &T::mu, 1, 500},
        Field<T>{"perveance", "A/V^1.5", "current scale", &T::perveance, 1e-7, 1},
        Field<T>{"contact_v", "V", "contact potential, added to the grid's voltage", &T::contact_v, -5, 5},
        Field<T>{"knee_v", "V", "plate voltage below which electrons turn back", &T::knee_v, 0, 500},
        Field<T>{"foot_v", "V", "width of the foot near cut-off, in grid volts", &T::foot_v, 1e-3, 10},
        Field<T>{"foot_share", "1", "how far that width grows, of the plate voltage over mu", &T::foot_share,
                 0, 2},
        Field<T>{"hold_share", "1", "hold of a far negative grid, of that near the cathode's voltage",
                 &T::hold_share, 0.3, 1.3},
        Field<T>{"hold_from_v", "V", "volts below the cathode from which that holds", &T::hold_from_v, 0.1,
                 100},
        Field<T>{"open_mu_share", "1", "amplification factor where it shields less, of mu", &T::open_mu_share,
                 0.1, 1},
        Field<T>{"open_share", "1", "that part of the current scale", &T::open_share, 0, 1},
    };
  }

  /// Fills the first `instants` entries of `out`. grid_v, plate_v: #instants, to the cathode, V.
  void currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const;
};

}  // namespace antiphase
