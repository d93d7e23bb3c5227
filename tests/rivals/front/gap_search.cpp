#include "tests/rivals/front/gap_search.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "tests/rivals/front/height.h"

namespace antiphase::engine::rivals::front {
namespace {

constexpr double kShare = 0.15;  // of the judgements
constexpr int kBefore = 400;     // judgements without any
constexpr int kWhole = 2500;     // judgements, from which on that share is whole
constexpr int kGenerations = 40, kVainGenerations = 4;
constexpr double kSameGap = 0.02;  // of the front's width
constexpr double kFarAbove = 1e9;  // places outside the limits stand above all inside

}  // namespace

bool GapSearch::is_due() const {
  const double made = judgements_.made();
  return made > kBefore && spent_ < kShare * made * std::min(1.0, made / kWhole);
}

void GapSearch::run() {
  const int before = judgements_.made();
  bridge();
  spent_ += std::max(1, judgements_.made() - before);
}

void GapSearch::bridge() {
  Corner corner{}, per{};
  if (!choose_gap(corner, per)) return;
  const int size = places_.size(), count = std::clamp(4 * size, 12, 30);
  const int last = judgements_.made() + std::min(judgements_.left(), kGenerations * count);
  const bool mixed = dice_.below(2) == 0;
  std::vector<std::vector<double>> places;
  std::vector<double> heights;
  const auto look = [&](std::vector<double> u, double& h) {
    places_.snap(u, {});
    Judged judged;
    judgements_.offer(std::move(u), {}, &judged);
    if (!judgements_.answered()) return false;
    h = judged.feasible() ? slanted_most(judged.objective, corner, per, population_.objectives())
                          : kFarAbove + judged.violation;
    return true;
  };
  for (int i = 0; i < count && judgements_.may_ask(); ++i) {
    std::vector<double> u(static_cast<std::size_t>(size));
    for (double& t : u) t = dice_.unit();
    if (mixed && i % 2) {
      u = population_.any_place(dice_);
      for (double& t : u) t = std::clamp(t + 0.02 * (dice_.unit() - 0.5), 0.0, 1.0);
    }
    double h = 0;
    if (!look(u, h)) continue;
    places.push_back(std::move(u));
    heights.push_back(h);
  }
  const int live = static_cast<int>(places.size());
  if (live < 4) return;
  double lowest = *std::min_element(heights.begin(), heights.end());
  int vain = 0;  // generations
  while (judgements_.may_ask() && judgements_.made() < last && vain < kVainGenerations) {
    bool news = false;
    for (int i = 0; i < live && judgements_.may_ask(); ++i) {
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
      places_.snap(u, {});
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
bool GapSearch::choose_gap(Corner& corner, Corner& per) {
  const int n = population_.objectives();
  std::vector<const Member*> front;
  for (const Member& m : population_.members())
    if (m.dominators == 0 && m.judged.feasible()) front.push_back(&m);
  for (int o = 0; o < n; ++o) per[o] = 1 / population_.width(o);
  const std::size_t along = static_cast<std::size_t>(dice_.below(n));
  if (front.size() < 2 || dice_.below(4) == 0) {
    for (int o = 0; o < n; ++o) {
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
    Corner top{};
    for (int o = 0; o < n; ++o) {
      const double a = front[i]->judged.objective[o], b = front[i + 1]->judged.objective[o];
      top[o] = std::max(a, b);
      volume *= std::abs(a - b) / population_.width(o) + 1e-6;
    }
    int tries = 0;
    for (const Corner& past : bridged_) {
      double far = 0;
      for (int o = 0; o < n; ++o) far = std::max(far, std::abs(past[o] - top[o]) / population_.width(o));
      tries += far < kSameGap;
    }
    volume /= (1 + tries) * (1 + tries);
    if (volume > widest) widest = volume, corner = top;
  }
  bridged_.push_back(corner);
  return widest > 0;
}

}  // namespace antiphase::engine::rivals::front
