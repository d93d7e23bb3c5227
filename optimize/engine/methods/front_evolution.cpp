#include "optimize/engine/methods/front_evolution.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>
#include <utility>

#include "optimize/engine/dice.h"
#include "optimize/engine/lattice/levels.h"
#include "optimize/engine/order.h"
#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/pareto/dominance.h"
#include "optimize/engine/unit_cube.h"

namespace antiphase::engine {
namespace {

constexpr int kFewest = 12, kMost = 100;  // members
constexpr int kGrowth = 50;               // judgements for each further member
constexpr int kFirst = 40;                // random points to begin with
constexpr int kIdle = 400;                // children in a row that were known: the end
constexpr double kFade = 0.995;           // memory of a move's success
constexpr double kLeastShare = 0.06;      // of each move
constexpr double kSbxIndex = 15;          // Deb & Agrawal: 2 wide ... 20 narrow
constexpr double kSmallestStep = 1e-5;    // of the unit cube

enum Move { difference, crossover, step, borrow, repeat, parabola, moves };

struct Member {
  std::vector<double> u, born_by;  // born_by: the step from its parent; empty for none
  Judged judged;
  int dominators = 0;
  double room = 0;  // squared distance to the nearest other, on the common scale
};

bool beats(const Judged& a, const Judged& b, int objectives) {
  if (a.feasible() && b.feasible()) return dominates(a, b, objectives);
  if (a.feasible() != b.feasible()) return a.feasible();
  return a.violation < b.violation;
}

class Evolution {
 public:
  explicit Evolution(const FrontTask& task)
      : task_(task),
        problem_(*task.base.problem),
        n_(problem_.objectives),
        cube_(problem_),
        recorder_(problem_, task.base.evaluations, task.base.stop, task.base.seen),
        archive_(n_),
        dice_(task.base.seed),
        x_(problem_.axes.size()) {
    for (const Axis& axis : problem_.axes)
      if (axis.low < axis.high) levels_.push_back(static_cast<int>(axis.levels.size()));
    won_.fill(1);
    tried_.fill(2);
    width_.fill(1);
  }

  FrontFound run() {
    for (const std::vector<double>& start : task_.base.starts) offer(cube_.to_unit(start), {});
    if (cube_.size() == 0) {
      if (!judged_any_) offer({}, {});
      return found(Ended::converged);
    }
    scatter();
    int idle = 0;
    while (recorder_.may_ask() && idle < kIdle && members_.size() > 0) {
      const int move = draw_move();
      const std::size_t parent = tournament();
      if (move == parabola) {
        const int before = recorder_.evaluations();
        const int stays = along_axis(members_[parent]);
        const int asked = recorder_.evaluations() - before;
        idle = asked > 0 ? 0 : idle + 1;
        const double fade = std::pow(kFade, asked);
        won_[move] = fade * won_[move] + stays;
        tried_[move] = fade * tried_[move] + std::max(1, asked);
        continue;
      }
      std::vector<double> u = child(move, parent);
      snap(u, members_[parent].u);
      std::vector<double> by(u.size());
      for (std::size_t k = 0; k < u.size(); ++k) by[k] = u[k] - members_[parent].u[k];
      const Verdict verdict = offer(std::move(u), std::move(by));
      idle = verdict == known ? idle + 1 : 0;
      won_[move] = kFade * won_[move] + (verdict == stayed);
      tried_[move] = kFade * tried_[move] + 1;
    }
    return found(Ended::converged);
  }

 private:
  enum Verdict { known, went, stayed };

  FrontFound found(Ended otherwise) {
    return {recorder_.ended(otherwise), archive_.members(), recorder_.evaluations()};
  }

  void scatter() {
    const int count = std::min(kFirst, std::max(4, task_.base.evaluations / 10));
    std::vector<std::vector<double>> points(count, std::vector<double>(cube_.size()));
    std::vector<int> strip(count);
    for (int axis = 0; axis < cube_.size(); ++axis) {  // Latin hypercube
      std::iota(strip.begin(), strip.end(), 0);
      for (int i = count - 1; i > 0; --i) std::swap(strip[i], strip[dice_.below(i + 1)]);
      for (int i = 0; i < count; ++i) points[i][axis] = (strip[i] + dice_.unit()) / count;
    }
    for (std::vector<double>& u : points) {
      snap(u, {});
      offer(std::move(u), {});
    }
  }

  /// Where a continuous value stands on an axis with levels, and a step off `from` if nothing moved.
  void snap(std::vector<double>& u, const std::vector<double>& from) {
    for (std::size_t k = 0; k < u.size(); ++k) {
      u[k] = std::clamp(u[k], 0.0, 1.0);
      if (levels_[k] > 0) u[k] = centre(k, std::min(levels_[k] - 1, static_cast<int>(u[k] * levels_[k])));
    }
    if (u == from) nudge(u);
  }

