/// The stage linearised at rest, with every capacitor in: nodal equations, solved at one frequency at a time.
#pragma once

#include <array>
#include <complex>
#include <span>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/linear/nodal_equations.h"
#include "stagemodels/linear/transfer.h"

namespace antiphase {

/// Small-signal voltages by node of the circuit. A node that no element of the design touches is 0.
using NodeVoltages = std::array<std::complex<double>, Circuit::kMostNodes>;

struct LinearResponse {
  std::array<std::complex<double>, 2> output{};
  std::complex<double> grid_siemens;  ///< current into the driven grid per volt there; input excitation only
  /// What the source sees behind source_ohm, source_f included; 0: takes no current. Input excitation only.
  std::complex<double> input_ohm;
};

/// A source of noise current between two nodes, white: A^2/Hz.
struct NoiseCurrent {
  Node from, to;
  double density;
};

/// Nodal equations of a design at its rest point, Y = G + j omega C, from the list of its circuit's elements
/// (circuits/circuit.h). Nodes that a short joins are one unknown, so that no large conductance spoils the
/// numbers. Interelectrode capacitances come from the cards. A capacitor that the design does not give (0) is
/// a short. What a node is held at stands still, a sink is what lies across it, clamps and the grids of the
/// valves that follow conduct nothing. The driven grid is that of the first stage, or of section 1 without
/// one. Source: nodal analysis, e.g. Vlach & Singhal, Computer Methods for Circuit Analysis and Design,
/// chapter 2.
class LinearNetwork {
 public:
  enum class Capacitances {
    all,
    mid_band,  ///< the designer's are shorts, strays and loads are nothing
  };

  /// Without overall feedback. Allowed: a design whose rest point is solved. Cost: under 1 us. Allocates
  /// nothing.
  LinearNetwork(const Design& design, const OperatingPoint& rest, Capacitances = Capacitances::all);

  /// The same with the feedback resistor and the capacitor across it, whose far end is driven. Allowed:
  /// has_feedback(design), feedback_ohm > 0; the value that the design itself gives plays no part.
  static LinearNetwork with_feedback(const Design& design, const OperatingPoint& rest, double feedback_ohm,
                                     Capacitances capacitances) {
    return LinearNetwork(design, rest, capacitances, nullptr, feedback_ohm);
  }

  /// At mid-band, with one capacitor or resistor gone. Allowed: one of circuit_of(design).
  static LinearNetwork with_open(const Design& design, const OperatingPoint& rest, const Element& open) {
    return LinearNetwork(design, rest, Capacitances::mid_band, &open, 0);
  }

  /// Makes a capacitor larger by `farad`, below 0 smaller, as if the design had it so. Allowed: a capacitor
  /// that the design gave above 0 when this was made, and which stays so.
  void enlarge(const Element& capacitor, double farad);

  /// One volt at the source, behind `source_ohm`. Cost: 0.2-1 us, as every solution below. Allocates nothing.
  LinearResponse from_input(double frequency_hz) const;
  /// One volt at the far end of the feedback resistor, the source silent.
  LinearResponse from_feedback(double frequency_hz) const;
  /// Half the difference of outputs 1 and 2 for that volt, for many frequencies. Allowed: two outputs.
  Transfer feedback_transfer() const;
  /// One volt of ripple on the main supply, or on the stage's own without one; the source silent.
  LinearResponse from_supply(double frequency_hz) const;

  /// Volts at each output per ampere that is fed into each node: one solution of the transposed equations
  /// tells it for every place at once. Source: Director & Rohrer, "The generalized adjoint network and
  /// network sensitivities", IEEE Trans. Circuit Theory CT-16 (1969) 318-323.
  std::array<NodeVoltages, 2> to_outputs(double frequency_hz) const;

  /// Thermal and shot noise of the design, see noise.h.
  std::span<const NoiseCurrent> noise_currents() const { return {noise_.data(), noise_count_}; }

  int outputs() const { return circuit_->outputs; }
  int unknowns() const { return y_.unknowns; }

  /// Resistance that a capacitor of the designer sees between its ends at mid-band, the others being shorts.
  /// 0: the design has no such capacitor. May be negative where feedback makes it so. Allowed: an element of
  /// circuit_of(design).
  static double resistance_seen(const Design& design, const OperatingPoint& rest, const Element& capacitor);

 private:
  static constexpr int kPlaces = NodalMatrix::kFixed + NodalMatrix::kMost;
  static constexpr std::size_t kMostNoise = Circuit::kMostElements + Circuit::kMostSections;
  /// Rows and columns of the equations that are not unknown; nodes that are one with such a node are known.
  enum Place : std::int8_t { kStill, kSource, kMainSupply, kFeedback, kUnknown };
  static_assert(kUnknown == NodalMatrix::kFixed);
  static_assert(Transfer::kMost > NodalMatrix::kMost);  // a driven place may join the unknowns
  using PlaceVoltages = std::array<std::complex<double>, kPlaces>;

  LinearNetwork(const Design& design, const OperatingPoint& rest, Capacitances capacitances,
                const Element* open, double feedback_ohm);
  void connect(Node a, Node b, double siemens, double farad, bool at_grid);
  void triode(const Element& e, const Design& design, const OperatingPoint& rest, bool mid_band);
  void noise(Node from, Node to, double density);
  int place(Node n) const { return place_[n]; }
  PlaceVoltages voltages(const NodalVector& x) const;
  PlaceVoltages driven_at(Place driven, double frequency_hz) const;
  LinearResponse outputs_of(const PlaceVoltages& v) const;

  const Circuit* circuit_;
  std::array<std::int8_t, Circuit::kMostNodes> place_;  ///< of each node of the circuit
  Node driven_grid_ = kNoNode;
  Node terminal_ = kNoNode;                           ///< where the source's own resistance ends
  std::array<Node, 2> open_nodes_{kGround, kGround};  ///< of the capacitor that is gone
  NodalMatrix y_;
  /// The row of the driven grid, without what lies towards the source.
  std::array<double, kPlaces> grid_siemens_{}, grid_farad_{};
  std::array<NoiseCurrent, kMostNoise> noise_;
  std::size_t noise_count_ = 0;
};

}  // namespace antiphase
