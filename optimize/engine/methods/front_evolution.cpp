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
constexpr int kIdle = 2000;               // children in a row that were known: the end
constexpr double kFade = 0.995;           // memory of a move's success
constexpr double kLeastShare = 0.06;      // of each move
constexpr double kSbxIndex = 15;          // Deb & Agrawal: 2 wide ... 20 narrow
constexpr double kSlant = 0.05;           // of the sum, beside the largest fall
constexpr int kScan = 6;                  // places along an axis
constexpr int kOutside = 24;              // points outside the limits that are kept
constexpr double kBridgeShare = 0.15;     // of the judgements
constexpr int kBeforeBridges = 400;       // judgements
constexpr int kBridgesWhole = 2500;       // judgements, from which on that share is whole
constexpr int kBridgeGenerations = 40, kVainGenerations = 4;
constexpr double kSameGap = 0.02;       // of the front's width
constexpr double kFarAbove = 1e9;       // places outside the limits stand above all inside
constexpr double kSmallestStep = 1e-5;  // of the unit cube

enum Move { difference, crossover, step, borrow, repeat, inward, descent, slope, scan, moves };

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
      const double made = recorder_.evaluations();
      if (made > kBeforeBridges && bridging_ < kBridgeShare * made * std::min(1.0, made / kBridgesWhole)) {
        const int before = recorder_.evaluations();
        bridge();
        bridging_ += std::max(1, recorder_.evaluations() - before);
      }
      const int move = draw_move();
      const std::size_t parent = tournament();
      if (move >= descent) {
        const int before = recorder_.evaluations();
        const int stays = go_down(members_[parent], move);
        const int asked = recorder_.evaluations() - before;
        idle = asked > 0 ? 0 : idle + 1;
        const double fade = std::pow(kFade, asked);
        won_[move] = fade * won_[move] + stays;
        tried_[move] = fade * tried_[move] + std::max(1, asked);
        continue;
      }
      if (move == inward && outside_.empty()) {
        ++tried_[move];
        continue;
      }
      const std::vector<double> from =
          move == inward ? outside_[dice_.below(static_cast<int>(outside_.size()))].u : members_[parent].u;
      std::vector<double> u = child(move, parent, from);
      snap(u, from);
      std::vector<double> by(u.size());
      for (std::size_t k = 0; k < u.size(); ++k) by[k] = u[k] - from[k];
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

  /// Goes down from a member along lines, each through the best point so far: a step both ways, then the
  /// best place of parabolas through the three judgements; or places all along an axis. Better is less
  /// violation, then what brings all objectives down in random proportion (Pascoletti & Serafini) or, one
  /// time in three, their weighted sum: that leads on along the front and past its ends. Gives how
  /// many of the children stayed.
  int go_down(Member at, int move) {
    std::array<double, kMaxObjectives> per{};
    const bool weighted = move == slope || (move == scan && dice_.below(3) == 0);
    for (int o = 0; o < n_; ++o)
      per[o] = weighted ? -std::log(1 - dice_.unit()) / width_[o] : 1 / (width_[o] * (0.1 + dice_.unit()));
    const Judged origin = at.judged;
    const auto height = [&](const std::array<double, kMaxObjectives>& f) {
      double most = -std::numeric_limits<double>::infinity(), sum = 0;
      for (int o = 0; o < n_; ++o) {
        const double by = (f[o] - origin.objective[o]) * per[o];
        most = std::max(most, by);
        sum += by;
      }
      return weighted ? sum : most + kSlant * sum;
    };
    const auto lower = [&](const Judged& a, const Judged& b) {
      if (a.feasible() != b.feasible()) return a.feasible();
      if (!a.feasible()) return a.violation < b.violation;
      return height(a.objective) < height(b.objective);
    };
    int stays = 0;
    const auto look = [&](std::vector<double> u, Judged& judged) {
      snap(u, {});
      std::vector<double> by(u.size());
      for (std::size_t k = 0; k < u.size(); ++k) by[k] = u[k] - at.u[k];
      stays += offer(u, by, &judged) == stayed;
      return last_known_judged_;
    };
    const auto take = [&](std::vector<double> u, const Judged& judged) {
      snap(u, {});
      if (!lower(judged, at.judged)) return false;
      at.u = std::move(u);
      at.judged = judged;
      return true;
    };
    std::vector<int> axes(at.u.size());
    std::iota(axes.begin(), axes.end(), 0);
    for (std::size_t i = axes.size() - 1; i > 0; --i)
      std::swap(axes[i], axes[dice_.below(static_cast<int>(i) + 1)]);
    const double window = dice_.below(3) == 0 ? 1 : std::pow(0.1, dice_.unit());
    const double usual = std::pow(1e-3, dice_.unit()) / 2;
    for (const int axis : axes) {
      const std::size_t k = static_cast<std::size_t>(axis);
      if (!recorder_.may_ask()) break;
      if (move == scan) {
        const Member from = at;
        for (int i = 0; i < kScan; ++i) {
          std::vector<double> u = from.u;
          u[k] = window == 1 ? (i + dice_.unit()) / kScan
                             : from.u[k] + window * ((i + dice_.unit()) / kScan - 0.5);
          Judged judged;
          if (look(u, judged)) take(std::move(u), judged);
        }
        continue;
      }
      std::vector<double> along(at.u.size());
      if (members_.size() > 3 && dice_.below(3) == 0) {
        const bool near = dice_.below(2) == 0;
        const std::vector<double>&a = near ? at.u : members_[any()].u,
              &b = near ? nearest(at.u) : members_[any()].u;
        for (std::size_t i = 0; i < along.size(); ++i) along[i] = a[i] - b[i];
      } else {
        along[k] = levels_[k] > 0 ? std::max(usual, 1.0 / levels_[k]) : usual;
        if (dice_.below(2)) along[k] = -along[k];
      }
      const auto place = [&](const std::vector<double>& from, double t) {
        std::vector<double> u = from;
        for (std::size_t i = 0; i < u.size(); ++i) u[i] = std::clamp(u[i] + t * along[i], 0.0, 1.0);
        return u;
      };
      const Member from = at;
      std::array<double, 3> t{0, 1, -1};
      std::array<Judged, 3> judged{from.judged, {}, {}};
      std::vector<double> u = place(from.u, 1);
      if (u == from.u || !look(u, judged[1])) continue;
      const bool first = take(u, judged[1]);
      if (first) t[2] = 2;
      u = place(from.u, t[2]);
      if (u == at.u) continue;
      if (u == from.u) u = place(from.u, t[2] = 0.5);
      if (!look(u, judged[2])) continue;
      take(u, judged[2]);
      const double target = best_on_line(t, judged, height);
      u = place(from.u, target);
      if (u == at.u || u == from.u) continue;
      Judged last;
      if (look(u, last)) take(std::move(u), last);
    }
    return stays;
  }

  /// The member nearest to a place but not there; any one if there is none.
  const std::vector<double>& nearest(const std::vector<double>& u) {
    const std::vector<double>* found = &members_[any()].u;
    double least = std::numeric_limits<double>::infinity();
    for (const Member& m : members_) {
      double d = 0;
      for (std::size_t k = 0; k < u.size(); ++k) d += (m.u[k] - u[k]) * (m.u[k] - u[k]);
      if (d > 0 && d < least) least = d, found = &m.u;
    }
    return *found;
  }

  /// A search of its own, from nowhere, for something inside a gap of the front: differential evolution
  /// towards the corner that both of its edges just dominate, or past an end of the front.
  void bridge() {
    std::array<double, kMaxObjectives> corner{}, per{};
    if (!choose_gap(corner, per)) return;
    const auto height = [&](const Judged& j) {
      if (!j.feasible()) return kFarAbove + j.violation;
      double most = -std::numeric_limits<double>::infinity(), sum = 0;
      for (int o = 0; o < n_; ++o) {
        const double by = (j.objective[o] - corner[o]) * per[o];
        most = std::max(most, by);
        sum += by;
      }
      return most + kSlant * sum;
    };
    const int size = cube_.size(), count = std::clamp(4 * size, 12, 30);
    const int last = recorder_.evaluations() + std::min(recorder_.left(), kBridgeGenerations * count);
    const bool mixed = dice_.below(2) == 0;
    std::vector<std::vector<double>> places;
    std::vector<double> heights;
    const auto look = [&](std::vector<double> u, double& h) {
      snap(u, {});
      Judged judged;
      offer(u, {}, &judged);
      if (!last_known_judged_) return false;
      h = height(judged);
      return true;
    };
    for (int i = 0; i < count && recorder_.may_ask(); ++i) {
      std::vector<double> u(static_cast<std::size_t>(size));
      for (double& t : u) t = dice_.unit();
      if (mixed && i % 2) u = members_[any()].u;
      double h = kFarAbove * 2;
      if (mixed && i % 2)
        for (double& t : u) t = std::clamp(t + 0.02 * (dice_.unit() - 0.5), 0.0, 1.0);
      if (!look(u, h)) continue;
      places.push_back(std::move(u));
      heights.push_back(h);
    }
    const int live = static_cast<int>(places.size());
    if (live < 4) return;
    double lowest = *std::min_element(heights.begin(), heights.end());
    int vain = 0;  // generations
    while (recorder_.may_ask() && recorder_.evaluations() < last && vain < kVainGenerations) {
      bool news = false;
      for (int i = 0; i < live && recorder_.may_ask(); ++i) {
        int leader = dice_.below(live);
        for (int k = 0; k < 3; ++k)
          if (const int other = dice_.below(live); heights[other] < heights[leader]) leader = other;
        const std::vector<double>&a = places[dice_.below(live)], &b = places[dice_.below(live)];
        const double scale = 0.4 + 0.5 * dice_.unit();
        const bool pull = dice_.below(2) == 0;
        const std::size_t forced = static_cast<std::size_t>(dice_.below(size));
        std::vector<double> u = places[i];
        for (std::size_t k = 0; k < u.size(); ++k)
          if (k == forced || dice_.unit() < 0.9)
            u[k] += (pull ? scale * (places[leader][k] - u[k]) : 0.0) + scale * (a[k] - b[k]);
        snap(u, {});
        double h = 0;
        if (!look(u, h)) continue;
        news = true;
        if (h <= heights[i]) places[i] = std::move(u), heights[i] = h;
      }
      if (!news) break;
      const double now = *std::min_element(heights.begin(), heights.end());
      vain = now < lowest ? 0 : vain + 1;
      lowest = now;
    }
  }

  /// The widest gap between neighbours of the front along one objective, those tried before held smaller;
  /// one time in four an end.
  bool choose_gap(std::array<double, kMaxObjectives>& corner, std::array<double, kMaxObjectives>& per) {
    std::vector<const Member*> front;
    for (const Member& m : members_)
      if (m.dominators == 0 && m.judged.feasible()) front.push_back(&m);
    for (int o = 0; o < n_; ++o) per[o] = 1 / width_[o];
    const std::size_t along = static_cast<std::size_t>(dice_.below(n_));
    if (front.size() < 2 || dice_.below(4) == 0) {
      for (int o = 0; o < n_; ++o) {
        corner[o] = 0;
        if (o != static_cast<int>(along)) per[o] *= 1e-3;
      }
      return true;
    }
    std::stable_sort(front.begin(), front.end(), [&](const Member* a, const Member* b) {
      return a->judged.objective[along] < b->judged.objective[along];
    });
    double widest = 0;
    for (std::size_t i = 0; i + 1 < front.size(); ++i) {
      double volume = 1;
      std::array<double, kMaxObjectives> top{};
      for (int o = 0; o < n_; ++o) {
        const double a = front[i]->judged.objective[o], b = front[i + 1]->judged.objective[o];
        top[o] = std::max(a, b);
        volume *= std::abs(a - b) / width_[o] + 1e-6;
      }
      int tries = 0;
      for (const std::array<double, kMaxObjectives>& past : bridged_) {
        double far = 0;
        for (int o = 0; o < n_; ++o) far = std::max(far, std::abs(past[o] - top[o]) / width_[o]);
        tries += far < kSameGap;
      }
      volume /= (1 + tries) * (1 + tries);
      if (volume > widest) widest = volume, corner = top;
    }
    bridged_.push_back(corner);
    return widest > 0;
  }

  /// Where parabolas through three judgements are lowest, among places no further than four steps.
  template <class Height>
  double best_on_line(const std::array<double, 3>& t, const std::array<Judged, 3>& judged,
                      const Height& height) {
    const auto at = [&](double a, double b, double c, double s) {
      const double up = (b - a) / t[1], down = (c - a) / t[2], second = (up - down) / (t[1] - t[2]);
      return a + s * (up + second * (s - t[1]));
    };
    const bool inside = judged[0].feasible();
    double from = -4, to = 4;
    if (inside)  // not beyond a place that breaks limits
      for (int i = 1; i < 3; ++i)
        if (!judged[i].feasible())
          (t[i] > 0 ? to : from) = t[i] > 0 ? std::min(to, t[i]) : std::max(from, t[i]);
    double best = 0, least = std::numeric_limits<double>::infinity();
    const int cuts = 32;
    for (int i = 0; i <= cuts; ++i) {
      const double s = from + (to - from) * (i + dice_.unit()) / (cuts + 1);
      double value = 0;
      if (inside) {
        std::array<double, kMaxObjectives> f{};
        for (int o = 0; o < n_; ++o)
          f[o] = at(judged[0].objective[o], judged[1].objective[o], judged[2].objective[o], s);
        value = height(f);
      } else {
        value = std::abs(at(judged[0].violation, judged[1].violation, judged[2].violation, s));
      }
      if (value < least) least = value, best = s;
    }
    return best;
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

  std::vector<double> child(int move, std::size_t parent, const std::vector<double>& from) {
    std::vector<double> u = from;
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
      case inward: {  // between a point outside the limits and one inside, or near the first
        const int how = dice_.below(3);
        const std::vector<double>& other = members_[parent].u;
        const double t = dice_.unit();
        if (how == 0) {
          for (std::size_t k = 0; k < size; ++k) u[k] += t * (other[k] - u[k]);
        } else if (how == 1) {
          const std::vector<double>&a = outside_[dice_.below(static_cast<int>(outside_.size()))].u,
                &b = members_[any()].u;
          for (std::size_t k = 0; k < size; ++k) u[k] += t * (a[k] - b[k]);
        } else {
          nudge(u);
          if (dice_.below(2)) nudge(u);
        }
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
    if (!judged->feasible()) keep_outside({u, {}, *judged, 0, 0});
    const bool in = enter({std::move(u), std::move(by), *judged, 0, 0});
    return in ? stayed : from_memory ? known : went;
  }

  /// A point outside the limits is kept if its objectives would be news inside them and no other one is
  /// better in both respects. (Ray, Singh, Isaacs & Smith, in Constraint-Handling in Evolutionary
  /// Optimization (2009), 145-165: the infeasible with little violation lead to edges.)
  void keep_outside(Member fresh) {
    const auto no_worse = [&](const Judged& a, const Judged& b) {
      for (int o = 0; o < n_; ++o)
        if (a.objective[o] > b.objective[o]) return false;
      return a.violation <= b.violation;
    };
    for (const Member& m : outside_)
      if (no_worse(m.judged, fresh.judged)) return;
    for (const Member& m : members_)
      if (m.judged.feasible() && no_worse(m.judged, fresh.judged)) return;
    std::erase_if(outside_, [&](const Member& m) { return no_worse(fresh.judged, m.judged); });
    outside_.push_back(std::move(fresh));
    if (outside_.size() <= static_cast<std::size_t>(kOutside)) return;
    std::erase_if(outside_, [&](const Member& o) {
      return std::any_of(members_.begin(), members_.end(), [&](const Member& m) {
        return m.judged.feasible() && no_worse(m.judged, o.judged);
      });
    });
    if (outside_.size() <= static_cast<std::size_t>(kOutside)) return;
    std::size_t one = 0, two = 1;  // of the nearest two the one with more violation goes
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < outside_.size(); ++i)
      for (std::size_t j = 0; j < i; ++j) {
        double d = 0;
        for (int o = 0; o < n_; ++o) {
          const double t = (outside_[i].judged.objective[o] - outside_[j].judged.objective[o]) / width_[o];
          d += t * t;
        }
        if (d < least) least = d, one = i, two = j;
      }
    const std::size_t gone = outside_[one].judged.violation > outside_[two].judged.violation ? one : two;
    outside_.erase(outside_.begin() + static_cast<std::ptrdiff_t>(gone));
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
  std::vector<Member> members_, outside_;
  std::set<std::vector<double>> asked_;
  std::array<double, moves> won_{}, tried_{};
  std::vector<std::array<double, kMaxObjectives>> bridged_;
  int bridging_ = 0;                            // judgements that bridges took
  bool last_known_judged_ = false;              // the last offer was judged or known
  std::array<double, kMaxObjectives> width_{};  // of the front in the population
  bool judged_any_ = false;                     // something was judged
};

}  // namespace

FrontFound front_evolution(const FrontTask& task) {
  return Evolution(task).run();
}

}  // namespace antiphase::engine
