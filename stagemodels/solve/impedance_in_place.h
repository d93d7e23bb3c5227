/// Output impedance as it is in use.
#pragma once

#include "stagemodels/evaluation.h"

namespace antiphase {

/// Output impedances with the leaks of the load in place, mid-band: what an ampere into one output raises it
/// by while its own leak and that of the other output stand where they are. The figures of SmallSignal leave
/// both out.
///
/// Source: the outputs are a two-port. Its open-circuit impedances are those of SmallSignal,
/// Z_11 and Z_12 = Z_11 - (impedance of output 1 with an opposite ampere into output 2); two conductances g
/// to ground beside it make (Z^-1 + g 1)^-1, of which the diagonal is (Z_11 + g det Z) / (1 + g (Z_11 + Z_22)
/// + g^2 det Z).
/// @param load_ohm the leak of each output, ohm, above 0. @param outputs 1 or 2; with 1 only [0] has a
/// meaning.
inline Pair output_impedance_in_place_ohm(const SmallSignal& s, double load_ohm, int outputs) {
  const double g = 1 / load_ohm;
  const Pair& alone = s.output_impedance_alone_ohm;
  if (outputs < 2) return {alone[0] / (1 + g * alone[0]), 0};
  const double across_12 = alone[0] - s.output_impedance_differential_ohm[0];
  const double across_21 = alone[1] - s.output_impedance_differential_ohm[1];
  const double det = alone[0] * alone[1] - across_12 * across_21;
  const double loaded = 1 + g * (alone[0] + alone[1]) + g * g * det;
  return {(alone[0] + g * det) / loaded, (alone[1] + g * det) / loaded};
}

}  // namespace antiphase
