/// A design as a netlist, drawn from the circuits' definitions (stagemodels/README.md) element by element.
///
/// Nodes: b supply of the stage, bm main supply, in drive, a behind source_ohm, g1 g2 grids, p1 p2 plates,
/// gf pf cf mf grid, plate, cathode and foot of the unbypassed cathode resistor of a first stage, c cathode,
/// s leak node (self-biased pair or split load: the upper end of its cathode load), o1 o2 outputs behind the
/// coupling capacitors, m foot of the unbypassed cathode resistor.
#pragma once

#include <array>
#include <functional>
#include <string>
#include <vector>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "tests/reference/triode_lines.h"

namespace antiphase::reference {

enum class Coupling {
  capacitors,  ///< open for "op"; as good as shorts in a "ac" at kShortedAtHz. Drive: source vin, AC 1 V
  held,  ///< DC sources. Drive: cosines of peaks vamp and vamp2, at vphase and vphase2 steps of vstep radians
  real,  ///< as given, those between electrodes too; what is not given is held as at rest. Drive: vin
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

/// Overall feedback of a `real` chain: the far end of its resistor is a source ("vfb") or the load of the
/// output stage, whose poles are resistors and capacitors between unity buffers. Node load: that load.
struct FeedbackDrawing {
  double resistor_ohm = 0;  ///< 0: none
  double rest_v = 0;        ///< of the far end, such that no DC flows through the resistor
  bool closed = false;
};

/// What a drawing may have beyond the stage itself.
struct DrawingExtras {
  bool output_grids = false;          ///< the grid of design.output_valve at each output; its bias: vobias
  std::vector<double> capacitor_v{};  ///< `real` only: rest voltages, in the order of `capacitors`
  /// `real` only: noise of such a resistance (> 0) at each grid, by the section's slope in the plate current;
  /// and, per volt of noise of 1 ohm, of the grid's own current.
  FeedbackDrawing feedback{};
  /// [2]: of the first stage; [3], [4]: of a driver
  std::array<double, 5> noise_ohm{}, noise_gm_s{}, grid_shot_s{};
};

/// Writes section 0 or 1, 2 for the one of a first stage, 3 and 4 for those of a driver, between its nodes.
using SectionWriter = std::function<Netlist(int section, const SectionNodes&)>;

/// `design.tube` is only looked at by the first form, and for capacitances by `real`. itest1 and itest2 push
/// a current into the outputs (0 until altered).
StageNetlist stage_netlist(const Design& design, Coupling coupling, const DrawingExtras& extras = {});
StageNetlist stage_netlist(const Design& design, Coupling coupling, const SectionWriter& section,
                           const DrawingExtras& extras = {});

/// What the definitions have in common: a section with outputs at plate and cathode, two sections with a
/// divider, and of these the ones that balance themselves; behind a first stage or not.
inline bool is_split_load(const Design& d) {
  return d.circuit == CircuitKind::split_load || d.circuit == CircuitKind::gain_and_split_load;
}
inline bool is_floating(const Design& d) {
  return d.circuit == CircuitKind::floating_paraphase ||
         d.circuit == CircuitKind::gain_and_floating_paraphase;
}
inline bool is_paraphase(const Design& d) {
  return d.circuit == CircuitKind::paraphase || d.circuit == CircuitKind::gain_and_paraphase ||
         is_floating(d);
}

/// The lines as one text, for messages.
/// The node of the driven grid.
std::string driven_grid(const Design& design);

std::string text_of(const Netlist& lines);

}  // namespace antiphase::reference
