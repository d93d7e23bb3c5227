/// One triode section as lines of a netlist, and its law as a plain function.
/// Both are written from the published equations (named in the source), not from the project's own laws.
#pragma once

#include <string>

#include "stagemodels/tubes/grid_diode.h"
#include "stagemodels/tubes/law.h"
#include "tests/reference/circuit_library.h"

namespace antiphase::reference {

struct SectionNodes {
  std::string plate, grid, cathode;
};

/// The current of a grid diode in the library's expression language; grid_v: its voltage in that language.
std::string grid_diode_current(const GridDiode& diode, const std::string& grid_v);

/// Behavioural current sources `bp<id>` (and `bg<id>` for a law with grid current), each behind an
/// ammeter: "vip<id>#branch" is the current into the plate, "vig<id>#branch" the one into the grid.
/// `diode` stands for the grid of laws that have no grid current of their own.
Netlist triode_lines(const std::string& id, const SectionNodes& nodes, const TriodeLaw& law,
                     const GridDiode& diode = {});

/// The same with a linear section: a plate resistance and a controlled source, current
/// (mu vgk + vpk) / rp. For tests with closed small-signal answers.
Netlist linear_triode_lines(const std::string& id, const SectionNodes& nodes, double mu, double rp_ohm);

struct PublishedCurrents {
  double plate_a = 0, grid_a = 0;
};

/// The law at one point, straight from its equations. V, A.
PublishedCurrents published_currents(const TriodeLaw& law, double grid_to_cathode_v,
                                     double plate_to_cathode_v);

}  // namespace antiphase::reference
