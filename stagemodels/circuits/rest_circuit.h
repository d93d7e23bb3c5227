/// A circuit as direct current sees it, for those who ask more of it than its rest point: voltages from near
/// ones, what a small change does, the resistance between two nodes, and resistances that are no parts of it
/// (a meter's, a leak's). rest_point.h is the short way for a single answer.
#pragma once

#include <array>
#include <span>

#include "stagemodels/circuits/rest_point.h"

namespace antiphase {

/// A resistance between two nodes that is no element, in series with a source: the current from a to b is
/// (v_a - v_b - emf_v) / ohm.
struct Bridge {
  Node a = kGround, b = kGround;
  double ohm = 10e6;  ///< > 0
  double emf_v = 0;
};

/// Nodes that a wire joins are one, the others are held or unknown. Allowed and left out as for
/// solve_rest_point. Circuit and design must outlive this; the alterations need not. Allocates nothing.
class RestCircuit {
 public:
  /// bridges: at most kMostBridges.
  RestCircuit(const Circuit&, const Design&, std::span<const Alteration>,
              std::span<const Bridge> bridges = {});

  static constexpr std::size_t kMostBridges = 4;

  /// From nothing, supplies raised in steps where that has to be. @return false: it did not settle.
  bool solve(NodeVolts& volts) const;

  /// From voltages nearby, until no node moves by more than `settled_v`. @return false: it did not settle
  /// within a few steps; `volts` then has no meaning.
  bool settle(NodeVolts& volts, double settled_v) const;

  /// Puts the nodes that something holds where it holds them.
  void hold(NodeVolts& volts) const;

  /// Amperes that leave each node at these voltages; of nodes that are joined, all at one of them.
  NodeVolts currents_out(const NodeVolts& volts) const;

  /// What small currents do about a rest point: the factors of the slopes there.
  class Slopes {
   public:
    /// False: the slopes have no inverse, and nothing else has a meaning.
    bool known() const { return known_; }
    /// By how much each node rises when these amperes flow into the nodes.
    NodeVolts rise(const NodeVolts& amperes_in) const;
    /// Small-signal resistance between two nodes, ohm.
    double ohm_between(Node a, Node b) const;

   private:
    friend class RestCircuit;
    static constexpr int kMost = Circuit::kMostNodes - 1;
    std::array<std::array<double, kMost>, kMost> factor_{};
    std::array<int, kMost> row_{};  ///< which equation each pivot came from
    std::array<int, Circuit::kMostNodes> unknown_of_node_{};
    int unknowns_ = 0, nodes_ = 0;
    bool known_ = false;
  };
  /// Cost: one elimination, some 200 ns.
  Slopes slopes_at(const NodeVolts& volts) const;

 private:
  static constexpr int kMostUnknowns = Circuit::kMostNodes - 1;
  using Column = std::array<double, kMostUnknowns>;
  using Matrix = std::array<Column, kMostUnknowns>;
  struct Branch {
    Node a, b;
    double siemens, emf_v;
  };
  struct Sink {
    Node a, b;
    double amperes;
  };
  struct Triode {
    Node plate, grid, cathode, screen;  ///< screen: kNoNode without one
    TriodeSection section;
  };

  const Element& element(int k) const { return circuit_.element[static_cast<std::size_t>(k)]; }
  Node root(Node n) const { return root_[static_cast<std::size_t>(n)]; }
  const Alteration* alteration(int k) const;
  bool is_held(const Element&) const;
  bool joins(int k) const;
  double value(int k) const;
  void join(Node a, Node b);
  void resistor(Node a, Node b, double ohm, double emf_v = 0);
  void add(int k);
  void hold_what_hangs_free();
  template <class Add, class AddSlope>
  void each_current(const NodeVolts&, double share, const Add&, const AddSlope&) const;
  void equations(const NodeVolts&, double share, Column&, Matrix&) const;
  bool newton(NodeVolts&, double share, int most_steps, double settled_v) const;
  void tell_joined(NodeVolts&) const;

  const Circuit& circuit_;
  const Design& design_;
  std::span<const Alteration> altered_;
  std::array<Node, Circuit::kMostNodes> root_{};
  std::array<bool, Circuit::kMostNodes> held_{}, tube_{};
  NodeVolts held_v_{};
  std::array<int, Circuit::kMostNodes> unknown_{};
  int unknowns_ = 0;
  std::array<Branch, Circuit::kMostElements + Circuit::kMostNodes + kMostBridges> branch_{};
  std::array<Sink, Circuit::kMostElements> sink_{};
  std::array<Triode, Circuit::kMostSections> triode_{};
  std::size_t branches_ = 0, sinks_ = 0, triodes_ = 0;
};

}  // namespace antiphase
