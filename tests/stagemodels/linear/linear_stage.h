/// Stages with given amplification factor and plate resistance, for closed formulas of the linearised
/// circuit.
#pragma once

#include <cmath>
#include <numbers>
#include <string_view>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "tests/support/stages.h"

namespace antiphase::testing {

/// A law of three halves that has exactly this mu and rp at `rest_of(mu)`, where vg + va / mu is 1 V and
/// gm = 1.5 k.
inline Tube tube_of(double mu, double rp_ohm) {
  return tube_with(ChildLangmuir{mu / rp_ohm / 1.5, mu, 0});
}
inline OperatingPoint rest_of(double mu_1, double mu_2) {
  OperatingPoint rest;
  rest.solved = Solved::yes;
  rest.grid_to_cathode_v = {-1, -1};
  rest.plate_to_cathode_v = {2 * mu_1, 2 * mu_2};
  return rest;
}
inline OperatingPoint rest_of(double mu) {
  return rest_of(mu, mu);
}

/// The element of the design's circuit that has this name in files, or null.
inline const Element* element_named(const Design& d, std::string_view name) {
  for (const Element& e : circuit_of(d))
    if (e.name == name) return &e;
  return nullptr;
}

inline double parallel(double a, double b) {
  return a * b / (a + b);
}
inline double corner_hz(double farad, double ohm) {
  return 1 / (2 * std::numbers::pi * farad * ohm);
}

/// A directly coupled pair with equal tubes and loads; no capacitor given.
inline Design direct_pair(const Tube& tube, double plate_ohm, double load_ohm, double tail_ohm) {
  Design d;
  d.tube = {&tube, &tube};
  d.supply_v = 300;
  d.plate_ohm = {plate_ohm, plate_ohm};
  d.bias.form = BiasForm::direct_coupled;
  d.bias.grid_v = 65;
  d.tail.ohm = tail_ohm;
  d.load_ohm = load_ohm;
  d.swing_peak_v = 20;
  return d;
}

inline Design gain_stage(const Tube& tube, double plate_ohm, double load_ohm, double cathode_ohm) {
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {&tube, &tube};
  d.supply_v = 300;
  d.plate_ohm = {plate_ohm, 0};
  d.cathode_ohm = cathode_ohm;
  d.load_ohm = load_ohm;
  d.swing_peak_v = 10;
  return d;
}

/// Any stage that can be built: every form, tube and capacitor.
inline Design any_stage(RandomNumbers& random, const Tube& tube) {
  Design d;
  d.circuit = random.below(4) == 0 ? CircuitKind::common_cathode : CircuitKind::long_tailed_pair;
  d.tube = {&tube, &tube};
  d.supply_v = random.between(250, 400);
  d.plate_ohm = {random.log_between(68e3, 220e3), random.log_between(68e3, 220e3)};
  d.bias.form = static_cast<BiasForm>(random.below(3));
  d.bias.ohm = random.log_between(600, 3e3);
  d.bias.grid_v = random.between(40, 80);
  d.bias.rail_v = -random.between(60, 150);
  d.tail.form = static_cast<TailForm>(random.below(2));
  d.tail.ohm = random.log_between(33e3, 150e3);
  d.tail.current_a = random.log_between(0.6e-3, 1.5e-3);
  d.cathode_ohm = random.log_between(800, 3e3);
  d.cathode_unbypassed_ohm = random.below(2) == 0 ? 0 : random.between(0.1, 0.9) * d.cathode_ohm;
  d.grid_leak_ohm = random.log_between(220e3, 2e6);
  d.load_ohm = random.log_between(100e3, 1e6);
  d.load_f = random.log_between(10e-12, 200e-12);
  d.source_ohm = random.below(2) == 0 ? 0 : random.log_between(100, 100e3);
  d.source_f = random.below(2) == 0 ? 0 : random.log_between(5e-12, 100e-12);
  d.swing_peak_v = 10;
  return d;
}

}  // namespace antiphase::testing
