/// One stage with one set of values: what `evaluate` is asked about and every candidate carries.
#pragma once

#include <array>
#include <optional>

#include "stagemodels/tubes/output_valve.h"
#include "stagemodels/tubes/section.h"

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
  /// direct_coupled: a clamp diode from each grid to the cathode carries the grids' start-up current while
  /// the tubes are cold and the plate before stands at the whole supply. It is blocked in use.
  bool grid_clamp = false;
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

  double supply_v = 0;  ///< of the stage; not a member but a result (OperatingPoint) with main_supply_v
  int law = 0;          ///< which of the tubes' credible laws is used; not a member of files
  std::array<SectionSpread, 2> spread{};  ///< how the two sections differ from their type
  double main_supply_v = 0;  ///< > 0: the stage hangs on it through dropping_ohm, with reservoir_f to ground
  double dropping_ohm = 0;
  double reservoir_f = 0;  ///< 0: not given (holds the supply still at every frequency)
  std::array<double, 2> plate_ohm{};
  Bias bias;
  Tail tail;
  double cathode_ohm = 0;             ///< common_cathode: whole resistance from cathode to ground
  double cathode_unbypassed_ohm = 0;  ///< common_cathode: the part of it that no capacitor bridges

  double grid_leak_ohm = 1e6;
  double load_ohm = 0;  ///< the next grid leak, per output
  double load_f = 0;    ///< the next grid's input capacitance, per output
  double source_ohm = 0;
  double source_f = 0;          ///< across the input, behind source_ohm: cable and wiring
  double heater_v = 0;          ///< DC on the heater, against signal ground
  double coupling_f = 0;        ///< to each load; 0: not given (taken as a short at mid-band)
  double grid_bypass_f = 0;     ///< from grid 2 to ground; 0: not given
  double input_coupling_f = 0;  ///< before grid 1; 0: not given; never there with direct_coupled
  double cathode_bypass_f = 0;  ///< common_cathode: across the bypassed part; 0: not given

  /// The valve whose grid each output drives, at rest `output_valve_bias_v` from its cathode; null: not
  /// named. It plays no part in the figures at the target, which are those into load_ohm; see Overdrive.
  const OutputValve* output_valve = nullptr;  ///< not owned
  double output_valve_bias_v = 0;             ///< < 0

  double swing_peak_v = 0;     ///< target: fundamental peak per output
  double clean_limit_pct = 3;  ///< distortion at which the clean swing ends

  TriodeSection section(int i) const {
    const auto n = static_cast<std::size_t>(i);
    return {tube[n], &tube[n]->law(law), spread[n]};
  }
};

/// What the stage's own supply can rise to: before the tubes draw current nothing is dropped.
inline double cold_supply_v(const Design& d) {
  return d.main_supply_v > 0 ? d.main_supply_v : d.supply_v;
}

/// Sections (and outputs) of a circuit: 2 for the pair, 1 for a gain stage.
int sections(CircuitKind circuit);

}  // namespace antiphase
