#include "optimize/engine/ledger_queries.h"

#include <algorithm>
#include <iterator>
#include <numeric>
#include <tuple>

#include "optimize/engine/order.h"
#include "optimize/engine/task_seeds.h"

namespace antiphase::engine {

Point point_of(const Problem& lattice, const Ledger& ledger, int entry, int family) {
  Point point{std::vector<double>(lattice.axes.size()), ledger.judged(entry), family};
  values_of(lattice, ledger.levels(entry), point.x);
  return point;
}

std::vector<Point> best_of(const Problem& lattice, const Ledger& ledger, int family, int most) {
  std::vector<int> entries(ledger.size());
  std::iota(entries.begin(), entries.end(), 0);
  const std::size_t kept = std::min<std::size_t>(entries.size(), std::max(0, most));
  std::partial_sort(entries.begin(), entries.begin() + kept, entries.end(), [&](int a, int b) {
    const Judged ja = ledger.judged(a), jb = ledger.judged(b);
    if (better(ja, jb)) return true;
    if (better(jb, ja)) return false;
    return ledger.levels(a) < ledger.levels(b);  // the order of x: levels ascend
  });
  std::vector<Point> best;
  for (std::size_t i = 0; i < kept; ++i) best.push_back(point_of(lattice, ledger, entries[i], family));
  return best;
}

std::vector<SampleKey> uniform_sample(const Ledger& ledger, int family, int most) {
  std::vector<SampleKey> keys;
  for (int entry = 0; entry < ledger.size(); ++entry) {
    if (!ledger.judged(entry).feasible()) continue;
    std::uint64_t number = static_cast<std::uint64_t>(family);
    for (const int level : ledger.levels(entry))
      number = split_mix(number + kSplitMixStep + static_cast<std::uint64_t>(level));
    keys.push_back({number, family, entry});
  }
  std::sort(keys.begin(), keys.end(), [](const SampleKey& a, const SampleKey& b) {
    return std::tie(a.number, a.family) < std::tie(b.number, b.family);
  });
  if (std::ssize(keys) > std::max(0, most)) keys.resize(std::max(0, most));
  return keys;
}

}  // namespace antiphase::engine
