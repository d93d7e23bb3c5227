/// Brief files in: JSON to a typed brief, or everything that is wrong with it.
#pragma once

#include "configs/brief.h"
#include "configs/input_errors.h"
#include "configs/tube_library.h"

namespace antiphase {

/// Reads a brief. The layout, with all defaults, is described in configs/schema/brief.schema.json.
/// The tubes of the result belong to `library`, which must outlive it.
OrErrors<Brief> read_brief(const std::string& file, const TubeLibrary& library);

/// Reads a brief from its text; `file` is only a name for messages.
OrErrors<Brief> read_brief_text(std::string text, const std::string& file, const TubeLibrary& library);

/// "Taken among the 12 of 40 … within 10 % balance, …": `all` designs, `within` of them within the brief's
/// bounds.
std::string taken_among_in_words(const Brief&, const std::string& designs, std::size_t within,
                                 std::size_t all);

/// The brief in words, one sentence each, for reports.
std::vector<std::string> brief_in_words(const Brief&);

}  // namespace antiphase
