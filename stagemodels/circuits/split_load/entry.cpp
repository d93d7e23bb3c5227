#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/split_load/circuit.h"
#include "stagemodels/circuits/split_load/forms.h"
#include "stagemodels/circuits/split_load/picture.h"
#include "stagemodels/circuits/split_load/sizing.h"
#include "stagemodels/circuits/split_load/solver.h"

namespace antiphase {
constinit const CircuitEntry entry::split_load{
    .label = "split-load phase splitter",
    .description = "one section with equal resistors in plate and cathode: phase splitter without gain",
    .describe = &split_load::circuit,
    .picture = &split_load::picture,
    .bias_forms = split_load::kBiasForms,
    .guess = &guess_alone<&split_load::start_rest>,
    .unrolled = &split_load::unrolled,
    .sizing = &split_load::kSizing,
};

}  // namespace antiphase
