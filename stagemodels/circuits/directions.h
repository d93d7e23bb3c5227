/// Which way what a circuit rests at goes with each of its parts: proved from the list of its elements.
///
/// The proof holds for every design of the circuit's form at once: all parts, all tubes whose plate and grid
/// current rise with grid and plate (theory: stagemodels/README.md, "Bounds over a block of parts").
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

/// Which way something goes, wherever it is, as a number grows.
enum class Way : std::int8_t { falls = -1, stays = 0, rises = 1, unknown = 2 };

constexpr Way opposite(Way w) {
  return w == Way::unknown ? w : static_cast<Way>(-static_cast<int>(w));
}
/// Of a product, given the signs of both.
constexpr Way product(Way a, Way b) {
  if (a == Way::stays || b == Way::stays) return Way::stays;
  if (a == Way::unknown || b == Way::unknown) return Way::unknown;
  return a == b ? Way::rises : Way::falls;
}
/// Of a sum, given the signs of both.
constexpr Way sum(Way a, Way b) {
  if (a == Way::stays) return b;
  return b == Way::stays || a == b ? a : Way::unknown;
}

/// What is asked about, of a circuit at rest.
struct RestQuantity {
  enum Kind : std::uint8_t { voltage, current } kind = voltage;
  Node a = kGround;  ///< voltage: of a against b; current: from a to b
  Node b = kGround;  ///< through all resistors and sinks between just these two nodes
};

class Directions {
 public:
  /// `circuit` must outlive this. `forms`: its forms count, its numbers do not. Where an element's value is
  /// made of several members (Element::own), the way it goes with each is taken from one set of numbers.
  /// Cost: about a millisecond for one stage of two sections. Of a circuit with too many elements nothing is
  /// proved.
  Directions(const Circuit& circuit, const Design& forms);

  /// The way the quantity goes as the member grows and all others stay. `stays`: it does not hang on it.
  /// `unknown`: not proved, it may go either way. Allowed: nodes of the circuit.
  Way with(const RestQuantity&, const DesignField& member) const;
  /// The way it goes with the voltage of a held node.
  Way with_held(const RestQuantity&, Node held) const;
  /// Of the current of one resistor, from its node a to b.
  Way sign_of_current(const Element& resistor) const;

 private:
  static constexpr int kMostDim = 14, kMostStamps = 18;
  using Vector = std::array<std::int8_t, kMostDim>;

  /// A conductance g in Kirchhoff's equations: g * row * column^T. Rows are currents that leave a node.
  struct Stamp {
    Vector row{}, column{};
    const Element* resistor = nullptr;  ///< null: a triode's
  };
  /// One term of a determinant: the stamps in it, and what it is with one more row and column b, c: the
  /// product of row * b and column * c.
  struct Term {
    std::uint32_t stamps;
    Vector row, column;
  };
  using Terms = std::vector<Term>;

  int place(Node n, Node held) const;
  Vector edge(Node a, Node b, Node held) const;
  Terms terms(Node held) const;
  static Way sign(const Terms&, const Vector& row, const Vector& column, std::uint32_t without);
  Way with_element(const RestQuantity&, const Element&) const;
  Way value_with(const Element&, const DesignField&) const;
  Way determinant(std::uint32_t without) const;
  std::uint32_t between(const RestQuantity&) const;

  const Circuit& circuit_;
  Design like_;  ///< every number a different one, for values made of several
  bool known_ = false;
  int free_ = 0;
  std::array<std::int8_t, Circuit::kMostNodes> place_{};  ///< among the free nodes; -1: not free
  std::array<bool, Circuit::kMostNodes> held_{};
  std::vector<Stamp> stamps_;
  std::uint32_t triodes_ = 0;  ///< the stamps that are triodes'
  Terms injected_;             ///< for a current put into a node
  struct Held {
    Node node;
    Terms terms;
  };
  std::vector<Held> held_terms_;
};

}  // namespace antiphase
