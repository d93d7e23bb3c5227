#include "optimize/engine/pareto/archive.h"

#include <algorithm>
#include <utility>

#include "optimize/engine/order.h"
#include "optimize/engine/pareto/dominance.h"

namespace antiphase::engine {
namespace {

constexpr std::size_t kBlock = 64;  // members; 16 to 96 took the same time within a fifth

using Row = std::array<double, kMaxObjectives>;

bool nowhere_above(const Row& a, const Row& b, int objectives) {
  for (int k = 0; k < objectives; ++k)
    if (a[k] > b[k]) return false;
  return true;
}

}  // namespace

bool Archive::insert(const Point& point) {
  if (!point.judged.feasible()) return false;
  const Row& offered = point.judged.objective;
  for (Block& block : blocks_) {
    if (!nowhere_above(block.low, offered, objectives_)) continue;  // nobody in it is as good everywhere
    for (Point& member : block.points) {
      if (!nowhere_above(member.judged.objective, offered, objectives_)) continue;
      if (dominates(member.judged, point.judged, objectives_)) return false;
      if (!better(point, member)) return false;  // equal objectives
      member = point;
      return true;
    }
  }
  // A member from here on, so no other member's removal can be regretted.
  for (Block& block : blocks_)
    if (nowhere_above(offered, block.high, objectives_))
      std::erase_if(block.points,
                    [&](const Point& member) { return dominates(point.judged, member.judged, objectives_); });
  std::erase_if(blocks_, [](const Block& block) { return block.points.empty(); });
  place(point);
  return true;
}

bool Archive::dominated(const Judged& judged) const {
  for (const Block& block : blocks_) {
    if (!nowhere_above(block.low, judged.objective, objectives_)) continue;
    for (const Point& member : block.points)
      if (dominates(member.judged, judged, objectives_)) return true;
  }
  return false;
}

/// Into the block whose box grows least (by the sum of edges, each over the box's own size).
void Archive::place(const Point& point) {
  const Row& objective = point.judged.objective;
  std::size_t home = 0;
  double least = 0;
  for (std::size_t b = 0; b < blocks_.size(); ++b) {
    double growth = 0;
    for (int k = 0; k < objectives_; ++k) {
      const double outside =
          std::max({0.0, blocks_[b].low[k] - objective[k], objective[k] - blocks_[b].high[k]});
      if (outside > 0) growth += outside / (outside + blocks_[b].high[k] - blocks_[b].low[k]);
    }
    if (b == 0 || growth < least) {
      home = b;
      least = growth;
    }
  }
  if (blocks_.empty()) blocks_.push_back({{}, objective, objective});
  Block& block = blocks_[home];
  block.points.push_back(point);
  for (int k = 0; k < objectives_; ++k) {
    block.low[k] = std::min(block.low[k], objective[k]);
    block.high[k] = std::max(block.high[k], objective[k]);
  }
  if (block.points.size() > kBlock) split(home);
}

/// In two at the middle member along the objective in which the block is widest against the whole.
void Archive::split(std::size_t home) {
  Row low = blocks_[0].low, high = blocks_[0].high;
  for (const Block& block : blocks_)
    for (int k = 0; k < objectives_; ++k) {
      low[k] = std::min(low[k], block.low[k]);
      high[k] = std::max(high[k], block.high[k]);
    }
  int widest = 0;
  double most = -1;
  for (int k = 0; k < objectives_; ++k) {
    const double whole = high[k] - low[k];
    const double share = whole > 0 ? (blocks_[home].high[k] - blocks_[home].low[k]) / whole : 0;
    if (share > most) {
      most = share;
      widest = k;
    }
  }
  std::vector<Point> points = std::move(blocks_[home].points);
  const auto middle = points.begin() + static_cast<std::ptrdiff_t>(points.size() / 2);
  std::nth_element(points.begin(), middle, points.end(), [&](const Point& a, const Point& b) {
    return a.judged.objective[widest] < b.judged.objective[widest];
  });
  const auto block_of = [&](auto first, auto last) {
    Block block{{}, first->judged.objective, first->judged.objective};
    for (auto p = first; p != last; ++p) {
      for (int k = 0; k < objectives_; ++k) {
        block.low[k] = std::min(block.low[k], p->judged.objective[k]);
        block.high[k] = std::max(block.high[k], p->judged.objective[k]);
      }
      block.points.push_back(std::move(*p));
    }
    return block;
  };
  blocks_[home] = block_of(points.begin(), middle);
  blocks_.push_back(block_of(middle, points.end()));
}

std::size_t Archive::size() const {
  std::size_t count = 0;
  for (const Block& block : blocks_) count += block.points.size();
  return count;
}

std::vector<Point> Archive::members() const {
  std::vector<Point> all;
  for (const Block& block : blocks_) all.insert(all.end(), block.points.begin(), block.points.end());
  std::sort(all.begin(), all.end(), [](const Point& a, const Point& b) { return better(a, b); });
  return all;
}

}  // namespace antiphase::engine
