/// Intermodulation: two tones solved like one, with other weights over the same levels of drive.
/// (Part of Analysis; included by analysis.h.)
#pragma once

#include "stagemodels/solve/analysis.h"

namespace antiphase {

template <class Circuit>
void Analysis<Circuit>::intermodulation(IntermodulationFigures& out) {
  out = IntermodulationFigures{};
  const auto solve_tones = [&](const TwoToneInstants& tones, auto&& products,
                               std::array<IntermodulationFigures::Products, 3>& result) {
    instants_ = &tones.instants;
    State state;
    int steps = 0;
    const Solved end = find_target(state, steps);
    if (end == Solved::yes) {
      Waveforms waves;
      circuit_.describe(*instants_, state, waves);
      Row difference = waves.output_v[0];
      if (Circuit::kOutputs == 2)
        for (int k = 0; k < kInstants; ++k) difference[k] -= waves.output_v[1][k];
      for (int o = 0; o < Circuit::kOutputs; ++o)
        result[static_cast<std::size_t>(o)] = products(waves.output_v[o]);
      result[2] = products(difference);
    }
    instants_ = &cycle_instants();
    return end;
  };
  out.solved = solve_tones(low_and_high_instants(), low_and_high_products, out.low_and_high);
  if (out.solved == Solved::yes)
    out.solved = solve_tones(close_pair_instants(), close_pair_products, out.close_pair);
}

}  // namespace antiphase
