/// Searches from nowhere into the widest gaps of a front and past its ends.
#pragma once

#include <array>
#include <vector>

#include "tests/rivals/front/judgements.h"

namespace antiphase::engine::rivals::front {

class GapSearch {
 public:
  /// All must outlive it.
  GapSearch(Judgements& judgements, const Population& population, Places& places, RandomNumbers& random)
      : judgements_(judgements), population_(population), places_(places), dice_(random) {}

  /// Whether gaps have had less than their share of the judgements.
  bool is_due() const;

  /// A search of its own for something inside a gap: differential evolution towards the corner that both of
  /// the gap's edges just dominate, or past an end of the front. Needs members.
  void run();

 private:
  using Corner = std::array<double, kMaxObjectives>;

  void bridge();
  bool choose_gap(Corner& corner, Corner& per);

  Judgements& judgements_;
  const Population& population_;
  Places& places_;
  RandomNumbers& dice_;
  std::vector<Corner> bridged_;  // gaps tried
  int spent_ = 0;                // judgements
};

}  // namespace antiphase::engine::rivals::front
