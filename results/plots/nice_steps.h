/// Steps for the axes of plots and tables.
#pragma once

namespace antiphase {

/// 1, 2 or 5 times a power of ten, not below `x` > 0.
double nice_above(double x);

}  // namespace antiphase
