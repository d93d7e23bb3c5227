/// The three-halves power law: for closed-form tests and first guesses, never for ranking.
#pragma once

#include "stagemodels/fields.h"
#include "stagemodels/tubes/currents.h"

namespace antiphase {

/// ia = k (vg + va/mu + offset_v)^1.5 above cut-off, 0 below.
/// Legend: va, vg plate and grid to cathode V; ia A.
/// Source: C. D. Child, Phys. Rev. 32 (1911) 492; I. Langmuir, Phys. Rev. 2 (1913) 450.
/// Known weakness: real curves bend near cut-off, where this law has no foot, so
/// distortion comes out several times too small.
struct ChildLangmuir {
  double k = 1e-3;      ///< A/V^1.5
  double mu = 100;      ///< 1
  double offset_v = 0;  ///< V

  static constexpr bool kGridCurrent = false;
  static constexpr const char* kForm = "child_langmuir";

  static constexpr auto fields() {
    return std::array{
        Field<ChildLangmuir>{"k", "A/V^1.5", "perveance", &ChildLangmuir::k, 1e-7, 1},
        Field<ChildLangmuir>{"mu", "1", "amplification factor", &ChildLangmuir::mu, 1, 500},
        Field<ChildLangmuir>{"offset_v", "V", "grid offset", &ChildLangmuir::offset_v, -5, 5},
    };
  }

  /// Fills the first `instants` entries of `out`. grid_v, plate_v: #instants, to the cathode, V.
  void currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const;
};

}  // namespace antiphase
