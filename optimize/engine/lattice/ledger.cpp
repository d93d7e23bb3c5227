#include "optimize/engine/lattice/ledger.h"

#include <algorithm>
#include <cassert>
#include <limits>
#include <utility>

#include "optimize/engine/task_seeds.h"

namespace antiphase::engine {

Ledger::Ledger(const Problem& lattice)
    : axes_(static_cast<int>(lattice.axes.size())), objectives_(lattice.objectives) {
  for ([[maybe_unused]] const Axis& axis : lattice.axes)
    assert(axis.levels.size() <= std::numeric_limits<std::uint16_t>::max());
}

std::uint64_t Ledger::hash(std::span<const int> levels) const {
  std::uint64_t h = 0;
  for (const int level : levels) h = split_mix(h + kSplitMixStep + static_cast<std::uint64_t>(level));
  return h;
}

bool Ledger::has_levels(int entry, std::span<const int> levels) const {
  const std::uint16_t* own = levels_.data() + static_cast<std::size_t>(entry) * axes_;
  for (int i = 0; i < axes_; ++i)
    if (own[i] != levels[i]) return false;
  return true;
}

int Ledger::find(std::span<const int> levels) const {
  if (size_ == 0) return -1;
  const std::size_t mask = slots_.size() - 1;
  for (std::size_t slot = hash(levels) & mask;; slot = (slot + 1) & mask) {
    if (slots_[slot] < 0) return -1;
    if (has_levels(slots_[slot], levels)) return slots_[slot];
  }
}

int Ledger::add(std::span<const int> levels, const Judged& judged) {
  assert(static_cast<int>(levels.size()) == axes_);
  if (2 * (static_cast<std::size_t>(size_) + 1) > slots_.size()) grow();
  const std::size_t mask = slots_.size() - 1;
  std::size_t slot = hash(levels) & mask;
  for (; slots_[slot] >= 0; slot = (slot + 1) & mask)
    if (has_levels(slots_[slot], levels)) return slots_[slot];
  slots_[slot] = size_;
  for (const int level : levels) levels_.push_back(static_cast<std::uint16_t>(level));
  values_.push_back(judged.cost);
  values_.push_back(judged.violation);
  values_.insert(values_.end(), judged.objective.begin(), judged.objective.begin() + objectives_);
  return size_++;
}

void Ledger::add_all(const Ledger& other) {
  assert(other.axes_ == axes_ && other.objectives_ == objectives_);
  for (int entry = 0; entry < other.size_; ++entry) add(other.levels(entry), other.judged(entry));
}

Levels Ledger::levels(int entry) const {
  const auto first = levels_.begin() + static_cast<std::ptrdiff_t>(entry) * axes_;
  return Levels(first, first + axes_);
}

Judged Ledger::judged(int entry) const {
  const double* own = values_.data() + static_cast<std::size_t>(entry) * (2 + objectives_);
  Judged judged{own[0], own[1], {}};
  for (int k = 0; k < objectives_; ++k) judged.objective[k] = own[2 + k];
  return judged;
}

void Ledger::grow() {
  std::vector<std::int32_t> wider(std::max<std::size_t>(64, slots_.size() * 2), -1);
  const std::size_t mask = wider.size() - 1;
  for (int entry = 0; entry < size_; ++entry) {
    std::size_t slot = hash(levels(entry)) & mask;
    while (wider[slot] >= 0) slot = (slot + 1) & mask;
    wider[slot] = entry;
  }
  slots_ = std::move(wider);
}

}  // namespace antiphase::engine
