#include "results/plots/nice_steps.h"

#include <cmath>
#include <initializer_list>

namespace antiphase {

double nice_above(double x) {
  const double decade = std::pow(10.0, std::floor(std::log10(x)));
  for (double step : {1.0, 2.0, 5.0})
    if (step * decade >= x * (1 - 1e-9)) return step * decade;
  return 10 * decade;
}

}  // namespace antiphase
