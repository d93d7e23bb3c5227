/// The voltage of every node of a design's circuit: at rest, over the cycle at the target, and cold.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// To ground, V. What an evaluation records (electrodes, outputs, supply, tail) stands as it is; other nodes
/// follow from the circuit's resistors, and for the signal from its capacitors, which are shorts at mid-band
/// and hold their mean. An output's load ends at the bias of the valve that follows
/// (Design::output_valve_bias_v). A feedback resistor carries nothing, as in the other figures; the load that
/// it comes from follows the outputs by the output stage's gain, and rests at ground.
class NodeVoltages {
 public:
  using OfNodes = std::array<double, Circuit::kMostNodes>;

  /// Allowed: an evaluation of that design, to any depth. Cost: some elimination over the few nodes that
  /// nothing records, once an instant.
  NodeVoltages(const Design&, const Evaluation&);

  /// Empty: the rest point is not solved.
  const std::optional<OfNodes>& rest() const { return rest_; }
  /// At the instants of Waveforms; empty: the target is not solved.
  const std::vector<OfNodes>& cycle() const { return cycle_; }
  /// Before the tubes conduct, every capacitor charged: supplies at their full height, and a stage that feeds
  /// a grid directly has its plate at the whole supply too.
  const OfNodes& cold() const { return cold_; }
  /// The same while one capacitor to ground is still empty, its node at ground, or, of an output's coupling
  /// capacitor, while those of all outputs are: what hangs behind them then hangs on the plates.
  struct Charging {
    const Element* capacitor;
    OfNodes volts;
  };
  const std::vector<Charging>& charging() const { return charging_; }

 private:
  std::optional<OfNodes> rest_;
  std::vector<OfNodes> cycle_;
  OfNodes cold_{};
  std::vector<Charging> charging_;
};

}  // namespace antiphase
