#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/first_stage/rest.h"
#include "stagemodels/circuits/first_stage/stages_apart.h"
#include "stagemodels/circuits/gain_and_split_load/circuit.h"
#include "stagemodels/circuits/gain_and_split_load/picture.h"
#include "stagemodels/circuits/gain_and_split_load/sizing.h"
#include "stagemodels/circuits/split_load/forms.h"
#include "stagemodels/circuits/split_load/solver.h"

namespace antiphase {

constinit const CircuitEntry entry::gain_and_split_load{
    .label = "split-load phase splitter behind a gain stage",
    .description = "a common-cathode stage and the split load that it drives, as one circuit",
    .describe = &split_load_chain::circuit,
    .picture = &split_load_chain::picture,
    .bias_forms = split_load::kBiasForms,
    .guess = &first_stage::guess<&split_load::start_rest>,
    .sizing = &split_load_chain::kSizing,
    .apart = &first_stage::kApart<CircuitKind::split_load>,
};

}  // namespace antiphase
