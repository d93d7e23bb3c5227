#include "tests/rivals/front_evolution.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <utility>

#include "tests/rivals/front/child_moves.h"
#include "tests/rivals/front/cube_places.h"
#include "tests/rivals/front/gap_search.h"
#include "tests/rivals/front/judgements.h"
#include "tests/rivals/front/line_descent.h"
#include "tests/rivals/front/population.h"

namespace antiphase::engine::rivals {
namespace {

using namespace front;

constexpr int kFirst = 40;            // random points to begin with
constexpr int kIdle = 2000;           // children in a row that were known: the end
constexpr double kFade = 0.995;       // memory of a move's success
constexpr double kLeastShare = 0.06;  // of each move

/// How often the children of each move stayed, what is long past counting less.
class MoveRecord {
 public:
  MoveRecord() {
    won_.fill(1);
    tried_.fill(2);
  }

  /// In proportion to that, none below its least share.
  Move draw(RandomNumbers& random) const {
    std::array<double, moves> share{};
    double sum = 0;
    for (int m = 0; m < moves; ++m) sum += share[m] = won_[m] / tried_[m];
    double total = 0;
    for (double& s : share) total += s = std::max(kLeastShare * sum, s);
    double at = random.unit() * total;
    for (int m = 0; m < moves; ++m)
      if ((at -= share[m]) < 0) return static_cast<Move>(m);
    return step;
  }

  void add(Move move, int stayed, int judgements) {
    const double fade = std::pow(kFade, judgements);
    won_[move] = fade * won_[move] + stayed;
    tried_[move] = fade * tried_[move] + std::max(1, judgements);
  }

  void add_vain(Move move) { ++tried_[move]; }

 private:
  std::array<double, moves> won_{}, tried_{};
};

class Evolution {
 public:
  explicit Evolution(const FrontTask& task)
      : task_(task),
        dice_(task.base.seed),
        places_(*task.base.problem, dice_),
        population_(task.base.problem->objectives),
        judgements_(task, places_, population_),
        gaps_(judgements_, population_, places_, dice_) {}

  FrontFound run() {
    for (const std::vector<double>& start : task_.base.starts)
      judgements_.offer(places_.cube().to_unit(start), {});
    if (places_.size() == 0) {
      if (!judgements_.any()) judgements_.offer({}, {});
      return judgements_.found();
    }
    scatter();
    int idle = 0;
    while (judgements_.may_ask() && idle < kIdle && !population_.empty()) {
      if (gaps_.is_due()) gaps_.run();
      const Move move = record_.draw(dice_);
      const std::size_t parent = population_.tournament(dice_);
      if (move == inward && population_.outside().empty())
        record_.add_vain(move);
      else if (move >= descent ? descend(move, parent) : breed(move, parent))
        idle = 0;
      else
        ++idle;
    }
    return judgements_.found();
  }

 private:
  void scatter() {
    const int count = std::min(kFirst, std::max(4, task_.base.evaluations / 10));
    std::vector<std::vector<double>> points(count, std::vector<double>(places_.size()));
    std::vector<int> strip(count);
    for (int axis = 0; axis < places_.size(); ++axis) {  // Latin hypercube
      std::iota(strip.begin(), strip.end(), 0);
      for (int i = count - 1; i > 0; --i) std::swap(strip[i], strip[dice_.below(i + 1)]);
      for (int i = 0; i < count; ++i) points[i][axis] = (strip[i] + dice_.unit()) / count;
    }
    for (std::vector<double>& u : points) {
      places_.snap(u, {});
      judgements_.offer(std::move(u), {});
    }
  }

  /// Both: whether anything new was judged.
  bool descend(Move move, std::size_t parent) {
    const int before = judgements_.made();
    const int stays = go_down(population_.members()[parent], move, judgements_, population_, places_, dice_);
    const int asked = judgements_.made() - before;
    record_.add(move, stays, asked);
    return asked > 0;
  }

  bool breed(Move move, std::size_t parent) {
    const std::vector<Member>& outside = population_.outside();
    const std::vector<double> from = move == inward ? outside[dice_.below(static_cast<int>(outside.size()))].u
                                                    : population_.members()[parent].u;
    std::vector<double> u = child(move, parent, from, population_, places_, dice_);
    places_.snap(u, from);
    std::vector<double> by(u.size());
    for (std::size_t k = 0; k < u.size(); ++k) by[k] = u[k] - from[k];
    const Verdict verdict = judgements_.offer(std::move(u), std::move(by));
    record_.add(move, verdict == Verdict::stayed, 1);
    return verdict != Verdict::known;
  }

  const FrontTask& task_;
  RandomNumbers dice_;
  Places places_;
  Population population_;
  Judgements judgements_;
  GapSearch gaps_;
  MoveRecord record_;
};

}  // namespace

FrontFound front_evolution(const FrontTask& task) {
  return Evolution(task).run();
}

}  // namespace antiphase::engine::rivals
