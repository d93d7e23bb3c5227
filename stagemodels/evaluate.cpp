#include "stagemodels/evaluate.h"

#include "stagemodels/circuits/catalogue.h"

namespace antiphase {

void evaluate(const Design& design, Depth depth, Evaluation& out) {
  circuit(design.circuit).evaluate(design, depth, out, {});
}

void evaluate(const Design& design, Depth depth, Evaluation& out, const GoOn& go_on) {
  circuit(design.circuit).evaluate(design, depth, out, go_on);
}

SteadyState steady_state_at_drive(const Design& design, double input_peak_v, Waveforms* waveforms) {
  Waveforms unwanted;
  return circuit(design.circuit).at_drive(design, input_peak_v, waveforms ? *waveforms : unwanted);
}

}  // namespace antiphase
