#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/first_stage/rest.h"
#include "stagemodels/circuits/first_stage/stages_apart.h"
#include "stagemodels/circuits/gain_and_floating_paraphase/circuit.h"
#include "stagemodels/circuits/gain_and_floating_paraphase/picture.h"
#include "stagemodels/circuits/gain_and_floating_paraphase/sizing.h"
#include "stagemodels/circuits/paraphase/rest.h"

namespace antiphase {

constinit const CircuitEntry entry::gain_and_floating_paraphase{
    .label = "floating paraphase phase splitter behind a gain stage",
    .description = "a common-cathode stage and the floating paraphase that it drives, as one circuit",
    .describe = &floating_paraphase_chain::circuit,
    .picture = &floating_paraphase_chain::picture,
    .guess = &first_stage::guess<&paraphase::start_rest>,
    .sizing = &floating_paraphase_chain::kSizing,
    .apart = &first_stage::kApart<CircuitKind::floating_paraphase>,
};

}  // namespace antiphase
