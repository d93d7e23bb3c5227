/// A design as JSON, laid out so that the design reader takes it back.
#pragma once

#include <string>

#include "stagemodels/design.h"

namespace antiphase {

class JsonWriter;

/// Writes one object: stage, tube (one name, or two where the sections differ), then every member of
/// design_fields() that applies, the forms first in their objects. An optional member that is "not
/// given" (0, and 0 by default) is left out. Tubes must be set.
void write_design(JsonWriter& json, const Design& design);

/// The same as a file of its own, with a line feed at its end.
std::string design_json(const Design& design);

}  // namespace antiphase
