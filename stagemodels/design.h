/// One stage with one set of values: what `evaluate` is asked about and every candidate carries.
#pragma once

#include <array>
#include <optional>

#include "stagemodels/circuits/kinds.h"
#include "stagemodels/output/output_pair.h"
#include "stagemodels/tubes/output_valve.h"
#include "stagemodels/tubes/section.h"

namespace antiphase {

#define ANTIPHASE_ENUMERATOR(name) name,
enum class CircuitKind { ANTIPHASE_CIRCUITS(ANTIPHASE_ENUMERATOR) };
#undef ANTIPHASE_ENUMERATOR
enum class BiasForm { self_biased, direct_coupled, negative_rail };
enum class TailForm { resistor, constant_current };
/// What stands between the splitter and the output valves: nothing; two cathode followers that hold their
/// grids; a second long-tailed pair.
enum class DriverForm { none, cathode_followers, long_tailed_pair };

/// What a gain stage ahead of a splitter is made of: one triode on a plate resistor; on a constant current;
/// under a second one whose grid is held (cascode); under a second one as its load, whose grid its plate
/// drives through a capacitor (mu-follower) or by a wire (shunt-regulated push-pull); two stages in a row.
enum class GainForm { triode, constant_current, cascode, mu_follower, srpp, two_triodes, pentode };
/// True if such a stage has a second section.
constexpr bool has_second_section(GainForm f) {
  return f != GainForm::triode && f != GainForm::constant_current && f != GainForm::pentode;
}

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

/// The gain stage ahead of a splitter, of circuits that have one. What it gives out feeds the splitter's
/// first grid through a capacitor or, with BiasForm::direct_coupled, by a wire, so that it sets the voltage
/// at which the splitter's grids rest.
struct FirstStage {
  GainForm form = GainForm::triode;
  const Tube* tube =
      nullptr;  ///< not owned; never null once read, where there is one; with `pentode` in that form
  SectionSpread spread;
  double plate_ohm = 0;
  double cathode_ohm = 0;             ///< whole resistance from cathode to ground
  double cathode_unbypassed_ohm = 0;  ///< the part of it, next to the cathode, that no capacitor bridges
  double grid_leak_ohm = 1e6;         ///< from the first grid to ground
  double cathode_bypass_f = 0;        ///< across the bypassed part; 0: not given
  double decoupling_ohm = 0;          ///< from the supply to where plate_ohm hangs; 0: on the supply itself
  double decoupling_f = 0;            ///< from there to ground, with decoupling_ohm > 0; 0: not given
  double coupling_f = 0;              ///< to the splitter's grid; 0: not given; never there if direct

  const Tube* second_tube = nullptr;  ///< of the second section, if the form has one; never null then
  SectionSpread second_spread;
  double load_current_a = 0, load_output_ohm = 10e6;  ///< constant_current: Norton, from supply to plate
  double load_compliance_v = 10;                      ///< the least voltage that this source works at
  double second_plate_ohm = 0;                        ///< two_triodes
  /// two_triodes: from the second cathode to ground. mu_follower and srpp: from the upper cathode to what its
  /// grid's bias is counted from.
  double second_cathode_ohm = 0;
  double second_cathode_unbypassed_ohm = 0, second_cathode_bypass_f = 0;  ///< two_triodes, as of the first
  double second_grid_leak_ohm = 1e6;                                      ///< mu_follower and two_triodes
  double second_grid_feed_ohm = 470e3;  ///< cascode: from the stage's supply to the upper grid
  double second_grid_foot_ohm = 0;      ///< cascode: from the upper grid to ground
  double second_grid_bypass_f = 0;      ///< cascode: from the upper grid to ground; 0: not given
  double second_coupling_f = 0;         ///< from the first plate to the second grid; 0: not given

  double screen_ohm = 0;       ///< pentode: from the stage's supply to its screen
  double screen_bypass_f = 0;  ///< pentode: from its screen to ground; 0: not given
};

/// Overall feedback around a gain stage and its pair, from the load of the output stage to the first cathode:
/// a resistor to the upper end of the unbypassed part of the first cathode resistor, which for this stands at
/// ground, below the bypassed part. The output stage is a block: a gain with two simple poles. It plays no
/// part in the other figures, which are those without feedback; see FeedbackFigures.
struct Feedback {
  bool given = false;
  double wanted_db = 0;     ///< by how much the gain at mid-band is to fall
  double source_v_rms = 0;  ///< of the source that drives the outputs to their target with the feedback on
  double resistor_ohm = 0;  ///< from the load to the injection resistor; 0: what wanted_db asks for
  double lead_f = 0;        ///< across the feedback resistor; 0: none
  double output_gain = 0;   ///< volts at the load per volt at each grid of the output stage, loaded
  double output_impedance_ohm = 0;  ///< of the output stage without feedback, at the load
  double load_ohm = 8;              ///< of the loudspeaker
  double low_hz = 0, high_hz = 0;   ///< -3 dB of the output stage; low 0, high 0: none
  double least_gain_margin_db = 6;  ///< both: common practice, no published source
  double least_phase_margin_deg = 45;
};

/// A stage behind the splitter, two sections of one type. Its grids hang on `coupling_f` of the splitter's
/// plates (Design::coupling_f) and on leaks to `bias_v`. Followers: their cathodes feed the grids of the
/// output valves by a wire and give them their bias. A pair: its plates feed them through `coupling_f`.
struct Driver {
  DriverForm form = DriverForm::none;
  const Tube* tube = nullptr;  ///< not owned; never null once read, where there is one
  std::array<SectionSpread, 2> spread{};
  double plate_ohm = 0;          ///< pair: of each plate
  double cathode_ohm = 0;        ///< followers: of each; pair: of both together; to the rail
  double rail_v = 0;             ///< < 0, or 0: ground
  double bias_v = 0;             ///< where the grids' leaks end
  double grid_leak_ohm = 470e3;  ///< of each
  double coupling_f = 0;         ///< pair: to each load; 0: not given
};

/// SI units throughout. Index 0 and 1: section (and output) 1 and 2. The circuits are
/// drawn in stagemodels/README.md. Which members apply to a circuit and its forms, their
/// ranges and their defaults stand once, in design_fields.h.
struct Design {
  CircuitKind circuit{};              ///< the first of the catalogue
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
  FirstStage first_stage;             ///< of circuits with a stage ahead only
  Feedback feedback;                  ///< of circuits with a stage ahead only
  Driver driver;                      ///< of circuits with two outputs only
  double cathode_ohm = 0;             ///< of a gain stage: whole resistance from cathode to ground
  double cathode_unbypassed_ohm = 0;  ///< of a gain stage: the part of it that no capacitor bridges

