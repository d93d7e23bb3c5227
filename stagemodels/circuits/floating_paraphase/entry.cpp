#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/floating_paraphase/circuit.h"
#include "stagemodels/circuits/floating_paraphase/picture.h"
#include "stagemodels/circuits/floating_paraphase/sizing.h"
#include "stagemodels/circuits/paraphase/rest.h"

namespace antiphase {

constinit const CircuitEntry entry::floating_paraphase{
    .label = "floating paraphase phase splitter",
    .description =
        "two sections, the second driven from the node where resistors from both outputs meet: phase "
        "splitter that balances itself",
    .describe = &floating_paraphase::circuit,
    .picture = &floating_paraphase::picture,
    .guess = &guess_alone<&paraphase::start_rest>,
    .sizing = &floating_paraphase::kSizing,
};

}  // namespace antiphase
