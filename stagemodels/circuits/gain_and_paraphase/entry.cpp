#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/first_stage/rest.h"
#include "stagemodels/circuits/first_stage/stages_apart.h"
#include "stagemodels/circuits/gain_and_paraphase/circuit.h"
#include "stagemodels/circuits/gain_and_paraphase/picture.h"
#include "stagemodels/circuits/gain_and_paraphase/sizing.h"
#include "stagemodels/circuits/paraphase/rest.h"

namespace antiphase {

constinit const CircuitEntry entry::gain_and_paraphase{
    .label = "paraphase phase splitter, divider without self-balance, behind a gain stage",
    .description = "a common-cathode stage and the paraphase that it drives, as one circuit",
    .describe = &paraphase_chain::circuit,
    .picture = &paraphase_chain::picture,
    .guess = &first_stage::guess<&paraphase::start_rest>,
    .sizing = &paraphase_chain::kSizing,
    .apart = &first_stage::kApart<CircuitKind::paraphase>,
};

}  // namespace antiphase
