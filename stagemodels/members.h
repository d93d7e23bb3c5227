/// Every number that a design file may hold, once: its place in the file, its label, unit and allowed range.
/// A name here is the JSON pointer with underscores. The elements of a circuit name the members that they
/// take their values from (circuits/circuit.h); a member that no element of a circuit names has no meaning
/// there.
#pragma once

#include <array>

#include "stagemodels/design_fields.h"

namespace antiphase::member {

inline constexpr double kOhmLow = 1, kOhmHigh = 100e6;  // below: a wire; above: an insulator

/// In the order in which files are written.
inline constexpr std::array kAll{
    DesignField{"/main_supply_v", "main supply", "V", FieldRole::condition, 1, 2000, false,
                [](Design& d) -> double& { return d.main_supply_v; }},
    DesignField{"/supply_v", "supply", "V", FieldRole::condition, 1, 2000, true,
                [](Design& d) -> double& { return d.supply_v; }},
    DesignField{"/dropping_ohm", "dropping resistor", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.dropping_ohm; }},
    DesignField{"/reservoir_f", "reservoir capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.reservoir_f; }},
    DesignField{"/plate_ohm/0", "plate resistor 1", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.plate_ohm[0]; }},
    DesignField{"/plate_ohm/1", "plate resistor 2", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.plate_ohm[1]; }},
    DesignField{"/bias/ohm", "bias resistor", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.bias.ohm; }},
    DesignField{"/bias/grid_v", "grid voltage", "V", FieldRole::setting, 0, 2000, true,
                [](Design& d) -> double& { return d.bias.grid_v; }},
    DesignField{"/bias/rail_v", "negative rail", "V", FieldRole::condition, -2000, -0.1, true,
                [](Design& d) -> double& { return d.bias.rail_v; }},
    DesignField{"/tail/ohm", "tail resistor", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.tail.ohm; }},
    DesignField{"/tail/current_a", "tail current", "A", FieldRole::setting, 1e-6, 1, true,
                [](Design& d) -> double& { return d.tail.current_a; }},
    DesignField{"/tail/output_ohm", "output resistance of the sink", "ohm", FieldRole::condition, 1e3, 1e12,
                false, [](Design& d) -> double& { return d.tail.output_ohm; }},
    DesignField{"/tail/compliance_v", "least voltage for the sink", "V", FieldRole::condition, 0, 500, false,
                [](Design& d) -> double& { return d.tail.compliance_v; }},
    DesignField{"/cathode_ohm", "cathode resistor", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.cathode_ohm; }},
    DesignField{"/cathode_unbypassed_ohm", "unbypassed part of the cathode resistor", "ohm",
                FieldRole::resistor, 0, kOhmHigh, false,
                [](Design& d) -> double& { return d.cathode_unbypassed_ohm; }},
    DesignField{"/first_stage/plate_ohm", "first stage's plate resistor", "ohm", FieldRole::resistor, kOhmLow,
                kOhmHigh, true, [](Design& d) -> double& { return d.first_stage.plate_ohm; }},
    DesignField{"/first_stage/cathode_ohm", "first stage's cathode resistor", "ohm", FieldRole::resistor,
                kOhmLow, kOhmHigh, true, [](Design& d) -> double& { return d.first_stage.cathode_ohm; }},
    DesignField{"/first_stage/cathode_unbypassed_ohm", "unbypassed part of the first cathode resistor", "ohm",
                FieldRole::resistor, 0, kOhmHigh, false,
                [](Design& d) -> double& { return d.first_stage.cathode_unbypassed_ohm; }},
    DesignField{"/first_stage/grid_leak_ohm", "first stage's grid leak", "ohm", FieldRole::resistor, kOhmLow,
                kOhmHigh, false, [](Design& d) -> double& { return d.first_stage.grid_leak_ohm; }},
    DesignField{"/first_stage/cathode_bypass_f", "first stage's cathode bypass capacitor", "F",
                FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.first_stage.cathode_bypass_f; }},
    DesignField{"/first_stage/decoupling_ohm", "decoupling resistor", "ohm", FieldRole::resistor, 0, kOhmHigh,
                false, [](Design& d) -> double& { return d.first_stage.decoupling_ohm; }},
    DesignField{"/first_stage/decoupling_f", "decoupling capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.first_stage.decoupling_f; }},
    DesignField{"/first_stage/coupling_f", "capacitor between the stages", "F", FieldRole::capacitor, 0, 1,
                false, [](Design& d) -> double& { return d.first_stage.coupling_f; }},
    DesignField{"/first_stage/load_current_a", "current of the first stage's source", "A", FieldRole::setting,
                1e-6, 1, true, [](Design& d) -> double& { return d.first_stage.load_current_a; }},
    DesignField{"/first_stage/load_output_ohm", "output resistance of the first stage's source", "ohm",
                FieldRole::condition, 1e3, 1e12, false,
                [](Design& d) -> double& { return d.first_stage.load_output_ohm; }},
    DesignField{"/first_stage/load_compliance_v", "least voltage for the first stage's source", "V",
                FieldRole::condition, 0, 500, false,
                [](Design& d) -> double& { return d.first_stage.load_compliance_v; }},
    DesignField{"/first_stage/screen_ohm", "first stage's screen resistor", "ohm", FieldRole::resistor,
                kOhmLow, kOhmHigh, true, [](Design& d) -> double& { return d.first_stage.screen_ohm; }},
    DesignField{"/first_stage/screen_bypass_f", "first stage's screen bypass capacitor", "F",
                FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.first_stage.screen_bypass_f; }},
    DesignField{"/first_stage/second_plate_ohm", "second triode's plate resistor", "ohm", FieldRole::resistor,
                kOhmLow, kOhmHigh, true, [](Design& d) -> double& { return d.first_stage.second_plate_ohm; }},
    DesignField{"/first_stage/second_cathode_ohm", "second section's cathode resistor", "ohm",
                FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.first_stage.second_cathode_ohm; }},
    DesignField{"/first_stage/second_cathode_unbypassed_ohm",
                "unbypassed part of the second cathode resistor", "ohm", FieldRole::resistor, 0, kOhmHigh,
                false, [](Design& d) -> double& { return d.first_stage.second_cathode_unbypassed_ohm; }},
    DesignField{"/first_stage/second_cathode_bypass_f", "second section's cathode bypass capacitor", "F",
                FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.first_stage.second_cathode_bypass_f; }},
    DesignField{"/first_stage/second_grid_leak_ohm", "second section's grid leak", "ohm", FieldRole::resistor,
                kOhmLow, kOhmHigh, false,
                [](Design& d) -> double& { return d.first_stage.second_grid_leak_ohm; }},
    DesignField{"/first_stage/second_grid_feed_ohm", "resistor from the supply to the upper grid", "ohm",
                FieldRole::resistor, kOhmLow, kOhmHigh, false,
                [](Design& d) -> double& { return d.first_stage.second_grid_feed_ohm; }},
    DesignField{"/first_stage/second_grid_foot_ohm", "resistor from the upper grid to ground", "ohm",
                FieldRole::resistor, kOhmLow, kOhmHigh, true,
                [](Design& d) -> double& { return d.first_stage.second_grid_foot_ohm; }},
    DesignField{"/first_stage/second_grid_bypass_f", "upper grid's bypass capacitor", "F",
                FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.first_stage.second_grid_bypass_f; }},
    DesignField{"/first_stage/second_coupling_f", "capacitor to the second grid", "F", FieldRole::capacitor,
                0, 1, false, [](Design& d) -> double& { return d.first_stage.second_coupling_f; }},
    DesignField{"/feedback/wanted_db", "overall feedback", "dB", FieldRole::demand, 0, 60, true,
                [](Design& d) -> double& { return d.feedback.wanted_db; }},
    DesignField{"/feedback/source_v_rms", "source for full drive, rms", "V", FieldRole::demand, 1e-6, 100,
                true, [](Design& d) -> double& { return d.feedback.source_v_rms; }},
    DesignField{"/feedback/resistor_ohm", "feedback resistor", "ohm", FieldRole::resistor, 0, kOhmHigh, false,
                [](Design& d) -> double& { return d.feedback.resistor_ohm; }},
    DesignField{"/feedback/lead_f", "phase lead capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.feedback.lead_f; }},
    DesignField{"/feedback/output_gain", "output stage's gain, grid to load", "1", FieldRole::condition, 1e-6,
                1e3, true, [](Design& d) -> double& { return d.feedback.output_gain; }},
    DesignField{"/feedback/output_impedance_ohm", "output stage's impedance at the load", "ohm",
                FieldRole::condition, 0, 1e6, false,
                [](Design& d) -> double& { return d.feedback.output_impedance_ohm; }},
    DesignField{"/feedback/load_ohm", "load of the output stage", "ohm", FieldRole::condition, 0.1, 1e6,
                false, [](Design& d) -> double& { return d.feedback.load_ohm; }},
    DesignField{"/feedback/low_hz", "output stage's low corner", "Hz", FieldRole::condition, 0, 1e3, false,
                [](Design& d) -> double& { return d.feedback.low_hz; }},
    DesignField{"/feedback/high_hz", "output stage's high corner", "Hz", FieldRole::condition, 0, 1e9, false,
                [](Design& d) -> double& { return d.feedback.high_hz; }},
    DesignField{"/feedback/least_gain_margin_db", "least gain margin", "dB", FieldRole::demand, 0, 40, false,
                [](Design& d) -> double& { return d.feedback.least_gain_margin_db; }},
    DesignField{"/feedback/least_phase_margin_deg", "least phase margin, degrees", "1", FieldRole::demand, 0,
                120, false, [](Design& d) -> double& { return d.feedback.least_phase_margin_deg; }},
    DesignField{"/driver/plate_ohm", "driver's plate resistor", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh,
                true, [](Design& d) -> double& { return d.driver.plate_ohm; }},
    DesignField{"/driver/cathode_ohm", "driver's cathode resistor", "ohm", FieldRole::resistor, kOhmLow,
                kOhmHigh, true, [](Design& d) -> double& { return d.driver.cathode_ohm; }},
    DesignField{"/driver/rail_v", "driver's negative rail", "V", FieldRole::condition, -1000, 0, false,
                [](Design& d) -> double& { return d.driver.rail_v; }},
    DesignField{"/driver/bias_v", "bias of the driver's grids", "V", FieldRole::setting, -1000, 500, false,
                [](Design& d) -> double& { return d.driver.bias_v; }},
    DesignField{"/driver/grid_leak_ohm", "driver's grid leak", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh,
                false, [](Design& d) -> double& { return d.driver.grid_leak_ohm; }},
    DesignField{"/driver/coupling_f", "driver's output capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.driver.coupling_f; }},
    DesignField{"/grid_leak_ohm", "grid leak", "ohm", FieldRole::resistor, kOhmLow, kOhmHigh, false,
                [](Design& d) -> double& { return d.grid_leak_ohm; }},
    DesignField{"/divider_ohm", "resistor from output 1 to grid 2", "ohm", FieldRole::resistor, kOhmLow,
                kOhmHigh, false, [](Design& d) -> double& { return d.divider_ohm; }},
    DesignField{"/balancing_ohm", "resistor from output 2 to grid 2", "ohm", FieldRole::resistor, kOhmLow,
                kOhmHigh, true, [](Design& d) -> double& { return d.balancing_ohm; }},
    DesignField{"/divider_foot_ohm", "resistor from grid 2 to ground", "ohm", FieldRole::resistor, kOhmLow,
                kOhmHigh, true, [](Design& d) -> double& { return d.divider_foot_ohm; }},
    DesignField{"/load_ohm", "load (next grid leak)", "ohm", FieldRole::condition, kOhmLow, 1e12, true,
                [](Design& d) -> double& { return d.load_ohm; }},
    DesignField{"/load_f", "load capacitance", "F", FieldRole::condition, 0, 1e-6, false,
                [](Design& d) -> double& { return d.load_f; }},
    DesignField{"/source_ohm", "source resistance", "ohm", FieldRole::condition, 0, kOhmHigh, false,
                [](Design& d) -> double& { return d.source_ohm; }},
    DesignField{"/source_f", "source capacitance", "F", FieldRole::condition, 0, 1e-6, false,
                [](Design& d) -> double& { return d.source_f; }},
    DesignField{"/heater_v", "heater elevation", "V", FieldRole::condition, -1000, 1000, false,
                [](Design& d) -> double& { return d.heater_v; }},
    DesignField{"/coupling_f", "coupling capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.coupling_f; }},
    DesignField{"/grid_bypass_f", "grid 2 bypass capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.grid_bypass_f; }},
    DesignField{"/input_coupling_f", "input capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.input_coupling_f; }},
    DesignField{"/cathode_bypass_f", "cathode bypass capacitor", "F", FieldRole::capacitor, 0, 1, false,
                [](Design& d) -> double& { return d.cathode_bypass_f; }},
    DesignField{"/swing_peak_v", "target swing per output, peak", "V", FieldRole::demand, 1e-3, 1000, true,
                [](Design& d) -> double& { return d.swing_peak_v; }},
    DesignField{"/clean_limit_pct", "distortion limit of the clean swing", "%", FieldRole::demand, 1e-3, 50,
                false, [](Design& d) -> double& { return d.clean_limit_pct; }}};

/// Not constexpr and defined nowhere: where the compiler would have to call it, it says so.
void no_member_of_a_design_stands_there();

/// The member at a JSON pointer. A pointer that no member has does not compile.
consteval const DesignField& at(std::string_view pointer) {
  for (const DesignField& m : kAll)
    if (m.pointer == pointer) return m;
  no_member_of_a_design_stands_there();
  return kAll.front();
}

inline constexpr const DesignField& main_supply_v = at("/main_supply_v");
inline constexpr const DesignField& supply_v = at("/supply_v");
inline constexpr const DesignField& dropping_ohm = at("/dropping_ohm");
inline constexpr const DesignField& reservoir_f = at("/reservoir_f");
inline constexpr const DesignField& plate_ohm_0 = at("/plate_ohm/0");
inline constexpr const DesignField& plate_ohm_1 = at("/plate_ohm/1");
inline constexpr const DesignField& bias_ohm = at("/bias/ohm");
inline constexpr const DesignField& bias_grid_v = at("/bias/grid_v");
inline constexpr const DesignField& bias_rail_v = at("/bias/rail_v");
inline constexpr const DesignField& tail_ohm = at("/tail/ohm");
inline constexpr const DesignField& tail_current_a = at("/tail/current_a");
inline constexpr const DesignField& tail_output_ohm = at("/tail/output_ohm");
inline constexpr const DesignField& tail_compliance_v = at("/tail/compliance_v");
inline constexpr const DesignField& cathode_ohm = at("/cathode_ohm");
inline constexpr const DesignField& cathode_unbypassed_ohm = at("/cathode_unbypassed_ohm");
inline constexpr const DesignField& first_stage_plate_ohm = at("/first_stage/plate_ohm");
inline constexpr const DesignField& first_stage_cathode_ohm = at("/first_stage/cathode_ohm");
inline constexpr const DesignField& first_stage_cathode_unbypassed_ohm =
    at("/first_stage/cathode_unbypassed_ohm");
inline constexpr const DesignField& first_stage_grid_leak_ohm = at("/first_stage/grid_leak_ohm");
inline constexpr const DesignField& first_stage_cathode_bypass_f = at("/first_stage/cathode_bypass_f");
inline constexpr const DesignField& first_stage_decoupling_ohm = at("/first_stage/decoupling_ohm");
inline constexpr const DesignField& first_stage_decoupling_f = at("/first_stage/decoupling_f");
inline constexpr const DesignField& first_stage_coupling_f = at("/first_stage/coupling_f");
inline constexpr const DesignField& first_stage_load_current_a = at("/first_stage/load_current_a");
inline constexpr const DesignField& first_stage_load_output_ohm = at("/first_stage/load_output_ohm");
inline constexpr const DesignField& first_stage_load_compliance_v = at("/first_stage/load_compliance_v");
inline constexpr const DesignField& first_stage_screen_ohm = at("/first_stage/screen_ohm");
inline constexpr const DesignField& first_stage_screen_bypass_f = at("/first_stage/screen_bypass_f");
inline constexpr const DesignField& first_stage_second_plate_ohm = at("/first_stage/second_plate_ohm");
inline constexpr const DesignField& first_stage_second_cathode_ohm = at("/first_stage/second_cathode_ohm");
inline constexpr const DesignField& first_stage_second_cathode_unbypassed_ohm =
    at("/first_stage/second_cathode_unbypassed_ohm");
inline constexpr const DesignField& first_stage_second_cathode_bypass_f =
    at("/first_stage/second_cathode_bypass_f");
inline constexpr const DesignField& first_stage_second_grid_leak_ohm =
    at("/first_stage/second_grid_leak_ohm");
inline constexpr const DesignField& first_stage_second_grid_feed_ohm =
    at("/first_stage/second_grid_feed_ohm");
inline constexpr const DesignField& first_stage_second_grid_foot_ohm =
    at("/first_stage/second_grid_foot_ohm");
inline constexpr const DesignField& first_stage_second_grid_bypass_f =
    at("/first_stage/second_grid_bypass_f");
inline constexpr const DesignField& first_stage_second_coupling_f = at("/first_stage/second_coupling_f");
inline constexpr const DesignField& feedback_wanted_db = at("/feedback/wanted_db");
inline constexpr const DesignField& feedback_source_v_rms = at("/feedback/source_v_rms");
inline constexpr const DesignField& feedback_resistor_ohm = at("/feedback/resistor_ohm");
inline constexpr const DesignField& feedback_lead_f = at("/feedback/lead_f");
inline constexpr const DesignField& feedback_output_gain = at("/feedback/output_gain");
inline constexpr const DesignField& feedback_output_impedance_ohm = at("/feedback/output_impedance_ohm");
inline constexpr const DesignField& feedback_load_ohm = at("/feedback/load_ohm");
inline constexpr const DesignField& feedback_low_hz = at("/feedback/low_hz");
inline constexpr const DesignField& feedback_high_hz = at("/feedback/high_hz");
inline constexpr const DesignField& feedback_least_gain_margin_db = at("/feedback/least_gain_margin_db");
inline constexpr const DesignField& feedback_least_phase_margin_deg = at("/feedback/least_phase_margin_deg");
inline constexpr const DesignField& driver_plate_ohm = at("/driver/plate_ohm");
inline constexpr const DesignField& driver_cathode_ohm = at("/driver/cathode_ohm");
inline constexpr const DesignField& driver_rail_v = at("/driver/rail_v");
inline constexpr const DesignField& driver_bias_v = at("/driver/bias_v");
inline constexpr const DesignField& driver_grid_leak_ohm = at("/driver/grid_leak_ohm");
inline constexpr const DesignField& driver_coupling_f = at("/driver/coupling_f");
inline constexpr const DesignField& grid_leak_ohm = at("/grid_leak_ohm");
inline constexpr const DesignField& divider_ohm = at("/divider_ohm");
inline constexpr const DesignField& balancing_ohm = at("/balancing_ohm");
inline constexpr const DesignField& divider_foot_ohm = at("/divider_foot_ohm");
inline constexpr const DesignField& load_ohm = at("/load_ohm");
inline constexpr const DesignField& load_f = at("/load_f");
inline constexpr const DesignField& source_ohm = at("/source_ohm");
inline constexpr const DesignField& source_f = at("/source_f");
inline constexpr const DesignField& heater_v = at("/heater_v");
inline constexpr const DesignField& coupling_f = at("/coupling_f");
inline constexpr const DesignField& grid_bypass_f = at("/grid_bypass_f");
inline constexpr const DesignField& input_coupling_f = at("/input_coupling_f");
inline constexpr const DesignField& cathode_bypass_f = at("/cathode_bypass_f");
inline constexpr const DesignField& swing_peak_v = at("/swing_peak_v");
inline constexpr const DesignField& clean_limit_pct = at("/clean_limit_pct");

}  // namespace antiphase::member
