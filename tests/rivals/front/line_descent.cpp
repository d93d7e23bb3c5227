#include "tests/rivals/front/line_descent.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "tests/rivals/front/height.h"

namespace antiphase::engine::rivals::front {
namespace {

constexpr int kScan = 6;   // places along an axis
constexpr int kCuts = 32;  // of a line, where its parabolas are looked at

using Heights = std::array<double, kMaxObjectives>;

class Descent {
 public:
  Descent(Member at, Move move, Judgements& judgements, const Population& population, Places& places,
          RandomNumbers& random)
      : at_(std::move(at)),
        scan_(move == scan),
        judgements_(judgements),
        population_(population),
        places_(places),
        dice_(random),
        origin_(at_.judged) {
    weighted_ = move == slope || (scan_ && dice_.below(3) == 0);
    for (int o = 0; o < population_.objectives(); ++o)
      per_[o] = weighted_ ? -std::log(1 - dice_.unit()) / population_.width(o)
                          : 1 / (population_.width(o) * (0.1 + dice_.unit()));
  }

  int run() {
    std::vector<std::size_t> axes(at_.u.size());
    std::iota(axes.begin(), axes.end(), std::size_t{0});
    for (std::size_t i = axes.size() - 1; i > 0; --i)
      std::swap(axes[i], axes[dice_.below(static_cast<int>(i) + 1)]);
    window_ = dice_.below(3) == 0 ? 1 : std::pow(0.1, dice_.unit());
    usual_ = std::pow(1e-3, dice_.unit()) / 2;
    for (const std::size_t axis : axes) {
      if (!judgements_.may_ask()) break;
      if (scan_)
        scan_axis(axis);
      else
        walk(direction(axis));
    }
    return stays_;
  }

 private:
  double height(const Heights& f) const {
    return weighted_ ? weighted_sum(f, origin_.objective, per_, population_.objectives())
                     : slanted_most(f, origin_.objective, per_, population_.objectives());
  }

  bool lower(const Judged& a, const Judged& b) const {
    if (a.feasible() != b.feasible()) return a.feasible();
    if (!a.feasible()) return a.violation < b.violation;
    return height(a.objective) < height(b.objective);
  }

  bool look(std::vector<double> u, Judged& judged) {
    places_.snap(u, {});
    std::vector<double> by(u.size());
    for (std::size_t k = 0; k < u.size(); ++k) by[k] = u[k] - at_.u[k];
    stays_ += judgements_.offer(std::move(u), std::move(by), &judged) == Verdict::stayed;
    return judgements_.answered();
  }

  bool take(std::vector<double> u, const Judged& judged) {
    places_.snap(u, {});
    if (!lower(judged, at_.judged)) return false;
    at_.u = std::move(u);
    at_.judged = judged;
    return true;
  }

  void scan_axis(std::size_t k) {
    const Member from = at_;
    for (int i = 0; i < kScan; ++i) {
      std::vector<double> u = from.u;
      u[k] = window_ == 1 ? (i + dice_.unit()) / kScan
                          : from.u[k] + window_ * ((i + dice_.unit()) / kScan - 0.5);
      Judged judged;
      if (look(u, judged)) take(std::move(u), judged);
    }
  }

  /// Along an axis, or between two members.
  std::vector<double> direction(std::size_t k) {
    std::vector<double> along(at_.u.size());
    if (population_.size() > 3 && dice_.below(3) == 0) {
      const bool near = dice_.below(2) == 0;
      const std::vector<double>&a = near ? at_.u : population_.any_place(dice_),
            &b = near ? population_.nearest(at_.u, dice_) : population_.any_place(dice_);
      for (std::size_t i = 0; i < along.size(); ++i) along[i] = a[i] - b[i];
    } else {
      along[k] = places_.levels(k) > 0 ? std::max(usual_, 1.0 / places_.levels(k)) : usual_;
      if (dice_.below(2)) along[k] = -along[k];
    }
    return along;
  }

  void walk(const std::vector<double>& along) {
    const auto place = [&](const std::vector<double>& from, double t) {
      std::vector<double> u = from;
      for (std::size_t i = 0; i < u.size(); ++i) u[i] = std::clamp(u[i] + t * along[i], 0.0, 1.0);
      return u;
    };
    const Member from = at_;
    std::array<double, 3> t{0, 1, -1};
    std::array<Judged, 3> judged{from.judged, {}, {}};
    std::vector<double> u = place(from.u, 1);
    if (u == from.u || !look(u, judged[1])) return;
    if (take(u, judged[1])) t[2] = 2;
    u = place(from.u, t[2]);
    if (u == at_.u) return;
    if (u == from.u) u = place(from.u, t[2] = 0.5);
    if (!look(u, judged[2])) return;
    take(u, judged[2]);
    u = place(from.u, best_on_line(t, judged));
    if (u == at_.u || u == from.u) return;
    Judged last;
    if (look(u, last)) take(std::move(u), last);
  }

  /// Where parabolas through three judgements are lowest, among places no further than four steps.
  double best_on_line(const std::array<double, 3>& t, const std::array<Judged, 3>& judged) {
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
    for (int i = 0; i <= kCuts; ++i) {
      const double s = from + (to - from) * (i + dice_.unit()) / (kCuts + 1);
      double value = 0;
      if (inside) {
        Heights f{};
        for (int o = 0; o < population_.objectives(); ++o)
          f[o] = at(judged[0].objective[o], judged[1].objective[o], judged[2].objective[o], s);
        value = height(f);
      } else {
        value = std::abs(at(judged[0].violation, judged[1].violation, judged[2].violation, s));
      }
      if (value < least) least = value, best = s;
    }
    return best;
  }

  Member at_;
  bool scan_, weighted_ = false;
  Judgements& judgements_;
  const Population& population_;
  Places& places_;
  RandomNumbers& dice_;
  Judged origin_;
  Heights per_{};
  double window_ = 1, usual_ = 0;  // of a scan; length of a step, both of the unit cube
  int stays_ = 0;
};

}  // namespace

int go_down(Member at, Move move, Judgements& judgements, const Population& population, Places& places,
            RandomNumbers& random) {
  return Descent(std::move(at), move, judgements, population, places, random).run();
}

}  // namespace antiphase::engine::rivals::front
