#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/paraphase/circuit.h"
#include "stagemodels/circuits/paraphase/picture.h"
#include "stagemodels/circuits/paraphase/rest.h"
#include "stagemodels/circuits/paraphase/sizing.h"

namespace antiphase {

constinit const CircuitEntry entry::paraphase{
    .label = "paraphase phase splitter",
    .description =
        "two sections of which the second amplifies a share of the first one's output: phase splitter",
    .describe = &paraphase::circuit,
    .picture = &paraphase::picture,
    .guess = &guess_alone<&paraphase::start_rest>,
    .sizing = &paraphase::kSizing,
};

}  // namespace antiphase
