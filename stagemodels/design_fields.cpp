#include "stagemodels/design_fields.h"

#include <algorithm>
#include <array>

namespace antiphase {
namespace {

constexpr double kOhmLow = 1, kOhmHigh = 100e6;  // below: a wire; above: an insulator

bool always(const Design&) {
  return true;
}
bool stiff_supply(const Design& d) {
  return !(d.main_supply_v > 0);
}
bool dropped_supply(const Design& d) {
  return d.main_supply_v > 0;
}
bool pair(const Design& d) {
  return sections(d.circuit) == 2;
}
bool chain(const Design& d) {
  return has_first_stage(d);
}
bool chain_bypassed_cathode(const Design& d) {
  return chain(d) && d.first_stage.cathode_unbypassed_ohm < d.first_stage.cathode_ohm;
}
bool chain_capacitor(const Design& d) {
  return chain(d) && !direct_first_stage(d);
}
bool gain_stage(const Design& d) {
  return d.circuit == CircuitKind::common_cathode;
}
bool self_biased(const Design& d) {
  return pair(d) && d.bias.form == BiasForm::self_biased;
}
bool negative_rail(const Design& d) {
  return pair(d) && d.bias.form == BiasForm::negative_rail;
}
bool tail_resistor(const Design& d) {
  return pair(d) && d.tail.form == TailForm::resistor;
}
bool sink(const Design& d) {
  return pair(d) && d.tail.form == TailForm::constant_current;
}

bool coupled_input(const Design& d) {
  return !grids_given(d);
}
bool bypassed_cathode(const Design& d) {
  return gain_stage(d) && d.cathode_unbypassed_ohm < d.cathode_ohm;
}

bool fed_back(const Design& d) {
  return has_feedback(d);
}

using R = FieldRole;
const std::array kFields{
    DesignField{"/main_supply_v", "main supply", "V", R::condition, 1, 2000, false, always,
                [](Design& d) -> double& { return d.main_supply_v; }},
    DesignField{"/supply_v", "supply", "V", R::condition, 1, 2000, true, stiff_supply,
                [](Design& d) -> double& { return d.supply_v; }},
    DesignField{"/dropping_ohm", "dropping resistor", "ohm", R::resistor, kOhmLow, kOhmHigh, true,
                dropped_supply, [](Design& d) -> double& { return d.dropping_ohm; }},
    DesignField{"/reservoir_f", "reservoir capacitor", "F", R::capacitor, 0, 1, false, dropped_supply,
                [](Design& d) -> double& { return d.reservoir_f; }},
    DesignField{"/plate_ohm/0", "plate resistor 1", "ohm", R::resistor, kOhmLow, kOhmHigh, true, always,
                [](Design& d) -> double& { return d.plate_ohm[0]; }},
    DesignField{"/plate_ohm/1", "plate resistor 2", "ohm", R::resistor, kOhmLow, kOhmHigh, true, pair,
                [](Design& d) -> double& { return d.plate_ohm[1]; }},
    DesignField{"/bias/ohm", "bias resistor", "ohm", R::resistor, kOhmLow, kOhmHigh, true, self_biased,
                [](Design& d) -> double& { return d.bias.ohm; }},
    DesignField{"/bias/grid_v", "grid voltage", "V", R::setting, 0, 2000, true, grids_given,
                [](Design& d) -> double& { return d.bias.grid_v; }},
    DesignField{"/bias/rail_v", "negative rail", "V", R::condition, -2000, -0.1, true, negative_rail,
                [](Design& d) -> double& { return d.bias.rail_v; }},
    DesignField{"/tail/ohm", "tail resistor", "ohm", R::resistor, kOhmLow, kOhmHigh, true, tail_resistor,
                [](Design& d) -> double& { return d.tail.ohm; }},
    DesignField{"/tail/current_a", "tail current", "A", R::setting, 1e-6, 1, true, sink,
                [](Design& d) -> double& { return d.tail.current_a; }},
    DesignField{"/tail/output_ohm", "output resistance of the sink", "ohm", R::condition, 1e3, 1e12, false,
                sink, [](Design& d) -> double& { return d.tail.output_ohm; }},
    DesignField{"/tail/compliance_v", "least voltage for the sink", "V", R::condition, 0, 500, false, sink,
                [](Design& d) -> double& { return d.tail.compliance_v; }},
    DesignField{"/cathode_ohm", "cathode resistor", "ohm", R::resistor, kOhmLow, kOhmHigh, true, gain_stage,
                [](Design& d) -> double& { return d.cathode_ohm; }},
    DesignField{"/cathode_unbypassed_ohm", "unbypassed part of the cathode resistor", "ohm", R::resistor, 0,
                kOhmHigh, false, gain_stage, [](Design& d) -> double& { return d.cathode_unbypassed_ohm; }},
    DesignField{"/first_stage/plate_ohm", "first stage's plate resistor", "ohm", R::resistor, kOhmLow,
                kOhmHigh, true, chain, [](Design& d) -> double& { return d.first_stage.plate_ohm; }},
    DesignField{"/first_stage/cathode_ohm", "first stage's cathode resistor", "ohm", R::resistor, kOhmLow,
                kOhmHigh, true, chain, [](Design& d) -> double& { return d.first_stage.cathode_ohm; }},
    DesignField{"/first_stage/cathode_unbypassed_ohm", "unbypassed part of the first cathode resistor", "ohm",
                R::resistor, 0, kOhmHigh, false, chain,
                [](Design& d) -> double& { return d.first_stage.cathode_unbypassed_ohm; }},
    DesignField{"/first_stage/grid_leak_ohm", "first stage's grid leak", "ohm", R::resistor, kOhmLow,
                kOhmHigh, false, chain, [](Design& d) -> double& { return d.first_stage.grid_leak_ohm; }},
    DesignField{"/first_stage/cathode_bypass_f", "first stage's cathode bypass capacitor", "F", R::capacitor,
                0, 1, false, chain_bypassed_cathode,
                [](Design& d) -> double& { return d.first_stage.cathode_bypass_f; }},
    DesignField{"/first_stage/coupling_f", "capacitor between the stages", "F", R::capacitor, 0, 1, false,
                chain_capacitor, [](Design& d) -> double& { return d.first_stage.coupling_f; }},
    DesignField{"/feedback/wanted_db", "overall feedback", "dB", R::demand, 0, 60, true, fed_back,
                [](Design& d) -> double& { return d.feedback.wanted_db; }},
    DesignField{"/feedback/source_v_rms", "source for full drive, rms", "V", R::demand, 1e-6, 100, true,
                fed_back, [](Design& d) -> double& { return d.feedback.source_v_rms; }},
    DesignField{"/feedback/resistor_ohm", "feedback resistor", "ohm", R::resistor, 0, kOhmHigh, false,
                fed_back, [](Design& d) -> double& { return d.feedback.resistor_ohm; }},
    DesignField{"/feedback/output_gain", "output stage's gain, grid to load", "1", R::condition, 1e-6, 1e3,
                true, fed_back, [](Design& d) -> double& { return d.feedback.output_gain; }},
    DesignField{"/feedback/output_impedance_ohm", "output stage's impedance at the load", "ohm", R::condition,
                0, 1e6, false, fed_back,
                [](Design& d) -> double& { return d.feedback.output_impedance_ohm; }},
    DesignField{"/feedback/load_ohm", "load of the output stage", "ohm", R::condition, 0.1, 1e6, false,
                fed_back, [](Design& d) -> double& { return d.feedback.load_ohm; }},
    DesignField{"/feedback/low_hz", "output stage's low corner", "Hz", R::condition, 0, 1e3, false, fed_back,
                [](Design& d) -> double& { return d.feedback.low_hz; }},
    DesignField{"/feedback/high_hz", "output stage's high corner", "Hz", R::condition, 0, 1e9, false,
                fed_back, [](Design& d) -> double& { return d.feedback.high_hz; }},
    DesignField{"/feedback/least_gain_margin_db", "least gain margin", "dB", R::demand, 0, 40, false,
                fed_back, [](Design& d) -> double& { return d.feedback.least_gain_margin_db; }},
    DesignField{"/feedback/least_phase_margin_deg", "least phase margin, degrees", "1", R::demand, 0, 120,
                false, fed_back, [](Design& d) -> double& { return d.feedback.least_phase_margin_deg; }},
    DesignField{"/grid_leak_ohm", "grid leak", "ohm", R::resistor, kOhmLow, kOhmHigh, false, always,
                [](Design& d) -> double& { return d.grid_leak_ohm; }},
    DesignField{"/load_ohm", "load (next grid leak)", "ohm", R::condition, kOhmLow, 1e12, true, always,
                [](Design& d) -> double& { return d.load_ohm; }},
    DesignField{"/load_f", "load capacitance", "F", R::condition, 0, 1e-6, false, always,
                [](Design& d) -> double& { return d.load_f; }},
    DesignField{"/source_ohm", "source resistance", "ohm", R::condition, 0, kOhmHigh, false, always,
                [](Design& d) -> double& { return d.source_ohm; }},
    DesignField{"/source_f", "source capacitance", "F", R::condition, 0, 1e-6, false, always,
                [](Design& d) -> double& { return d.source_f; }},
    DesignField{"/heater_v", "heater elevation", "V", R::condition, -1000, 1000, false, always,
                [](Design& d) -> double& { return d.heater_v; }},
    DesignField{"/coupling_f", "coupling capacitor", "F", R::capacitor, 0, 1, false, always,
                [](Design& d) -> double& { return d.coupling_f; }},
    DesignField{"/grid_bypass_f", "grid 2 bypass capacitor", "F", R::capacitor, 0, 1, false, pair,
                [](Design& d) -> double& { return d.grid_bypass_f; }},
    DesignField{"/input_coupling_f", "input capacitor", "F", R::capacitor, 0, 1, false, coupled_input,
                [](Design& d) -> double& { return d.input_coupling_f; }},
    DesignField{"/cathode_bypass_f", "cathode bypass capacitor", "F", R::capacitor, 0, 1, false,
                bypassed_cathode, [](Design& d) -> double& { return d.cathode_bypass_f; }},
    DesignField{"/swing_peak_v", "target swing per output, peak", "V", R::demand, 1e-3, 1000, true, always,
                [](Design& d) -> double& { return d.swing_peak_v; }},
    DesignField{"/clean_limit_pct", "distortion limit of the clean swing", "%", R::demand, 1e-3, 50, false,
                always, [](Design& d) -> double& { return d.clean_limit_pct; }},
};

template <class Enum, std::size_t N>
std::optional<Enum> named(const std::array<std::string_view, N>& names, std::string_view name) {
  const auto it = std::find(names.begin(), names.end(), name);
  if (it == names.end()) return std::nullopt;
  return static_cast<Enum>(it - names.begin());
}

constexpr std::array<std::string_view, 3> kCircuits{"long_tailed_pair", "common_cathode",
                                                    "gain_and_splitter"};
constexpr std::array<std::string_view, 3> kBiasForms{"self_biased", "direct_coupled", "negative_rail"};
constexpr std::array<std::string_view, 2> kTailForms{"resistor", "constant_current"};

}  // namespace

std::span<const DesignField> design_fields() {
  return kFields;
}

const DesignField* find_design_field(std::string_view pointer) {
  const auto it = std::find_if(kFields.begin(), kFields.end(),
                               [&](const DesignField& f) { return f.pointer == pointer; });
  return it == kFields.end() ? nullptr : &*it;
}

std::string_view name_of(CircuitKind k) {
  return kCircuits[static_cast<std::size_t>(k)];
}
std::string_view name_of(BiasForm f) {
  return kBiasForms[static_cast<std::size_t>(f)];
}
std::string_view name_of(TailForm f) {
  return kTailForms[static_cast<std::size_t>(f)];
}
std::optional<CircuitKind> circuit_named(std::string_view n) {
  return named<CircuitKind>(kCircuits, n);
}
std::optional<BiasForm> bias_form_named(std::string_view n) {
  return named<BiasForm>(kBiasForms, n);
}
std::optional<TailForm> tail_form_named(std::string_view n) {
  return named<TailForm>(kTailForms, n);
}

int sections(CircuitKind circuit) {
  return circuit == CircuitKind::common_cathode ? 1 : 2;
}

}  // namespace antiphase
