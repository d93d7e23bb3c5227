/// Members of a design that a brief may give, by their places in a brief and in a design.
#pragma once

#include <array>
#include <string_view>

namespace antiphase {

struct Condition {
  std::string_view name, pointer;
};
/// At the top of a brief. A rail that is left out is chosen by the search.
inline constexpr std::array kConditions{
    Condition{"heater_v", "/heater_v"},
    Condition{"source_ohm", "/source_ohm"},
    Condition{"grid_leak_ohm", "/grid_leak_ohm"},
    Condition{"coupling_f", "/coupling_f"},
    Condition{"grid_bypass_f", "/grid_bypass_f"},
    Condition{"clean_limit_pct", "/clean_limit_pct"},
    Condition{"rail_v", "/bias/rail_v"},
    Condition{"source_f", "/source_f"},
    Condition{"input_coupling_f", "/input_coupling_f"},
    Condition{"cathode_bypass_f", "/cathode_bypass_f"},
    Condition{"reservoir_f", "/reservoir_f"},
};
/// In its object "tail".
inline constexpr std::array kTailConditions{Condition{"output_ohm", "/tail/output_ohm"},
                                            Condition{"compliance_v", "/tail/compliance_v"}};
/// In its object "first_stage".
inline constexpr std::array kFirstStageConditions{
    Condition{"cathode_unbypassed_ohm", "/first_stage/cathode_unbypassed_ohm"},
    Condition{"grid_leak_ohm", "/first_stage/grid_leak_ohm"},
    Condition{"cathode_bypass_f", "/first_stage/cathode_bypass_f"},
    Condition{"coupling_f", "/first_stage/coupling_f"},
};
/// In its object "feedback".
inline constexpr std::array kFeedbackConditions{
    Condition{"resistor_ohm", "/feedback/resistor_ohm"},
    Condition{"output_impedance_ohm", "/feedback/output_impedance_ohm"},
    Condition{"load_ohm", "/feedback/load_ohm"},
    Condition{"low_hz", "/feedback/low_hz"},
    Condition{"high_hz", "/feedback/high_hz"},
    Condition{"least_gain_margin_db", "/feedback/least_gain_margin_db"},
    Condition{"least_phase_margin_deg", "/feedback/least_phase_margin_deg"},
};
/// The same, without a default.
inline constexpr std::array kFeedbackRequired{
    Condition{"wanted_db", "/feedback/wanted_db"},
    Condition{"source_v_rms", "/feedback/source_v_rms"},
    Condition{"output_gain", "/feedback/output_gain"},
};

}  // namespace antiphase
