/// The numbers in a circuit's equations: filled in for each design from the elements' values.
#pragma once

#include <cassert>
#include <cstdint>
#include <span>

#include "stagemodels/circuits/unknowns.h"

namespace antiphase {

/// Where a source without resistance, a supply without a dropping resistor and a bypass without a resistor
/// meet equations that hold them.
inline constexpr double kLeastSource_ohm = 1e-3, kLeastDropping_ohm = 1e-6, kLeastBypassed_ohm = 1e-9;
/// The same where a stage ahead hangs on the supply itself.
inline constexpr double kLeastDecoupling_ohm = 1e-6;

/// Of one design. Rows and columns as in Shape.
struct Coefficients {
  static constexpr int kMost = 26, kFolded = 6, kSections = Circuit::kMostSections;

  /// Amperes per unknown and, in the last column, constant ones: what comes in at each row through resistors
  /// and sinks. Rows of capacitors count in volts: they are divided by their own diagonal.
  double linear[kMost][kMost + 1];
  double scale[kMost];  ///< of the row, 1 for those of x
  /// Constant part of each section's grid and plate against its cathode, and of the output grids against
  /// theirs.
  double grid_v[kSections], plate_v[kSections], output_grid_v[2];
  /// Constant part of the voltages to ground of each section's plate, grid and cathode, of supply and
  /// outputs.
  double plate_to_ground_v[kSections], grid_to_ground_v[kSections], cathode_to_ground_v[kSections];
  double supply_to_ground_v, output_to_ground_v[2];
  double screen_v;  ///< constant part of a pentode's screen against its cathode
  double folded[kFolded]
               [kMost + 1];  ///< volts of each node that is folded away per unknown, constant part last
  double held_v[Circuit::kMostNodes];  ///< of each held or driven root at rest; 0 elsewhere
};

/// How the numbers of a circuit's equations are made from a design: prepared once for each form.
class Assembly {
 public:
  Assembly(const Circuit& circuit, Held held);
  Assembly(const Assembly&) = delete;  // keeps a reference to its own circuit
  Assembly& operator=(const Assembly&) = delete;

  const Circuit& circuit() const { return circuit_; }
  const Unknowns& unknowns() const { return unknowns_; }

  /// Allowed: a design of this circuit and form within its ranges. Cost: 0.1 to 0.3 us. Allocates nothing.
  void fill(const Design& design, Coefficients& out) const;

  /// The grid that the source drives, and the resistors that hang on it.
  struct Leak {
    int foot;
    const DesignField* member;
  };
  int driven_grid() const { return driven_grid_; }
  std::span<const Leak> driven_leaks() const { return {driven_leaks_.begin(), driven_leaks_.end()}; }

  /// A node's voltage to ground: per unknown, constant part last.
  void node(const Coefficients& of, int node, double (&out)[Coefficients::kMost + 1]) const;

 private:
  struct Stamp {
    std::int16_t element, row, column, sign;
  };
  template <class T, int kMost>
  struct List {  // of fixed capacity: nothing is allocated
    std::array<T, kMost> item{};
    int count = 0;
    constexpr void add(const T& t) {
      assert(count < kMost);
      item[static_cast<std::size_t>(count++)] = t;
    }
    const T* begin() const { return item.data(); }
    const T* end() const { return item.data() + count; }
  };

  const Circuit circuit_;
  const Unknowns unknowns_;
  /// Of each node: volts per unknown without what is folded away, and the folded unknown that it follows (-1:
  /// none).
  struct NodeRow {
    std::array<double, Coefficients::kMost> per;
    int root, folded;
  };
  std::array<NodeRow, Circuit::kMostNodes> node_;
  int driven_grid_ = 0;
  List<Leak, 4> driven_leaks_;
  List<Stamp, 2200> stamps_;      // of what hangs on unknowns
  List<Stamp, 320> held_stamps_;  // of what hangs on held nodes; `column` is the node
};

}  // namespace antiphase
