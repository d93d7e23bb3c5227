/// What circuits have in common: ground and supply, the source, a gain stage's cathode, the loads. Each adds
/// elements to a circuit; constexpr, so that a circuit's list can be made of them.
#pragma once

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

/// An output behind its coupling capacitor, with what follows.
constexpr void output(Circuit& c, Node from, std::string_view node_name, int sign,
                      std::array<std::string_view, 5> name, std::array<std::string_view, 5> label) {
  const Node out = c.node(node_name);
  c.capacitor(Role::output_coupling, name[0], label[0], from, out, member::coupling_f);
  c.resistor(Role::load, name[1], label[1], out, kGround, member::load_ohm);
  c.stray(Role::load, name[2], label[2], out, kGround, member::load_f);
  c.add({ElementKind::output_grid, Role::output_grid, name[3], label[3], out, kGround});
  c.drives(out, sign);
}
constexpr void output_1(Circuit& c, Node from, int sign) {
  output(c, from, "OUT1", sign, {"output_capacitor_1", "load_1", "load_capacitance_1", "output_grid_1"},
         {"output capacitor 1", "load 1", "load capacitance 1", "grid of output valve 1"});
}
constexpr void output_2(Circuit& c, Node from, int sign) {
  output(c, from, "OUT2", sign, {"output_capacitor_2", "load_2", "load_capacitance_2", "output_grid_2"},
         {"output capacitor 2", "load 2", "load capacitance 2", "grid of output valve 2"});
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
