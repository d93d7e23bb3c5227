/// What the page's live code starts from, as a member of the page's data.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "results/json/json_writer.h"
#include "results/page/live/live_fields.h"
#include "results/page/page_data.h"

namespace antiphase {

/// Tubes and output valves that any of the designs stands on, in the order met.
LiveTables tables_of(std::span<const Design* const> designs);

/// Tubes, output valves, demands, tolerances and series as live_set_up() reads them (live_entry.h).
std::vector<double> live_task(const LiveTables&, Demands, Tolerances, const PartSeries&);
std::vector<double> live_design(Design, const LiveTables&);

/// Member "live": {task[…], base[…], designs[of each entry, then of each of the front that is no
/// entry][place, number, …], cloud[…]}. A design is what differs from `base`, in pairs. `cloud_stride`: every
/// how manieth point of the cloud the page has. Numbers stand in full.
void write_live_data(JsonWriter&, const Report&, const std::vector<ShownDesign>&, std::size_t cloud_stride);

}  // namespace antiphase
