/// What a meter reads in a build: voltages at rest and levels at full drive.
#pragma once

#include <span>

#include "objectives/figures/figure.h"

namespace antiphase {

/// Described as figures are; `says` tells between which points the meter stands. Direct voltages are against
/// signal ground, levels are peaks. Empty where the circuit has no such point.
std::span<const Figure> readings();
/// The first so many of readings() are at rest, the others at the drive for the target.
std::size_t readings_at_rest();

}  // namespace antiphase
