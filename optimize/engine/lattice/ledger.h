/// Every lattice point that was judged, with its judgement: nothing is judged twice.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "optimize/engine/lattice/levels.h"
#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// A hash table in flat arrays. Entries are numbered in the order of their arrival; the numbers stay.
/// Memory: 2 #axes + 8 (2 + #objectives) + 8 bytes or so per entry.
class Ledger {
 public:
  Ledger() = default;
  explicit Ledger(const Problem& lattice);

  /// The number of the entry that has a point; -1 if there is none.
  int find(std::span<const int> levels) const;

  /// Adds a point and gives the number of its entry. A point that is in already changes nothing.
  int add(std::span<const int> levels, const Judged& judged);

  /// Adds all entries of `other`, which is of the same lattice, in their order.
  void add_all(const Ledger& other);

  int size() const { return size_; }
  Levels levels(int entry) const;
  Judged judged(int entry) const;

 private:
  std::uint64_t hash(std::span<const int> levels) const;
  bool has_levels(int entry, std::span<const int> levels) const;
  void grow();

  int axes_ = 0, objectives_ = 0, size_ = 0;
  std::vector<std::uint16_t> levels_;  // #entries x #axes
  std::vector<double> values_;         // #entries x (cost, violation, objectives)
  std::vector<std::int32_t> slots_;    // entry or -1; a power of two of them, at most half in use
};

}  // namespace antiphase::engine
