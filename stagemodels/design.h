/// One stage with one set of values: what `evaluate` is asked about and every candidate carries.
#pragma once

#include <array>
#include <optional>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

enum class CircuitKind { long_tailed_pair, common_cathode };
enum class BiasForm { self_biased, direct_coupled, negative_rail };
enum class TailForm { resistor, constant_current };

/// How the pair is biased. Only the member of the chosen form has a meaning.
struct Bias {
  BiasForm form = BiasForm::self_biased;
  double ohm = 0;     ///< self_biased: between cathodes and leak node
  double grid_v = 0;  ///< direct_coupled: both grids at rest
  double rail_v = 0;  ///< negative_rail: foot of the tail, < 0
};

/// What the common cathode current runs through. A constant-current tail is a source
/// `current_a` with `output_ohm` across it (Norton); it works down to `compliance_v`.
struct Tail {
  TailForm form = TailForm::resistor;
  double ohm = 0;
  double current_a = 0;
  double output_ohm = 1e6;
  double compliance_v = 3;
};

/// SI units throughout. Index 0 and 1: section (and output) 1 and 2. The circuits are
/// drawn in stagemodels/README.md. Which members apply to a circuit and its forms, their
/// ranges and their defaults stand once, in design_fields.h.
struct Design {
  CircuitKind circuit = CircuitKind::long_tailed_pair;
  std::array<const Tube*, 2> tube{};  ///< not owned; never null once read; [1] unused by one-section circuits

  double supply_v = 0;
  std::array<double, 2> plate_ohm{};
  Bias bias;
  Tail tail;
  double cathode_ohm = 0;             ///< common_cathode: whole resistance from cathode to ground
  double cathode_unbypassed_ohm = 0;  ///< common_cathode: the part of it that no capacitor bridges

  double grid_leak_ohm = 1e6;
  double load_ohm = 0;  ///< the next grid leak, per output
  double load_f = 0;    ///< the next grid's input capacitance, per output
  double source_ohm = 0;
  double heater_v = 0;       ///< DC on the heater, against signal ground
  double coupling_f = 0;     ///< 0: not given (taken as a short at mid-band)
  double grid_bypass_f = 0;  ///< 0: not given

  double swing_peak_v = 0;     ///< target: fundamental peak per output
  double clean_limit_pct = 3;  ///< distortion at which the clean swing ends
};

/// Sections (and outputs) of a circuit: 2 for the pair, 1 for a gain stage.
int sections(CircuitKind circuit);

}  // namespace antiphase
