/// What circuits have in common: ground and supply, the source, a gain stage's cathode, the loads. Each adds
/// elements to a circuit; constexpr, so that a circuit's list can be made of them.
#pragma once

#include <array>

#include "stagemodels/circuits/circuit.h"

namespace antiphase::block {

constexpr bool main_supply_given(const Design& d) {
  return d.main_supply_v > 0;
}
constexpr bool supply_given(const Design& d) {
  return !main_supply_given(d);
}

/// Ground, and the members that every design has. First of all, so that ground is node 0.
constexpr void ground(Circuit& c) {
  c.node("0");
  c.uses(member::main_supply_v);
  c.uses(member::heater_v);
  c.uses(member::swing_peak_v);
  c.uses(member::clean_limit_pct);
}

/// The stage's supply: given, or behind a dropping resistor with a reservoir capacitor. @return its node.
constexpr Node supply(Circuit& c) {
  c.main_supply = c.node("MAIN");
  c.supply = c.node("B");
  c.held(Role::supply, "supply", "supply", c.main_supply, member::supply_v).when = supply_given;
  c.held(Role::supply, "main_supply", "main supply", c.main_supply, member::main_supply_v).when =
      main_supply_given;
  Element& dropping = c.resistor(Role::dropping, "dropping_resistor", "dropping resistor", c.main_supply,
                                 c.supply, member::dropping_ohm);
  dropping.when = main_supply_given;
  dropping.absent = Absent::wire;
  c.capacitor(Role::reservoir, "reservoir_capacitor", "reservoir capacitor", c.supply, kGround,
              member::reservoir_f)
      .when = main_supply_given;
  return c.supply;
}

/// The signal source with its resistance and what lies across it. @return the node where it ends.
/// `rest`: the member that says where the source stands at rest; null: at ground.
constexpr Node source(Circuit& c, const DesignField* rest) {
  const Node in = c.node("IN"), terminal = c.node("TERM");
  c.driven("source", "signal source", in, rest);
  c.resistor(Role::source, "source_resistance", "source resistance", in, terminal, member::source_ohm);
  c.stray(Role::source, "source_capacitance", "capacitance across the input", terminal, kGround,
          member::source_f);
  return terminal;
}

/// The source behind an input capacitor. @return the grid that it feeds.
constexpr Node coupled_source(Circuit& c) {
  const Node terminal = source(c, nullptr), grid = c.node("GIN");
  c.capacitor(Role::input_coupling, "input_capacitor", "input capacitor", terminal, grid,
              member::input_coupling_f);
  return grid;
}

/// Names and labels of what stands at one output.
struct OutputNames {
  std::string_view node, capacitor, capacitor_label, load, load_label, stray, stray_label, grid, grid_label;
};
inline constexpr std::array kOutputNames{
    OutputNames{"OUT1", "output_capacitor_1", "output capacitor 1", "load_1", "load 1", "load_capacitance_1",
                "load capacitance 1", "output_grid_1", "grid of output valve 1"},
    OutputNames{"OUT2", "output_capacitor_2", "output capacitor 2", "load_2", "load 2", "load_capacitance_2",
                "load capacitance 2", "output_grid_2", "grid of output valve 2"}};

/// The grid of an output valve stands at its bias where the output is at 0 V; followers hold it themselves.
constexpr double output_bias_v(const Design& d) {
  return d.driver.form == DriverForm::cathode_followers ? 0 : d.output_valve_bias_v;
}

/// What follows an output.
constexpr void next_valve(Circuit& c, const OutputNames& names, Node out, int sign) {
  c.resistor(Role::load, names.load, names.load_label, out, kGround, member::load_ohm);
  c.stray(Role::load, names.stray, names.stray_label, out, kGround, member::load_f);
  c.add({ElementKind::output_grid, Role::output_grid, names.grid, names.grid_label, out, kGround}).own =
      output_bias_v;
  c.drives(out, sign);
}

/// Names and labels of one of a driver's two sections and of what hangs on it.
struct DriverNames {
  std::string_view section, section_label, grid_node, leak, leak_label, plate_node, plate, plate_label,
      cathode, cathode_label, capacitor, capacitor_label;
};
inline constexpr std::array kDriverNames{
    DriverNames{"driver_1", "driver 1", "GD1", "driver_grid_leak_1", "driver's grid leak 1", "PD1",
                "driver_plate_resistor_1", "driver's plate resistor 1", "driver_cathode_resistor_1",
                "driver's cathode resistor 1", "driver_capacitor_1", "driver's output capacitor 1"},
    DriverNames{"driver_2", "driver 2", "GD2", "driver_grid_leak_2", "driver's grid leak 2", "PD2",
                "driver_plate_resistor_2", "driver's plate resistor 2", "driver_cathode_resistor_2",
                "driver's cathode resistor 2", "driver_capacitor_2", "driver's output capacitor 2"}};

/// Nodes that both sections of a driver share; found again by name when the second one is added.
struct DriverNodes {
  Node bias = kNoNode, rail = kNoNode, cathodes = kNoNode;
};
constexpr Node node_named(const Circuit& c, std::string_view name) {
  for (int n = 0; n < c.nodes; ++n)
    if (c.node_name[static_cast<std::size_t>(n)] == name) return static_cast<Node>(n);
  return kNoNode;
}
constexpr DriverNodes driver_nodes(Circuit& c, bool pair) {
  DriverNodes at{node_named(c, "DBIAS"), node_named(c, "DRAIL"), node_named(c, "KD")};
  if (at.bias != kNoNode) return at;
  at.bias = c.node("DBIAS");
  c.held(Role::bias_supply, "driver_bias", "bias of the driver's grids", at.bias, member::driver_bias_v);
  at.rail = c.node("DRAIL");
  c.held(Role::driver_rail, "driver_rail", "driver's negative rail", at.rail, member::driver_rail_v);
  if (pair) {
    at.cathodes = c.node("KD");
    c.resistor(Role::driver_cathode, "driver_tail", "driver's tail resistor", at.cathodes, at.rail,
               member::driver_cathode_ohm);
  }
  return at;
}

/// One section of a driver, from its grid to the output.
constexpr void driver(Circuit& c, const Form& form, int which, Node grid, int sign) {
  const bool pair = form.driver == DriverForm::long_tailed_pair;
  const auto& names = kDriverNames[static_cast<std::size_t>(which)];
  const auto& output = kOutputNames[static_cast<std::size_t>(which)];
  const DriverNodes at = driver_nodes(c, pair);
  c.resistor(Role::driver_leak, names.leak, names.leak_label, grid, at.bias, member::driver_grid_leak_ohm);
  const Node out = c.node(output.node);
  if (pair) {
    const Node plate = c.node(names.plate_node);
    c.triode(names.section, names.section_label, plate, grid, at.cathodes, kDriver + which);
    c.resistor(Role::driver_load, names.plate, names.plate_label, c.supply, plate, member::driver_plate_ohm);
    c.capacitor(Role::driver_coupling, names.capacitor, names.capacitor_label, plate, out,
                member::driver_coupling_f);
  } else {
    c.triode(names.section, names.section_label, c.supply, grid, out, kDriver + which);
    c.resistor(Role::driver_cathode, names.cathode, names.cathode_label, out, at.rail,
               member::driver_cathode_ohm);
  }
  next_valve(c, output, out, pair ? -sign : sign);
}

/// An output behind its coupling capacitor: to the next valve, or to a driver and by that to the next valve.
constexpr void output(Circuit& c, const Form& form, int which, Node from, int sign) {
  const auto& names = kOutputNames[static_cast<std::size_t>(which)];
  const bool driven = form.driver != DriverForm::none;
  const Node to = c.node(driven ? kDriverNames[static_cast<std::size_t>(which)].grid_node : names.node);
  c.capacitor(Role::output_coupling, names.capacitor, names.capacitor_label, from, to, member::coupling_f);
  if (driven)
    driver(c, form, which, to, sign);
  else
    next_valve(c, names, to, sign);
}

/// Names of a gain stage's cathode circuit and the members of a design that give its values.
struct CathodeOfGainStage {
  std::string_view resistor_name, resistor_label, bare_name, bare_label, bypass_name, bypass_label, foot_name;
  const DesignField& whole_ohm;
  const DesignField& bare_ohm;
  const DesignField& bypass_f;
  double (*bypassed_ohm)(const Design&);
  bool (*bypassed)(const Design&);
};
/// A cathode resistor of which the part next to the cathode may be without a capacitor. `bare_at_ground`: the
/// parts have changed places, because overall feedback comes in at the upper end of the bare one.
/// @return the upper end of the bare part.
constexpr Node cathode_of_gain_stage(Circuit& c, Node cathode, const CathodeOfGainStage& names,
                                     bool bare_at_ground) {
  const Node foot = c.node(names.foot_name);
  const Node bare_top = bare_at_ground ? foot : cathode, bare_end = bare_at_ground ? kGround : foot;
  const Node top = bare_at_ground ? cathode : foot, end = bare_at_ground ? foot : kGround;
  c.resistor(Role::cathode_unbypassed, names.bare_name, names.bare_label, bare_top, bare_end, names.bare_ohm);
  c.resistor(Role::cathode, names.resistor_name, names.resistor_label, top, end, names.whole_ohm).own =
      names.bypassed_ohm;
  c.capacitor(Role::cathode_bypass, names.bypass_name, names.bypass_label, top, end, names.bypass_f).when =
      names.bypassed;
  return bare_top;
}

constexpr double bypassed_ohm(const Design& d) {
  return d.cathode_ohm - d.cathode_unbypassed_ohm;
}
constexpr bool bypassed(const Design& d) {
  return d.cathode_unbypassed_ohm < d.cathode_ohm;
}
/// The same, of all cathodes of a stage that has no tail.
constexpr void cathode_resistor(Circuit& c, Node cathode) {
  cathode_of_gain_stage(
      c, cathode,
      {"cathode_resistor", "cathode resistor", "cathode_resistor_unbypassed",
       "unbypassed part of the cathode resistor", "cathode_bypass", "cathode bypass", "FOOT",
       member::cathode_ohm, member::cathode_unbypassed_ohm, member::cathode_bypass_f, bypassed_ohm, bypassed},
      false);
  c.tail_top = cathode;
}

}  // namespace antiphase::block
