/// Which way the quantities of a stage at rest go with each of its parts, as bounds over blocks need it.
#pragma once

#include <vector>

#include "stagemodels/circuits/directions.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

struct MemberWay {
  const DesignField* member;
  Way way;
};

/// Of one quantity, all members that it hangs on.
struct QuantityWays {
  std::vector<MemberWay> members;
  Way with_supply = Way::unknown;  ///< with the supply, behind the dropping resistor too

  auto begin() const { return members.begin(); }
  auto end() const { return members.end(); }
};

/// Of one stage at rest.
struct StageWays {
  QuantityWays cathode_v;
  QuantityWays grid_to_cathode_v;       ///< of every section
  QuantityWays leak_node_v;             ///< where the grid leaks end
  QuantityWays leak_node_to_cathode_v;  ///< against the cathode
  QuantityWays tail_v;                  ///< across what carries the current of the cathodes
  QuantityWays plate_v;                 ///< of section 1
  QuantityWays
      stage_a;  ///< out of the stage at the foot of what the cathodes hang on: OperatingPoint::tail_current_a
  bool leaks_inside = false;  ///< the grid leaks end at a node of the stage itself, which carries its current
  bool has_tail = false;
};

/// Of the design's circuit in its forms. Proved when it is first asked for (some ms), then a table look-up.
/// Threads: safe. Allowed: a circuit of one stage.
const StageWays& stage_ways(const Design&);

/// The same of any list, proved anew. `forms`: see Directions.
StageWays prove_stage_ways(const Circuit&, const Design& forms);

/// Between the supply and the plate of section 1, and between its cathode and ground; 0 where nothing stands.
double plate_load_ohm(const Design&);
double cathode_ohm(const Design&);

}  // namespace antiphase
