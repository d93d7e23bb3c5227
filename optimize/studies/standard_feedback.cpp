#include "optimize/studies/standard_feedback.h"

#include "optimize/engine/snapping/preferred_values.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/feedback.h"

namespace antiphase {

Design with_standard_feedback(Design design) {
  if (!has_feedback(design) || design.feedback.resistor_ohm > 0) return design;
  Evaluation e;
  evaluate(design, Depth::rest, e);
  if (e.operating_point.solved != Solved::yes) return design;
  if (const auto ohm = feedback_resistor(design, e.operating_point))
    design.feedback.resistor_ohm = engine::nearest(engine::Series::e24, *ohm);
  return design;
}

}  // namespace antiphase
