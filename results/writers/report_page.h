/// report.html: the page to read. One file, no network, no server.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// The page for a report. Everything that came from a brief or a card is shown as text, never as markup.
std::string report_page(const Report&);

}  // namespace antiphase
