/// The stage linearised at rest, with every capacitor in: nodal equations, solved at one frequency at a time.
#pragma once

#include <array>
#include <complex>
#include <span>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/linear/transfer.h"

namespace antiphase {

/// What stands still, what drives, and what has to be solved for.
enum class Node {
  ground,
  source,       ///< behind the source's resistance: driven
  main_supply,  ///< driven by ripple, otherwise still
  feedback,     ///< the far end of a feedback resistor: driven
  terminal,     ///< of the input, where the source ends and the input capacitor begins
  grid_1,
  grid_2,
  plate_1,
  plate_2,
  cathode,
  foot,  ///< below the bias resistor (pair); between the parts of the cathode resistor (gain stage)
  out_1,
  out_2,
  supply,      ///< of the stage
  first_grid,  ///< of the gain stage ahead of the pair, as all that follow
  first_plate,
  first_cathode,
  first_foot,  ///< between the parts of its cathode resistor
};
inline constexpr int kNodes = 18;

/// The capacitors that a designer chooses.
enum class Capacitor {
  coupling_1,
  coupling_2,
  grid_bypass,
  input_coupling,
  cathode_bypass,
  reservoir,
  between_stages,
  first_cathode_bypass
};

/// Small-signal voltages of all nodes. A node that the design lacks is 0.
using NodeVoltages = std::array<std::complex<double>, kNodes>;

struct LinearResponse {
  std::array<std::complex<double>, 2> output{};
  std::complex<double> grid_siemens;  ///< current into the driven grid per volt there; input excitation only
  /// What the source sees behind source_ohm, source_f included; 0: takes no current. Input excitation only.
  std::complex<double> input_ohm;
};

/// A source of noise current between two nodes, white: A^2/Hz.
struct NoiseCurrent {
  Node from, to;
  double density = 0;
};

/// Nodal equations of a design at its rest point, Y = G + j omega C. Nodes that a short joins are one
/// unknown, so that no large conductance spoils the numbers. Interelectrode capacitances come from the cards.
/// A capacitor that the design does not give (0) is a short; a directly coupled pair has no input capacitor,
/// and its grid 2 hangs on grid 1 through its leak. Source: nodal analysis, e.g. Vlach & Singhal, Computer
/// Methods for Circuit Analysis and Design, chapter 2.
class LinearNetwork {
 public:
  enum class Capacitances {
    all,
    mid_band,  ///< the designer's are shorts, strays and loads are nothing
  };

  /// Allowed: a design whose rest point is solved. Cost: under 1 us. Allocates nothing.
  LinearNetwork(const Design& design, const OperatingPoint& rest, Capacitances = Capacitances::all);

  /// The same with a resistor from the node `feedback` to the upper end of the unbypassed part of the first
  /// cathode resistor, which stands at ground. Allowed: a gain_and_splitter with such a part, feedback_ohm >
  /// 0.
  static LinearNetwork with_feedback(const Design& design, const OperatingPoint& rest, double feedback_ohm,
                                     Capacitances capacitances) {
    return LinearNetwork(design, rest, capacitances, nullptr, feedback_ohm);
  }

  /// At mid-band, with one of the designer's capacitors gone. Allowed: one that the design has.
  static LinearNetwork with_open(const Design& design, const OperatingPoint& rest, Capacitor open) {
    return LinearNetwork(design, rest, Capacitances::mid_band, &open, 0);
  }

  /// One volt at the source, behind `source_ohm`. Cost: 1-3 us, as every solution below. Allocates nothing.
  LinearResponse from_input(double frequency_hz) const;
  /// One volt at the far end of the feedback resistor, the source silent.
  LinearResponse from_feedback(double frequency_hz) const;
  /// Half the difference of outputs 1 and 2 for that volt, for many frequencies. Allowed: a pair.
  Transfer feedback_transfer() const;
  /// One volt of ripple on the main supply, or on the stage's own without one; the source silent.
  LinearResponse from_supply(double frequency_hz) const;

  /// Volts at each output per ampere that is fed into each node: one solution of the transposed equations
  /// tells it for every place at once. Source: Director & Rohrer, "The generalized adjoint network and
  /// network sensitivities", IEEE Trans. Circuit Theory CT-16 (1969) 318-323.
  std::array<NodeVoltages, 2> to_outputs(double frequency_hz) const;

  /// Thermal and shot noise of the design, see noise.h.
  std::span<const NoiseCurrent> noise_currents() const { return {noise_.data(), noise_count_}; }

  int outputs() const { return outputs_; }
  int unknowns() const { return unknowns_; }

  /// Resistance that a capacitor of the designer sees between its ends at mid-band, the others being shorts.
  /// 0: the design has no such capacitor. May be negative where feedback makes it so.
  static double resistance_seen(const Design& design, const OperatingPoint& rest, Capacitor capacitor);

 private:
  static constexpr int kMostUnknowns = Transfer::kMost;
  static constexpr std::size_t kMostNoise = 30;
  struct Element {
    double siemens = 0, farad = 0;
  };
  struct Excitation {
    double source_v = 0, main_supply_v = 0, feedback_v = 0;
    const std::array<Node, 2>* ampere = nullptr;  ///< into the first, out of the second
  };
  struct Solver;

  LinearNetwork(const Design& design, const OperatingPoint& rest, Capacitances capacitances,
                const Capacitor* open, double feedback_ohm);
  void connect(Node a, Node b, double siemens, double farad = 0);
  void resistor(Node a, Node b, double ohm);
  void stray(Node a, Node b, double farad);
  void join(Node a, Node b);
  void capacitor(Capacitor which, Node a, Node b, double farad);
  void triode(const TriodeSection& section, double grid_to_cathode_v, double plate_to_cathode_v, Node grid,
              Node plate, Node cathode);
  void section(const Design& design, const OperatingPoint& rest, int index);
  void gain_stage_cathode(Node cathode, Node foot, double ohm, double unbypassed_ohm, Capacitor which,
                          double bypass_f);
  void first_stage(const Design& design, const OperatingPoint& rest, double feedback_ohm);
  void transconductance(Node from, Node to, Node plus, Node minus, double siemens);
  void noise(Node from, Node to, double density);
  void reduce();
  NodeVoltages solve(double frequency_hz, const Excitation& excitation) const;
  std::complex<double> current_out_of(Node joined, const NodeVoltages& v, double omega) const;

  std::array<std::array<Element, kNodes>, kNodes> y_{};
  Node driven_grid_ = Node::grid_1;         // first_grid if there is a first stage
  std::array<Element, kNodes> grid_row_{};  // of y_ at the driven grid, without what lies towards the source
  std::array<int, kNodes> joined_{};        // the first of the nodes that are one with this node
  std::array<bool, kNodes> used_{};
  std::array<int, kNodes> unknown_{};  // its number, or -1
  int unknowns_ = 0, outputs_ = 2;
  double source_ohm_ = 0;
  bool mid_band_ = false;
  const Capacitor* open_ = nullptr;
  std::array<Node, 2> open_nodes_{Node::ground, Node::ground};

  // reduced: unknowns_ by unknowns_, columns one after another, and the columns of the driven nodes
  std::array<double, kMostUnknowns * kMostUnknowns> g_{}, c_{};
  std::array<Element, kMostUnknowns> by_source_{}, by_main_{}, by_feedback_{};

  std::array<NoiseCurrent, kMostNoise> noise_{};
  std::size_t noise_count_ = 0;
};

}  // namespace antiphase
