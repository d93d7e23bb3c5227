/// Members of a design that a brief may give, by their places in a brief and in a design.
#pragma once

#include <array>
#include <string_view>

#include "stagemodels/members.h"

namespace antiphase {

struct Condition {
  std::string_view name;     ///< in the brief
  const DesignField* field;  ///< in a design; not null
};
/// At the top of a brief. A rail that is left out is chosen by the search.
inline constexpr std::array kConditions{
    Condition{"heater_v", &member::heater_v},
    Condition{"source_ohm", &member::source_ohm},
    Condition{"grid_leak_ohm", &member::grid_leak_ohm},
    Condition{"divider_ohm", &member::divider_ohm},
    Condition{"coupling_f", &member::coupling_f},
    Condition{"grid_bypass_f", &member::grid_bypass_f},
    Condition{"clean_limit_pct", &member::clean_limit_pct},
    Condition{"rail_v", &member::bias_rail_v},
    Condition{"source_f", &member::source_f},
    Condition{"input_coupling_f", &member::input_coupling_f},
    Condition{"cathode_bypass_f", &member::cathode_bypass_f},
    Condition{"reservoir_f", &member::reservoir_f},
};
/// In its object "tail".
inline constexpr std::array kTailConditions{Condition{"output_ohm", &member::tail_output_ohm},
                                            Condition{"compliance_v", &member::tail_compliance_v}};
/// In its object "first_stage".
inline constexpr std::array kFirstStageConditions{
    Condition{"cathode_unbypassed_ohm", &member::first_stage_cathode_unbypassed_ohm},
    Condition{"grid_leak_ohm", &member::first_stage_grid_leak_ohm},
    Condition{"cathode_bypass_f", &member::first_stage_cathode_bypass_f},
    Condition{"decoupling_ohm", &member::first_stage_decoupling_ohm},
    Condition{"decoupling_f", &member::first_stage_decoupling_f},
    Condition{"coupling_f", &member::first_stage_coupling_f},
    Condition{"screen_bypass_f", &member::first_stage_screen_bypass_f},
    Condition{"load_output_ohm", &member::first_stage_load_output_ohm},
    Condition{"load_compliance_v", &member::first_stage_load_compliance_v},
    Condition{"second_cathode_unbypassed_ohm", &member::first_stage_second_cathode_unbypassed_ohm},
    Condition{"second_cathode_bypass_f", &member::first_stage_second_cathode_bypass_f},
    Condition{"second_grid_leak_ohm", &member::first_stage_second_grid_leak_ohm},
    Condition{"second_grid_feed_ohm", &member::first_stage_second_grid_feed_ohm},
    Condition{"second_grid_bypass_f", &member::first_stage_second_grid_bypass_f},
    Condition{"second_coupling_f", &member::first_stage_second_coupling_f},
};
/// In its object "driver".
inline constexpr std::array kDriverConditions{
    Condition{"plate_ohm", &member::driver_plate_ohm},
    Condition{"cathode_ohm", &member::driver_cathode_ohm},
    Condition{"rail_v", &member::driver_rail_v},
    Condition{"bias_v", &member::driver_bias_v},
    Condition{"grid_leak_ohm", &member::driver_grid_leak_ohm},
    Condition{"coupling_f", &member::driver_coupling_f},
};
/// In its object "feedback".
inline constexpr std::array kFeedbackConditions{
    Condition{"resistor_ohm", &member::feedback_resistor_ohm},
    Condition{"lead_f", &member::feedback_lead_f},
    Condition{"output_impedance_ohm", &member::feedback_output_impedance_ohm},
    Condition{"load_ohm", &member::feedback_load_ohm},
    Condition{"low_hz", &member::feedback_low_hz},
    Condition{"high_hz", &member::feedback_high_hz},
    Condition{"least_gain_margin_db", &member::feedback_least_gain_margin_db},
    Condition{"least_phase_margin_deg", &member::feedback_least_phase_margin_deg},
};
/// The same, without a default.
inline constexpr std::array kFeedbackRequired{
    Condition{"wanted_db", &member::feedback_wanted_db},
    Condition{"source_v_rms", &member::feedback_source_v_rms},
    Condition{"output_gain", &member::feedback_output_gain},
};

}  // namespace antiphase
