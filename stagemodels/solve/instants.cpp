#include "stagemodels/solve/instants.h"

#include <cassert>
#include <cmath>
#include <numbers>

namespace antiphase {

Instants make_instants(int intervals) {
  assert(intervals > kHarmonics && intervals < kMaxInstants);
  Instants table;
  table.count = intervals + 1;
  for (int k = 0; k <= intervals; ++k) {
    const auto at = static_cast<std::size_t>(k);
    const double phase = std::numbers::pi * k / intervals;
    const double share = (k == 0 || k == intervals ? 0.5 : 1.0) / intervals;
    table.cosine[at] = std::cos(phase);
    table.mean[at] = share;
    table.harmonic[0][at] = share;
    for (int h = 1; h <= kHarmonics; ++h)
      table.harmonic[static_cast<std::size_t>(h)][at] = 2 * share * std::cos(h * phase);
  }
  return table;
}

const Instants& cycle_instants(int count) {
  static const Instants usual = make_instants(kIntervals), fine = make_instants(kFineInstants - 1);
  return count == kFineInstants ? fine : usual;
}

const Instants& rest_instant() {
  static const Instants table = [] {
    Instants rest;
    rest.count = 1;
    rest.mean[0] = 1;
    rest.harmonic[0][0] = 1;
    return rest;
  }();
  return table;
}

}  // namespace antiphase
