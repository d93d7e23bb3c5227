/// What people call the sections of a design.
#pragma once

#include <string>

#include "objectives/limits/limit.h"

namespace antiphase {

/// " of section 1", " of the first stage", " of driver 2"; empty for the whole stage. `section`:
/// LimitResult::section.
inline std::string of_section(int section) {
  if (section == 0) return "";
  if (section == section_number(kFirstStage)) return " of the first stage";
  if (section == section_number(kGainSecond)) return " of the first stage's second section";
  if (section >= section_number(kDriver)) return " of driver " + std::to_string(section - kDriver);
  return " of section " + std::to_string(section);
}
/// True of a section that is not the splitter's.
inline bool of_another_stage(int section) {
  return section >= section_number(kSplitterSections);
}
/// The same in few words: "1", "first", "first, 2nd", "driver 2".
inline std::string short_section(int section) {
  if (section == 0) return "";
  if (section == section_number(kFirstStage)) return "first";
  if (section == section_number(kGainSecond)) return "first, 2nd";
  if (section >= section_number(kDriver)) return "driver " + std::to_string(section - kDriver);
  return std::to_string(section);
}

}  // namespace antiphase
