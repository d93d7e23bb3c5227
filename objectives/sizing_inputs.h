/// The sizing inputs of designers, listed once: name, place in SizingInputs and in a space of designs, and
/// the part that a wish is for. Which of them a circuit has, its Sizing says.
#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "objectives/design_space.h"
#include "stagemodels/members.h"
#include "stagemodels/sizing.h"

namespace antiphase {

struct SizingInputRow {
  SizingInput input{};
  std::string_view name;  ///< in briefs, and that of the figure that tells what came of it
  double SizingInputs::*member = nullptr;
  Range DesignSpace::*range = nullptr;
  bool logarithmic = true;
  const DesignField* part = nullptr;      ///< the member of a design that it gives as it is; null: none
  std::optional<SizingInput> times = {};  ///< a ratio: its part is so many times what this one gives
};

/// In the order of SizingInput, which is also that of the axes of an ideal problem.
inline constexpr std::array kSizingInputRows{
    SizingInputRow{SizingInput::supply_v, "supply_v", &SizingInputs::supply_v, &DesignSpace::supply_v, false,
                   &member::supply_v},
    SizingInputRow{SizingInput::tail_fraction, "tail_fraction", &SizingInputs::tail_fraction,
                   &DesignSpace::tail_fraction, false},
    SizingInputRow{SizingInput::plate_current_a, "plate_current_a", &SizingInputs::plate_current_a,
                   &DesignSpace::plate_current_a},
    SizingInputRow{SizingInput::plate_ohm, "plate_ohm", &SizingInputs::plate_ohm, &DesignSpace::plate_ohm,
                   true, &member::plate_ohm_0},
    SizingInputRow{SizingInput::plate_ohm_ratio, "plate_ohm_ratio", &SizingInputs::plate_ohm_ratio,
                   &DesignSpace::plate_ohm_ratio, true, &member::plate_ohm_1, SizingInput::plate_ohm},
    SizingInputRow{SizingInput::first_plate_ohm, "first_plate_ohm", &SizingInputs::first_plate_ohm,
                   &DesignSpace::first_plate_ohm, true, &member::first_stage_plate_ohm},
    SizingInputRow{SizingInput::first_plate_current_a, "first_plate_current_a",
                   &SizingInputs::first_plate_current_a, &DesignSpace::first_plate_current_a},
};

constexpr const SizingInputRow& row_of(SizingInput input) {
  return kSizingInputRows[static_cast<std::size_t>(input)];
}

/// The sizing input with a name, or null.
constexpr const SizingInputRow* sizing_input_named(std::string_view name) {
  for (const SizingInputRow& row : kSizingInputRows)
    if (row.name == name) return &row;
  return nullptr;
}

/// The sizing input that gives a part as it is; null: the part follows from what the stage has to do at rest.
constexpr const SizingInputRow* row_that_gives(const DesignField& part) {
  for (const SizingInputRow& row : kSizingInputRows)
    if (row.part == &part) return &row;
  return nullptr;
}

/// True if a search is free to choose it: the circuit has the sizing input, and in these forms it does not
/// follow from the others.
inline bool is_free(SizingInput input, const Design& base) {
  const CircuitSizingInput* own = sizing_of(base.circuit).find(input);
  return own && !(own->follows && own->follows(base));
}

}  // namespace antiphase
