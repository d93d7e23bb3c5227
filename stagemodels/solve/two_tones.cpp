// Intermodulation: two tones solved like one, with other weights over the same levels of drive.
#include "stagemodels/solve/analysis.h"
#include "stagemodels/solve/two_tone_instants.h"

namespace antiphase {

void Analysis::intermodulation(IntermodulationFigures& out) {
  out = IntermodulationFigures{};
  const auto solve_tones = [&](const TwoToneInstants& tones, auto&& products,
                               std::array<IntermodulationFigures::Products, 3>& result) {
    instants_ = &tones.instants;
    CycleState state;
    int steps = 0;
    const Solved end = find_target(state, steps);
    if (end == Solved::yes) {
      Waveforms waves;
      solver_.describe(*instants_, state, waves);
      Row difference = waves.output_v[0];
      if (form_.outputs == 2)
        for (int k = 0; k < kInstants; ++k) difference[k] -= waves.output_v[1][k];
      for (int o = 0; o < form_.outputs; ++o)
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
