/// All feasible points that no other one dominates.
#pragma once

#include <array>
#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// The members depend only on the set of points offered, not on their order. Of points with equal
/// objectives the first by better() stays. Not bounded: spread_out() thins what is given away.
/// Members are held in blocks of neighbours with the box around each, so that most blocks are passed over
/// unopened (the idea of Jaszkiewicz & Lust, "ND-Tree-based update", IEEE Trans. Evol. Comput. 22 (2018)
/// 778-791, with one level).
class Archive {
 public:
  explicit Archive(int objectives) : objectives_(objectives) {}

  /// Offers a point and tells whether it is a member now. An infeasible one never is.
  bool insert(const Point& point);

  /// Tells whether some member is as good in every objective and better in one.
  bool dominated(const Judged& judged) const;

  int objectives() const { return objectives_; }
  bool empty() const { return blocks_.empty(); }
  std::size_t size() const;

  /// Gives all members, best first by better().
  std::vector<Point> members() const;

 private:
  using Corner = std::array<double, kMaxObjectives>;
  struct Block {
    std::vector<Point> points;  // never empty
    Corner low{}, high{};       // encloses them; need not be tight after a removal
  };

  void place(const Point& point);
  void split(std::size_t block);

  int objectives_;
  std::vector<Block> blocks_;
};

}  // namespace antiphase::engine
