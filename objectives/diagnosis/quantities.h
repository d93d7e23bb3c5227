/// What is told of a box: the tubes' currents and amplification, resistors, supplies, each as a number that
/// follows from the state of the bench.
#pragma once

#include <string>
#include <vector>

#include "objectives/diagnosis/bench_model.h"

namespace antiphase {

struct Quantity {
  enum class Kind {
    current_share,  ///< plate current at the drawn voltages against the type's, as a share
    mu,             ///< amplification factor there
    plate_current,  ///< at rest, A
    part,           ///< value of a resistor, a supply or a sink, in its unit
  };
  Kind kind = Kind::part;
  std::string name, label, unit;
  int element = -1;  ///< in the circuit's list
  double drawn = 0;  ///< of the type, or as drawn
};

/// Fills what is told of every design of one kind: sections first, then resistors, supplies and sinks.
class Quantities {
 public:
  /// model: with the tubes' first law, whose types are "drawn". It must outlive this.
  explicit Quantities(const BenchModel& model);
  const std::vector<Quantity>& list() const { return list_; }
  /// In one state. `model` may be one with another law. Allocates nothing.
  double value(std::size_t quantity, const BenchModel& model, const Fault&, const Deviates&,
               const Design& build, const NodeVolts&) const;

 private:
  std::vector<Quantity> list_;
  std::array<double, Circuit::kMostSections> grid_v_{}, plate_v_{}, screen_v_{}, type_a_{};
};

}  // namespace antiphase