  double centre(std::size_t k, int level) const { return (level + 0.5) / levels_[k]; }

  /// A step both ways on one axis, then the least of a weighted sum of parabolas through the three
  /// judgements. Gives how many of the children stayed.
  int along_axis(const Member from) {
    const std::size_t k = static_cast<std::size_t>(dice_.below(cube_.size()));
    double length = std::pow(1e-3, dice_.unit()) / 3;
    if (levels_[k] > 0) length = std::max(length, 1.0 / levels_[k]);
    std::array<double, 3> t{0, std::min(length, 1 - from.u[k]), -std::min(length, from.u[k])};
    if (t[1] < length / 2) t[1] = t[2] / 2;  // at a wall: both on the inner side
    if (t[2] > -length / 2) t[2] = t[1] / 2;
    std::array<Judged, 3> judged{from.judged, {}, {}};
    int stays = 0;
    for (int i = 1; i < 3; ++i) {
      std::vector<double> u = from.u, by(from.u.size());
      u[k] += t[i];
      snap(u, {});
      by[k] = t[i] = u[k] - from.u[k];
      stays += offer(std::move(u), std::move(by), &judged[i]) == stayed;
      if (!last_known_judged_) return stays;
    }
    if (t[1] == t[2] || t[1] == 0 || t[2] == 0) return stays;
    double slope = 0, bend = 0;
    const auto add = [&](double a, double b, double c, double weight) {
      const double up = (b - a) / t[1], down = (c - a) / t[2], second = (up - down) / (t[1] - t[2]);
      bend += weight * second;
      slope += weight * (up - second * t[1]);
    };
    if (!from.judged.feasible()) {
      add(judged[0].violation, judged[1].violation, judged[2].violation, 1);
    } else {
      for (int o = 0; o < n_; ++o) {
        const double weight = -std::log(1 - dice_.unit()) / width_[o];
        add(judged[0].objective[o], judged[1].objective[o], judged[2].objective[o], weight);
      }
    }
    const double at = bend > 0 ? -slope / (2 * bend) : (slope > 0 ? -3 : 3) * length;
    std::vector<double> u = from.u, by(from.u.size());
    u[k] += std::clamp(at, -4 * length, 4 * length);
    snap(u, {});
    by[k] = u[k] - from.u[k];
    return stays + (offer(std::move(u), std::move(by)) == stayed);
  }

  /// One axis by a step of random length, at least a level.
  void nudge(std::vector<double>& u) {
    const std::size_t k = static_cast<std::size_t>(dice_.below(cube_.size()));
    double length = std::pow(kSmallestStep, dice_.unit());
    if (dice_.below(2)) length = -length;
    if (levels_[k] > 0) {
      const int levels = static_cast<int>(std::round(length * length * std::copysign(levels_[k], length)));
      const int by = levels != 0 ? levels : (length > 0 ? 1 : -1);
      const int at = std::min(levels_[k] - 1, static_cast<int>(u[k] * levels_[k]));
      u[k] = centre(k, std::clamp(at + by, 0, levels_[k] - 1));
    } else {
      u[k] = std::clamp(u[k] + length, 0.0, 1.0);
    }
  }

  int draw_move() {
    std::array<double, moves> share{};
    double sum = 0;
    for (int m = 0; m < moves; ++m) sum += share[m] = won_[m] / tried_[m];
    double total = 0;
    for (double& s : share) total += s = std::max(kLeastShare * sum, s);
    double at = dice_.unit() * total;
    for (int m = 0; m < moves; ++m)
      if ((at -= share[m]) < 0) return m;
    return step;
  }

  int any() { return dice_.below(static_cast<int>(members_.size())); }

  std::size_t tournament() {
    const int a = any(), b = any();
    const Member &ma = members_[a], &mb = members_[b];
    if (ma.dominators != mb.dominators) return ma.dominators < mb.dominators ? a : b;
    return ma.room >= mb.room ? a : b;
  }

