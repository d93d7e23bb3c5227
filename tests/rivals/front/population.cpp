#include "tests/rivals/front/population.h"

#include <algorithm>
#include <limits>
#include <utility>

#include "optimize/engine/pareto/dominance.h"

namespace antiphase::engine::rivals::front {
namespace {

constexpr int kFewest = 12, kMost = 100;  // members
constexpr int kGrowth = 50;               // judgements for each further member
constexpr int kOutside = 24;              // points outside the limits that are kept
constexpr double kWithoutEnd = std::numeric_limits<double>::infinity();

bool beats(const Judged& a, const Judged& b, int objectives) {
  if (a.feasible() && b.feasible()) return dominates(a, b, objectives);
  if (a.feasible() != b.feasible()) return a.feasible();
  return a.violation < b.violation;
}

}  // namespace

Population::Population(int objectives) : n_(objectives) {
  width_.fill(1);
}

bool Population::enter(Member fresh, int judgements_made) {
  for (const Member& m : members_) {
    if (m.judged.feasible() == fresh.judged.feasible() &&
        std::equal(m.judged.objective.begin(), m.judged.objective.begin() + n_,
                   fresh.judged.objective.begin()) &&
        m.judged.violation == fresh.judged.violation)
      return false;
    if (beats(m.judged, fresh.judged, n_)) ++fresh.dominators;
  }
  int best = fresh.dominators == 0;
  for (Member& m : members_) {
    if (beats(fresh.judged, m.judged, n_)) ++m.dominators;
    best += m.dominators == 0;
  }
  members_.push_back(std::move(fresh));
  const std::size_t room = static_cast<std::size_t>(
      std::clamp(2 * best, kFewest, std::min(kMost, kFewest + judgements_made / kGrowth)));
  if (members_.size() <= room) {
    measure_room();
    return true;
  }
  bool in = true;
  while (members_.size() > room) {
    const std::size_t worst = find_worst();
    in &= worst + 1 != members_.size();
    const Judged gone = members_[worst].judged;
    members_.erase(members_.begin() + static_cast<std::ptrdiff_t>(worst));
    for (Member& m : members_)
      if (beats(gone, m.judged, n_)) --m.dominators;
    if (!in) break;
  }
  return in;
}

bool Population::no_worse(const Judged& a, const Judged& b) const {
  for (int o = 0; o < n_; ++o)
    if (a.objective[o] > b.objective[o]) return false;
  return a.violation <= b.violation;
}

double Population::distance(const Judged& a, const Judged& b) const {
  double d = 0;
  for (int o = 0; o < n_; ++o) {
    const double t = (a.objective[o] - b.objective[o]) / width_[o];
    d += t * t;
  }
  return d;
}

void Population::keep_outside(Member fresh) {
  for (const Member& m : outside_)
    if (no_worse(m.judged, fresh.judged)) return;
  for (const Member& m : members_)
    if (m.judged.feasible() && no_worse(m.judged, fresh.judged)) return;
  std::erase_if(outside_, [&](const Member& m) { return no_worse(fresh.judged, m.judged); });
  outside_.push_back(std::move(fresh));
  if (outside_.size() <= static_cast<std::size_t>(kOutside)) return;
  std::erase_if(outside_, [&](const Member& o) {
    return std::any_of(members_.begin(), members_.end(),
                       [&](const Member& m) { return m.judged.feasible() && no_worse(m.judged, o.judged); });
  });
  if (outside_.size() <= static_cast<std::size_t>(kOutside)) return;
  std::size_t one = 0, two = 1;  // of the nearest two the one with more violation goes
  double least = kWithoutEnd;
  for (std::size_t i = 0; i < outside_.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (const double d = distance(outside_[i].judged, outside_[j].judged); d < least)
        least = d, one = i, two = j;
  const std::size_t gone = outside_[one].judged.violation > outside_[two].judged.violation ? one : two;
  outside_.erase(outside_.begin() + static_cast<std::ptrdiff_t>(gone));
}

std::size_t Population::tournament(RandomNumbers& random) const {
  const int a = any(random), b = any(random);
  const Member &ma = members_[a], &mb = members_[b];
  if (ma.dominators != mb.dominators) return ma.dominators < mb.dominators ? a : b;
  return ma.room >= mb.room ? a : b;
}

const std::vector<double>& Population::nearest(const std::vector<double>& u, RandomNumbers& random) const {
  const std::vector<double>* found = &any_place(random);
  double least = kWithoutEnd;
  for (const Member& m : members_) {
    double d = 0;
    for (std::size_t k = 0; k < u.size(); ++k) d += (m.u[k] - u[k]) * (m.u[k] - u[k]);
    if (d > 0 && d < least) least = d, found = &m.u;
  }
  return *found;
}

std::size_t Population::find_worst() {
  std::size_t worst = 0;
  for (std::size_t i = 1; i < members_.size(); ++i)
    if (members_[i].dominators > members_[worst].dominators) worst = i;
  if (members_[worst].dominators > 0) return worst;
  measure_room();
  for (std::size_t i = 1; i < members_.size(); ++i)
    if (members_[i].room < members_[worst].room) worst = i;
  return worst;
}

/// Extremes have room without end; of the closest two, one has less by its second neighbour.
void Population::measure_room() {
  std::array<double, kMaxObjectives> low{}, high{};
  for (int k = 0; k < n_; ++k) {
    low[k] = kWithoutEnd, high[k] = -low[k];
    for (const Member& m : members_)
      if (m.dominators == 0) {
        low[k] = std::min(low[k], m.judged.objective[k]);
        high[k] = std::max(high[k], m.judged.objective[k]);
      }
  }
  for (int k = 0; k < n_; ++k) width_[k] = high[k] > low[k] ? high[k] - low[k] : 1;
  std::vector<double> second(members_.size(), kWithoutEnd);
  for (Member& m : members_) m.room = kWithoutEnd;
  const auto take = [&](std::size_t i, double d) {
    if (d < members_[i].room) {
      second[i] = members_[i].room;
      members_[i].room = d;
    } else {
      second[i] = std::min(second[i], d);
    }
  };
  for (std::size_t i = 0; i < members_.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const double d = distance(members_[i].judged, members_[j].judged);
      take(i, d);
      take(j, d);
    }
  for (std::size_t i = 0; i < members_.size(); ++i) {
    Member& m = members_[i];
    m.room += 1e-6 * std::min(second[i], 1e3);
    for (int k = 0; k < n_ && m.dominators == 0; ++k)
      if (m.judged.objective[k] == low[k]) m.room = kWithoutEnd;
  }
}

}  // namespace antiphase::engine::rivals::front
