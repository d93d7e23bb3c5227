/// What a builder could want, where a brief does not say: bounds within which the named designs of a front
/// and the near misses of a brief are taken. The score, the limits and the front itself know nothing of them.
#pragma once

#include <array>
#include <string_view>

#include "objectives/demands.h"
#include "objectives/figures/balance.h"
#include "objectives/figures/distortion.h"
#include "objectives/figures/headroom.h"
#include "stagemodels/circuits/circuit.h"

namespace antiphase {

/// All are common practice, no published source.
struct SensibleBounds {
  double balance_pct = 10;    ///< beyond it the output stage's own even harmonics no longer cancel
  double headroom_db = 0;     ///< the target itself is clean
  double distortion_pct = 5;  ///< more than the output stage behind it has at full drive
  double cathode_ohm = 47;  ///< of bias, tail and cathode resistors: below, tubes of one type differ by more
  double unbypassed_ohm = 10;  ///< below: no more than wiring and sockets
  double plate_ohm = 1e3;      ///< of resistors that carry an output: below, a triode has no gain to speak of
  double dropping_ohm = 100;   ///< below: it neither drops nor filters
  double reservoir_f = 1e-6;   ///< below: it holds nothing at the frequency of the mains
  double coupling_f = 1e-9;    ///< of capacitors that signals pass: below, wiring has a say
};

/// A bound on a figure; a limit of the brief on the same figure takes its place.
struct SensibleFigure {
  const Figure* figure;
  double SensibleBounds::*bound;
  bool at_least;
};
inline constexpr std::array kSensibleFigures{
    SensibleFigure{&kBalancePct, &SensibleBounds::balance_pct, false},
    SensibleFigure{&kHeadroomDb, &SensibleBounds::headroom_db, true},
    SensibleFigure{&kDistortionPct, &SensibleBounds::distortion_pct, false},
};

/// The least value of parts of some roles. A part that the brief gives is not held to it.
struct SensiblePart {
  std::string_view name;   ///< in a brief: "cathode_resistor_ohm"
  std::string_view label;  ///< for people: "cathode-side resistors"
  std::string_view unit;
  double SensibleBounds::*bound;
  std::array<Role, 3> roles;  ///< Role::none: no further one
};
inline constexpr std::array kSensibleParts{
    SensiblePart{"cathode_resistor_ohm",
                 "cathode-side resistors",
                 "ohm",
                 &SensibleBounds::cathode_ohm,
                 {Role::bias, Role::tail, Role::cathode}},
    SensiblePart{"unbypassed_resistor_ohm",
                 "an unbypassed part",
                 "ohm",
                 &SensibleBounds::unbypassed_ohm,
                 {Role::cathode_unbypassed, Role::none, Role::none}},
    SensiblePart{"plate_resistor_ohm",
                 "resistors that carry an output",
                 "ohm",
                 &SensibleBounds::plate_ohm,
                 {Role::plate_load, Role::cathode_load, Role::none}},
    SensiblePart{"dropping_resistor_ohm",
                 "a dropping resistor",
                 "ohm",
                 &SensibleBounds::dropping_ohm,
                 {Role::dropping, Role::none, Role::none}},
    SensiblePart{"reservoir_f",
                 "a reservoir",
                 "F",
                 &SensibleBounds::reservoir_f,
                 {Role::reservoir, Role::none, Role::none}},
    SensiblePart{"coupling_capacitor_f",
                 "coupling capacitors",
                 "F",
                 &SensibleBounds::coupling_f,
                 {Role::input_coupling, Role::coupling_between, Role::output_coupling}},
};

/// True if a limit of the brief stands in the place of the default bound on the figure, in this circuit.
bool has_own_limit(const Demands&, const Figure&, CircuitKind);

/// True if a solved design lies within all bounds. A figure that its circuit has but that could not be found
/// is not within any. `given`: what the brief gives. Allowed: solved to Depth::full. Allocates nothing.
bool within_bounds(const SensibleBounds&, const Demands&, const Design& given, const Design&,
                   const Evaluation&);

}  // namespace antiphase
