/// A tube that was read by itself, in words.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// What each section is taken to be, how far that is from the type, and how much of it the readings decided:
/// a sentence or two a section.
std::vector<std::string> own_tube_in_words(const OwnTubeRecord&);
/// Of all, one after another.
std::vector<std::string> own_tubes_in_words(const std::vector<OwnTubeRecord>&);

}  // namespace antiphase
