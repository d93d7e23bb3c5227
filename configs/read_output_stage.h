/// The block "output_stage" that designs and briefs share.
#pragma once

#include "configs/object_reader.h"
#include "configs/tube_library.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// Reads the member "output_stage" of `in`, if it is there, and puts into the design what follows from it:
/// the output valve and its bias, and the swing that its watts take. Reported: what is wrong with it, a card
/// without a law, and watts that the pair cannot give. Without it the design stays as it is.
void read_output_stage(ObjectReader& in, const TubeLibrary& library, Design& design);

/// True for members of "feedback" that follow from an output stage and then must not be given.
bool follows_from_output_stage(const DesignField& field, const Design& design);
/// Why such a member is wrong.
extern const std::string kFollowsFromOutputStage;

/// Once feedback has been read: its output stage is the one described.
void feedback_of_output_stage(Design& design);

}  // namespace antiphase
