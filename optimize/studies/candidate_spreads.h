/// How builds of the candidates of a report scatter.
#pragma once

#include "configs/brief.h"
#include "results/report.h"

namespace antiphase {

/// Bands and measuring sheets: of every candidate that keeps the limits where they were asked for (`every`),
/// else of the first few, for the page. The same for any number of threads. Cost: spread_of for each.
void add_spreads(const Brief& brief, bool every, int threads, Report& report);

}  // namespace antiphase