  std::vector<double> child(int move, std::size_t parent) {
    std::vector<double> u = members_[parent].u;
    const std::size_t size = u.size();
    switch (move) {
      case difference: {
        const std::vector<double>&a = members_[any()].u, &b = members_[any()].u;
        const double scale = 0.2 + 0.8 * dice_.unit();
        const double cross = dice_.below(2) ? 0.9 : 0.3;
        const std::size_t forced = static_cast<std::size_t>(dice_.below(cube_.size()));
        for (std::size_t k = 0; k < size; ++k)
          if (k == forced || dice_.unit() < cross) u[k] += scale * (a[k] - b[k]);
        break;
      }
      case crossover: {
        const std::vector<double>& mate = members_[any()].u;
        for (std::size_t k = 0; k < size; ++k) {
          if (dice_.below(2)) continue;
          const double t = dice_.unit();
          const double beta =
              t < 0.5 ? std::pow(2 * t, 1 / (kSbxIndex + 1)) : std::pow(0.5 / (1 - t), 1 / (kSbxIndex + 1));
          u[k] = 0.5 * ((1 + beta) * u[k] + (1 - beta) * mate[k]);
        }
        if (dice_.below(2)) nudge(u);
        break;
      }
      case step: {
        nudge(u);
        if (dice_.below(3) == 0) nudge(u);
        break;
      }
      case borrow: {
        const std::vector<double>& other = members_[any()].u;
        const std::size_t k = static_cast<std::size_t>(dice_.below(cube_.size()));
        const int how = dice_.below(8);
        if (how < 2)
          u[k] = dice_.below(2);  // a wall
        else if (how < 3)
          u[k] = dice_.unit();
        else if (how < 6)
          u[k] = other[k];
        else
          u[k] += other[k] - members_[any()].u[k];
        break;
      }
      default: {
        const std::vector<double>& by =
            members_[dice_.below(2) ? parent : static_cast<std::size_t>(any())].born_by;
        const double scale = 0.3 + 2 * dice_.unit();
        if (by.empty())
          nudge(u);
        else
          for (std::size_t k = 0; k < size; ++k) u[k] += scale * by[k];
      }
    }
    return u;
  }

  Verdict offer(std::vector<double> u, std::vector<double> by, Judged* told = nullptr) {
    last_known_judged_ = false;
    cube_.to_x(u, x_);
    if (!asked_.insert(x_).second) return known;  // by x: places a rounding apart are one point
    std::optional<Judged> judged;
    bool from_memory = false;
    if (task_.known) from_memory = (judged = task_.known(x_)).has_value();
    if (!judged) {
      if (!recorder_.may_ask()) return known;
      judged = recorder_.ask(x_);
    }
    judged_any_ = last_known_judged_ = true;
    if (told) *told = *judged;
    archive_.insert({x_, *judged, 0});
    const bool in = enter({std::move(u), std::move(by), *judged, 0, 0});
    return in ? stayed : from_memory ? known : went;
  }

  /// Takes a member in and sends the worst away; whether the new one stayed.
  bool enter(Member fresh) {
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
        std::clamp(2 * best, kFewest, std::min(kMost, kFewest + recorder_.evaluations() / kGrowth)));
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

  std::size_t find_worst() {
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
  void measure_room() {
    std::array<double, kMaxObjectives> low{}, high{};
    for (int k = 0; k < n_; ++k) {
      low[k] = std::numeric_limits<double>::infinity(), high[k] = -low[k];
      for (const Member& m : members_)
        if (m.dominators == 0) {
          low[k] = std::min(low[k], m.judged.objective[k]);
          high[k] = std::max(high[k], m.judged.objective[k]);
        }
    }
    for (int k = 0; k < n_; ++k) width_[k] = high[k] > low[k] ? high[k] - low[k] : 1;
    const double far = std::numeric_limits<double>::infinity();
    std::vector<double> second(members_.size(), far);
    for (Member& m : members_) m.room = far;
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
        double d = 0;
        for (int k = 0; k < n_; ++k) {
          const double t = (members_[i].judged.objective[k] - members_[j].judged.objective[k]) / width_[k];
          d += t * t;
        }
        take(i, d);
        take(j, d);
      }
    for (std::size_t i = 0; i < members_.size(); ++i) {
      Member& m = members_[i];
      m.room += 1e-6 * std::min(second[i], 1e3);
      for (int k = 0; k < n_ && m.dominators == 0; ++k)
        if (m.judged.objective[k] == low[k]) m.room = far;
    }
  }

  const FrontTask& task_;
  const Problem& problem_;
  int n_;
  UnitCube cube_;
  Recorder recorder_;
  Archive archive_;
  Dice dice_;
  std::vector<double> x_;
  std::vector<int> levels_;  // of the axes that move; 0: continuous
  std::vector<Member> members_;
  std::set<std::vector<double>> asked_;
  std::array<double, moves> won_{}, tried_{};
  bool last_known_judged_ = false;              // the last offer was judged or known
  std::array<double, kMaxObjectives> width_{};  // of the front in the population
  bool judged_any_ = false;                     // something was judged
};

}  // namespace

FrontFound front_evolution(const FrontTask& task) {
  return Evolution(task).run();
}

}  // namespace antiphase::engine
