/// The wishes of designers, listed once: name, place in Wishes and in a space of designs, and the part that a
/// wish is for. Which of them a circuit has, its Sizing says.
#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "objectives/design_space.h"
#include "stagemodels/members.h"
#include "stagemodels/sizing.h"

namespace antiphase {

struct WishRow {
  Wish wish{};
  std::string_view name;  ///< in briefs, and that of the figure that tells what came of it
  double Wishes::*member = nullptr;
  Range DesignSpace::*range = nullptr;
  bool logarithmic = true;
  const DesignField* part = nullptr;  ///< the member of a design that it gives as it is; null: none
  std::optional<Wish> times = {};     ///< it is a ratio: its part is so many times what this wish gives
};

/// In the order of Wish, which is also that of the axes of an ideal problem.
inline constexpr std::array kWishRows{
    WishRow{Wish::supply_v, "supply_v", &Wishes::supply_v, &DesignSpace::supply_v, false, &member::supply_v},
    WishRow{Wish::tail_fraction, "tail_fraction", &Wishes::tail_fraction, &DesignSpace::tail_fraction, false},
    WishRow{Wish::plate_current_a, "plate_current_a", &Wishes::plate_current_a,
            &DesignSpace::plate_current_a},
    WishRow{Wish::plate_ohm, "plate_ohm", &Wishes::plate_ohm, &DesignSpace::plate_ohm, true,
            &member::plate_ohm_0},
    WishRow{Wish::plate_ohm_ratio, "plate_ohm_ratio", &Wishes::plate_ohm_ratio, &DesignSpace::plate_ohm_ratio,
            true, &member::plate_ohm_1, Wish::plate_ohm},
    WishRow{Wish::first_plate_ohm, "first_plate_ohm", &Wishes::first_plate_ohm, &DesignSpace::first_plate_ohm,
            true, &member::first_stage_plate_ohm},
    WishRow{Wish::first_plate_current_a, "first_plate_current_a", &Wishes::first_plate_current_a,
            &DesignSpace::first_plate_current_a},
};

constexpr const WishRow& row_of(Wish wish) {
  return kWishRows[static_cast<std::size_t>(wish)];
}

/// True if a search is free to choose it: the circuit has the wish, and in these forms it does not follow
/// from the others.
inline bool is_free(Wish wish, const Design& base) {
  const CircuitWish* own = sizing_of(base.circuit).find(wish);
  return own && !(own->follows && own->follows(base));
}

}  // namespace antiphase