  double grid_leak_ohm = 1e6;  ///< of the pair's grids, or of the gain stage alone
  /// Of splitters whose second grid is driven from the outputs: resistors from output 1 and from output 2 to
  /// that grid, and from there to ground.
  double divider_ohm = 470e3, balancing_ohm = 0, divider_foot_ohm = 0;
  double load_ohm = 0;  ///< the next grid leak, per output
  double load_f = 0;    ///< the next grid's input capacitance, per output
  double source_ohm = 0;
  double source_f = 0;          ///< across the input, behind source_ohm: cable and wiring
  double heater_v = 0;          ///< DC on the heater, against signal ground
  double coupling_f = 0;        ///< to each load; 0: not given (taken as a short at mid-band)
  double grid_bypass_f = 0;     ///< from grid 2 to ground; 0: not given
  double input_coupling_f = 0;  ///< before the first grid; 0: not given; never there if grids_given()
  double cathode_bypass_f = 0;  ///< of a gain stage: across the bypassed part; 0: not given

  /// The valve whose grid each output drives, at rest `output_valve_bias_v` from its cathode; null: not
  /// named. It plays no part in the figures at the target, which are those into load_ohm; see Overdrive.
  const OutputValve* output_valve = nullptr;         ///< not owned
  double output_valve_bias_v = 0;                    ///< < 0
  OutputBias output_valve_bias = OutputBias::fixed;  ///< decides how large a leak its card allows

  /// The output stage behind the outputs, for two outputs only. Its valve is then output_valve, and
  /// swing_peak_v is the drive that its watts take.
  OutputStage output_stage;

  double swing_peak_v = 0;     ///< target: fundamental peak per output
  double clean_limit_pct = 3;  ///< distortion at which the clean swing ends

  TriodeSection first_section() const {
    TriodeSection s{first_stage.tube, &first_stage.tube->law(law), first_stage.spread};
    if (first_stage.form == GainForm::pentode && first_stage.tube->pentode.given)
      s.pentode = &first_stage.tube->pentode.law;
    return s;
  }
  TriodeSection second_section() const {
    return {first_stage.second_tube, &first_stage.second_tube->law(law), first_stage.second_spread};
  }
  TriodeSection driver_section(int i) const {
    return {driver.tube, &driver.tube->law(law), driver.spread[static_cast<std::size_t>(i)]};
  }
  /// Of the splitter or the gain stage.
  TriodeSection section(int i) const {
    const auto n = static_cast<std::size_t>(i);
    return {tube[n], &tube[n]->law(law), spread[n]};
  }
};

/// What the stage's own supply can rise to: before the tubes draw current nothing is dropped.
inline double cold_supply_v(const Design& d) {
  return d.main_supply_v > 0 ? d.main_supply_v : d.supply_v;
}

/// Sections of the output stage of a circuit: 2 for a pair, behind a first stage too; otherwise 1.
int sections(CircuitKind circuit);
/// Outputs of a circuit: 2 for a phase splitter, otherwise 1.
int outputs(CircuitKind circuit);
/// True if a gain stage of its own stands ahead of the circuit's output stage.
bool has_first_stage(CircuitKind circuit);
inline bool has_first_stage(const Design& d) {
  return has_first_stage(d.circuit);
}
/// True if a budget of overall feedback is asked for.
inline bool has_feedback(const Design& d) {
  return has_first_stage(d) && d.feedback.given;
}
/// True if its first stage has a second section.
inline bool has_second_section(const Design& d) {
  return has_first_stage(d) && has_second_section(d.first_stage.form);
}
/// True if the design has a driver behind its splitter.
inline bool has_driver(const Design& d) {
  return d.driver.form != DriverForm::none;
}
/// True if the tube can stand in a first stage of the form: a pentode in that of one, a triode in all others.
inline bool suits(const Tube& tube, GainForm form) {
  return tube.pentode.given == (form == GainForm::pentode);
}
/// True if the output stage that the outputs drive is described.
inline bool has_output_stage(const Design& d) {
  return d.output_stage.given;
}
/// True if the driven grid stands at a voltage that is given from outside: the plate of a stage before holds
/// it.
bool grids_given(const Design& d);
/// True if the plate of the design's own first stage holds the pair's grids.
inline bool direct_first_stage(const Design& d) {
  return has_first_stage(d) && d.bias.form == BiasForm::direct_coupled;
}

}  // namespace antiphase
