#include "optimize/engine/lattice/enumerate.h"

#include <utility>

#include "optimize/engine/lattice/levels.h"

namespace antiphase::engine {

Enumerated enumerate(const Problem& lattice, int evaluations, const std::atomic<bool>* stop, Seen seen) {
  Enumerated all;
  all.fresh = Ledger(lattice);
  all.ended = Ended::converged;
  if (lattice_size(lattice) <= 0) return all;
  Recorder recorder(lattice, evaluations, stop, std::move(seen));
  Levels levels(lattice.axes.size(), 0);
  std::vector<double> x(levels.size());
  for (bool more = true; more;) {
    if (!recorder.may_ask()) {
      all.ended = recorder.ended(Ended::budget_spent);
      break;
    }
    values_of(lattice, levels, x);
    all.fresh.add(levels, recorder.ask(x));
    more = false;
    for (std::size_t i = levels.size(); i-- > 0 && !more;) {  // the last axis turns fastest
      more = ++levels[i] < static_cast<int>(lattice.axes[i].levels.size());
      if (!more) levels[i] = 0;
    }
  }
  all.evaluations = recorder.evaluations();
  return all;
}

}  // namespace antiphase::engine
