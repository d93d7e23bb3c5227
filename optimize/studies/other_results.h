/// The best of other results, to be set beside that of this search.
#pragma once

#include <string>

#include "configs/tube_library.h"
#include "optimize/studies/trouble.h"
#include "results/report.h"
#include "stagemodels/design.h"

namespace antiphase {

struct OtherResults {
  std::string file, title;
  Design best;  ///< the first candidate
};

/// Reads the text of a candidates.json; `file` is only its name. Trouble: it is none, or has no candidates.
OrTrouble<OtherResults> other_results(const std::string& text, const std::string& file,
                                      const TubeLibrary& library);

/// The best of the report beside that of the others, both held against the demands of the report.
Against against(const OtherResults&, const Report&);

}  // namespace antiphase
