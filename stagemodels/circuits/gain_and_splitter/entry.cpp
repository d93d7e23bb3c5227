#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/first_stage/rest.h"
#include "stagemodels/circuits/first_stage/stages_apart.h"
#include "stagemodels/circuits/forms.h"
#include "stagemodels/circuits/gain_and_splitter/circuit.h"
#include "stagemodels/circuits/gain_and_splitter/picture.h"
#include "stagemodels/circuits/gain_and_splitter/sizing.h"
#include "stagemodels/circuits/gain_and_splitter/solver.h"
#include "stagemodels/circuits/long_tailed_pair/solver.h"

namespace antiphase {

constinit const CircuitEntry entry::gain_and_splitter{
    .label = "long-tailed-pair phase splitter behind a gain stage",
    .description = "a common-cathode stage and the long-tailed pair that it drives, as one circuit",
    .describe = &chain::circuit,
    .picture = &chain::picture,
    .bias_forms = kEveryBiasForm,
    .tail_forms = kEveryTailForm,
    .guess = &first_stage::guess<&pair::start_rest>,
    .unrolled = &chain::unrolled,
    .sizing = &chain::kSizing,
    .apart = &first_stage::kApart<CircuitKind::long_tailed_pair>,
};

}  // namespace antiphase
