/// What a signal does in a box that may have a fault: the gain from the input to an output, small signal, at
/// one frequency, around voltages at rest.
#pragma once

#include <optional>
#include <span>

#include "objectives/diagnosis/bench_readings.h"
#include "stagemodels/circuits/rest_circuit.h"

namespace antiphase {

/// Nodal equations of the list as LinearNetwork has them (stagemodels/linear/network.h), with what a fault
/// alters and the resistances that it puts in. The generator holds the input itself: what lies between source
/// and input plays no part. Overall feedback plays none either. meter_ohm: what reads the output, across it.
/// Allowed: a reading of a signal; voltages at rest of this circuit so altered. Empty: the equations have no
/// solution. Cost: some 5 us; allocates nothing.
std::optional<double> signal_gain(const Design&, std::span<const Alteration>, std::span<const Bridge>,
                                  const NodeVolts& rest, const BenchReading&, double meter_ohm);

}  // namespace antiphase
