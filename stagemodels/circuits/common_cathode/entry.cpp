#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/common_cathode/circuit.h"
#include "stagemodels/circuits/common_cathode/picture.h"
#include "stagemodels/circuits/common_cathode/sizing.h"
#include "stagemodels/circuits/common_cathode/solver.h"

namespace antiphase {

constinit const CircuitEntry entry::common_cathode{
    .label = "common-cathode gain stage",
    .description = "one section with a cathode resistor: first gain stage",
    .describe = &gain_stage::circuit,
    .picture = &gain_stage::picture,
    .guess = &gain_stage::guess,
    .unrolled = &gain_stage::unrolled,
    .sizing = &gain_stage::kSizing,
};

}  // namespace antiphase
