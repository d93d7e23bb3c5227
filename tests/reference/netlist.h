/// A design as a netlist, drawn from the circuits' definitions (stagemodels/README.md) element by element.
///
/// Nodes: b supply, in drive, g1 g2 grids, p1 p2 plates, c cathode, s leak node (self-biased pair),
/// o1 o2 outputs behind the coupling capacitors, m foot of the unbypassed cathode resistor.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "stagemodels/design.h"
#include "tests/reference/triode_lines.h"

namespace antiphase::reference {

enum class Coupling {
  capacitors,  ///< open for "op"; as good as shorts in a "ac" at kShortedAtHz. Drive: source vin, AC 1 V
  held,        ///< DC sources. Drive: a cosine of peak vamp, at a phase of vphase steps of vstep radians
};

inline constexpr double kShortedAtHz = 1e6;

struct Capacitor {
  std::string source;  ///< name of the DC source that stands for it when held
  std::string from, to;
};

struct StageNetlist {
  Netlist lines;
  std::vector<Capacitor> capacitors;
};

/// Writes section 0 or 1 between its nodes.
using SectionWriter = std::function<Netlist(int section, const SectionNodes&)>;

/// `design.tube` is only looked at by the first form. itest1 and itest2 push a current into the
/// outputs (0 until altered); source_ohm is taken as 0.
StageNetlist stage_netlist(const Design& design, Coupling coupling);
StageNetlist stage_netlist(const Design& design, Coupling coupling, const SectionWriter& section);

/// The lines as one text, for messages.
std::string text_of(const Netlist& lines);

}  // namespace antiphase::reference
