/// Tubes that were read by themselves, put into a design or a brief.
#pragma once

#include "configs/brief.h"
#include "configs/tube_library.h"
#include "configs/tube_readings.h"
#include "results/report.h"

namespace antiphase {

/// What came of the files: what was told of each tube, and how sure that is, as tolerances of its sections.
struct OwnTubes {
  std::vector<OwnTubeRecord> told;
  std::vector<Tolerances::Known> known;
};

/// Each file's sections take the place of those of the type in the design, under the law that the design is
/// solved with; what a design says of its sections itself gives way. tolerances: the scatter of the type
/// before the readings. Errors: another type stands there, or no tube at all; currents that no such tube
/// draws; two files for one place.
OrErrors<OwnTubes> put_own_tubes(const std::vector<TubeReadingsFile>&, const TubeLibrary&,
                                 const Tolerances& tolerances, Design&);

/// The same for a search, which then is one with this tube: other types of that place are left out.
OrErrors<OwnTubes> put_own_tubes(const std::vector<TubeReadingsFile>&, const TubeLibrary&,
                                 const Tolerances& tolerances, DesignSpace&);

}  // namespace antiphase
