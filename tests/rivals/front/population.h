/// The members that a front method breeds from, and the points just outside the limits that lead to edges.
#pragma once

#include <array>
#include <vector>

#include "optimize/engine/problem.h"
#include "optimize/engine/random_numbers.h"

namespace antiphase::engine::rivals::front {

struct Member {
  std::vector<double> u, born_by;  ///< place in the unit cube; the step from its parent, empty for none
  Judged judged;
  int dominators = 0;
  double room = 0;  ///< squared distance to the nearest other, on the common scale
};

/// Steady state: one comes in, the worst goes: first the one that most others dominate (limits by Deb's
/// rule), then the one nearest to another on the common scale.
class Population {
 public:
  explicit Population(int objectives);

  bool empty() const { return members_.empty(); }
  std::size_t size() const { return members_.size(); }
  const std::vector<Member>& members() const { return members_; }
  const std::vector<Member>& outside() const { return outside_; }
  int objectives() const { return n_; }

  /// Width of the undominated members along an objective; 1 where it has none.
  double width(int objective) const { return width_[objective]; }

  /// Takes a member in and sends the worst away; whether the new one stayed. The more judgements were made
  /// and the more members are undominated, the more there may be.
  bool enter(Member fresh, int judgements_made);

  /// A point outside the limits is kept if its objectives would be news inside them and no other one is
  /// better in both respects. (Ray, Singh, Isaacs & Smith, in Constraint-Handling in Evolutionary
  /// Optimization (2009), 145-165: the infeasible with little violation lead to edges.)
  void keep_outside(Member fresh);

  // Drawing: each needs a population that is not empty.
  int any(RandomNumbers& random) const { return random.below(static_cast<int>(members_.size())); }
  const std::vector<double>& any_place(RandomNumbers& random) const { return members_[any(random)].u; }

  /// Of two drawn ones the less dominated, then the one with more room.
  std::size_t tournament(RandomNumbers& random) const;

  /// The member nearest to a place but not there; a drawn one if there is none.
  const std::vector<double>& nearest(const std::vector<double>& u, RandomNumbers& random) const;

 private:
  bool no_worse(const Judged& a, const Judged& b) const;
  double distance(const Judged& a, const Judged& b) const;  ///< squared, on the common scale
  std::size_t find_worst();
  void measure_room();

  int n_;
  std::vector<Member> members_, outside_;
  std::array<double, kMaxObjectives> width_{};
};

}  // namespace antiphase::engine::rivals::front
