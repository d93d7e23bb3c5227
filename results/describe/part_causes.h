/// What each cause asks of one part, read off the voltages of the design's nodes into its line of the list.
#pragma once

#include <optional>
#include <vector>

#include "results/describe/node_voltages.h"
#include "results/describe/parts_list.h"
#include "stagemodels/circuits/designators.h"

namespace antiphase {

/// What must be known of a design to describe its parts.
struct DescribedDesign {
  const Design& d;
  const Evaluation& e;
  const DesignFactors& factors;
  const Tolerances& tolerances;
  const Circuit& circuit;
  const Designators& designators;
  const NodeVoltages& nodes;
  const PartValues& values;
  const FaultVoltages& faults;
};

/// Voltage from node a to node b of one part: at rest, over the cycle at the target (empty if not solved),
/// and before the tubes conduct.
struct Across {
  std::optional<double> rest_v;
  std::vector<double> cycle_v;
  double cold_v = 0;
};

Across across(const Element&, const NodeVoltages&);

/// A part of it, as two resistors in series share a voltage.
Across share_of(const Across& whole, double share);

/// The line's entry for the cause, made if it is not there yet.
Burden& burden(PartLine&, Cause);

/// Power at rest and over the cycle. `in_parallel_a`: a current beside that of the value, of the same sense.
void fill_power(PartLine&, const Across&, double ohm, double in_parallel_a = 0);

/// Voltage at rest, over the cycle and cold.
void fill_voltage(PartLine&, const Across&);

/// What a resistor has to bear while a capacitor from some node to ground is charged. Where nothing else is
/// in the way, all that is not stored in the capacitor becomes heat in it: CV^2/2. `ohm` 0: no resistor.
void fill_switch_on(PartLine&, const Element& resistor, double ohm, const DescribedDesign&);

/// The worst that one defect elsewhere asks of the part. `ohm` 0: no resistor.
void fill_fault(PartLine&, const Element&, double ohm, const DescribedDesign&);

}  // namespace antiphase
