/// The parts of the schemas of designs and briefs that follow from what the program knows: the circuits,
/// which members each of them has, ranges and defaults of numbers, names of figures. All the rest of a
/// schema, its descriptions first of all, is written by hand.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

/// `text` of the schema called `file` ("design.schema.json", "brief.schema.json") with those parts made anew
/// and laid out in the one way that the schemas have. Other files come back as they are. Throws what the JSON
/// library throws on a text that is no such schema. A member of a design that the schema lacks is added with
/// its label for a description.
std::string filled_schema(std::string_view file, const std::string& text);

}  // namespace antiphase
