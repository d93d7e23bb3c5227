#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/forms.h"
#include "stagemodels/circuits/long_tailed_pair/circuit.h"
#include "stagemodels/circuits/long_tailed_pair/picture.h"
#include "stagemodels/circuits/long_tailed_pair/sizing.h"
#include "stagemodels/circuits/long_tailed_pair/solver.h"

namespace antiphase {

constinit const CircuitEntry entry::long_tailed_pair{
    .label = "long-tailed-pair phase splitter",
    .description = "two sections with a common cathode: phase splitter",
    .describe = &pair::circuit,
    .picture = &pair::picture,
    .bias_forms = kEveryBiasForm,
    .tail_forms = kEveryTailForm,
    .guess = &guess_alone<&pair::start_rest>,
    .unrolled = &pair::unrolled,
    .sizing = &pair::kSizing,
};

}  // namespace antiphase
