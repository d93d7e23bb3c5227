/// What has to stand beside every result that somebody may build.
#pragma once

#include <array>
#include <string_view>

namespace antiphase {

inline constexpr std::string_view kSafetyLine =
    "High voltage can kill. Build and test this only if you are competent to work on high voltage; "
    "discharge the capacitors and measure before you touch anything.";

inline constexpr std::array<std::string_view, 6> kSafetyNotes{
    "High voltage can kill. The supplies of these stages are far above any voltage that is safe to touch; "
    "only "
    "people who are competent to work on them should build or test one.",
    "Capacitors stay charged after switch-off, and some of the charge can come back after they were "
    "discharged. Fit bleeder resistors, discharge, and measure before you touch.",
    "Work with one hand, keep the other away from the chassis. Isolate the mains with a transformer, fuse "
    "it, "
    "earth the chassis, and never work on a live one.",
    "Before the tubes conduct, every plate and coupling capacitor stands at the full supply. Choose "
    "capacitors, "
    "wire and insulation for that.",
    "Local electrical codes and licensed practice come first, before anything written here.",
    "All figures are predicted, for typical tubes. They do not replace measuring what was built.",
};

}  // namespace antiphase
