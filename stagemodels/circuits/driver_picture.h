/// The drawing of a driver behind any splitter, and drawings of designs as they are.
#pragma once

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/circuits/picture.h"

namespace antiphase {

/// The circuit's own picture, with the driver of the form added where its outputs lead out.
Picture picture_of(CircuitKind, const Form&);

}  // namespace antiphase
