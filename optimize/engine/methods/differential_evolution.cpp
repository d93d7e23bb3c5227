#include "optimize/engine/methods/differential_evolution.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include "optimize/engine/order.h"
#include "optimize/engine/random_numbers.h"
#include "optimize/engine/unit_cube.h"

namespace antiphase::engine {
namespace {

// Storn & Price advise 5 to 10 members per unknown; the lower end, because budgets are short.
constexpr int kMembersPerUnknown = 6;
constexpr int kFewestMembers = 12;
constexpr int kMostMembers = 80;
constexpr double kCrossover = 0.9;  // Storn & Price: high where unknowns depend on each other
constexpr double kScaleLow = 0.4, kScaleHigh = 0.9;  // their useful range for F, drawn per trial
constexpr double kLeaders = 0.15;                    // Zhang & Sanderson: 5 to 20 % of the population lead
constexpr double kShrunk = 1e-9;                     // of the unit cube: below any part's step by far

struct Member {
  std::vector<double> u;
  Judged judged;
};

/// Latin hypercube: on each axis every one of `count` equal strips holds one point.
std::vector<std::vector<double>> latin_hypercube(int count, int size, RandomNumbers& random) {
  std::vector<std::vector<double>> points(count, std::vector<double>(size));
  std::vector<int> strip(count);
  for (int axis = 0; axis < size; ++axis) {
    std::iota(strip.begin(), strip.end(), 0);
    for (int i = count - 1; i > 0; --i) std::swap(strip[i], strip[random.below(i + 1)]);
    for (int i = 0; i < count; ++i) points[i][axis] = (strip[i] + random.unit()) / count;
  }
  return points;
}

double reflected(double t) {
  if (t < 0) t = std::min(1.0, -t);
  if (t > 1) t = std::max(0.0, 2 - t);
  return t;
}

bool shrunk(const std::vector<Member>& members) {
  for (std::size_t axis = 0; axis < members[0].u.size(); ++axis) {
    double low = 1, high = 0;
    for (const Member& m : members) {
      low = std::min(low, m.u[axis]);
      high = std::max(high, m.u[axis]);
    }
    if (high - low > kShrunk) return false;
  }
  return true;
}

}  // namespace

Found differential_evolution(const MethodTask& task) {
  const UnitCube cube(*task.problem);
  Recorder recorder(*task.problem, task.evaluations, task.stop, task.seen);
  RandomNumbers random(task.seed);
  const int size = cube.size();
  const int count = size == 0 ? 1 : std::clamp(kMembersPerUnknown * size, kFewestMembers, kMostMembers);

  std::vector<Member> members;
  std::vector<double> x(task.problem->axes.size());
  const auto judge = [&](const std::vector<double>& u) {
    cube.to_x(u, x);
    return recorder.ask(x);
  };
  std::vector<std::vector<double>> first = latin_hypercube(count, size, random);
  for (std::size_t i = 0; i < std::min(task.starts.size(), first.size()); ++i)
    first[i] = cube.to_unit(task.starts[i]);
  for (const std::vector<double>& u : first)
    if (recorder.may_ask()) members.push_back({u, judge(u)});

  Ended ended = Ended::converged;
  if (size > 0 && static_cast<int>(members.size()) == count) {
    std::vector<int> rank(count);
    std::iota(rank.begin(), rank.end(), 0);
    std::vector<double> trial(size);
    while (recorder.may_ask() && !shrunk(members)) {
      std::stable_sort(rank.begin(), rank.end(),
                       [&](int a, int b) { return better(members[a].judged, members[b].judged); });
      const int leaders = std::max(2, static_cast<int>(kLeaders * count));
      // The whole generation is bred from the same parents, as published.
      std::vector<Member> next = members;
      for (int i = 0; i < count && recorder.may_ask(); ++i) {
        const int leader = rank[random.below(leaders)];
        int a = random.below(count - 1);
        if (a >= i) ++a;
        int b;
        do b = random.below(count);
        while (b == i || b == a);
        const double scale = kScaleLow + random.unit() * (kScaleHigh - kScaleLow);
        const int forced = random.below(size);  // at least one coordinate comes from the mutant
        for (int k = 0; k < size; ++k) {
          const double own = members[i].u[k];
          const bool cross = random.unit() < kCrossover || k == forced;
          trial[k] = cross ? reflected(own + scale * (members[leader].u[k] - own) +
                                       scale * (members[a].u[k] - members[b].u[k]))
                           : own;
        }
        const Judged judged = judge(trial);
        if (!better(members[i].judged, judged)) next[i] = {trial, judged};
      }
      members = std::move(next);
    }
  }

  Found found{recorder.ended(ended), recorder.best(), {}, recorder.evaluations()};
  for (const Member& m : members) found.finalists.push_back({cube.to_x(m.u), m.judged, 0});
  std::sort(found.finalists.begin(), found.finalists.end(),
            [](const Point& a, const Point& b) { return better(a, b); });
  return found;
}

}  // namespace antiphase::engine
