#include "optimize/studies/fit/own_card.h"

#include <limits>
#include <optional>

#include "configs/card_members.h"
#include "configs/object_reader.h"

namespace antiphase {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
constexpr double kUsualConduction_v = -0.6, kUsualSpread_pct = 15;
constexpr const char* kConductionSource =
    "default from common practice, not published for this type: inside the handbook range of the "
    "grid-current "
    "crossover, 0 to -1 V";
constexpr const char* kSpreadSource =
    "default from common practice, not measured for this type; handbook acceptance limits permit up to 30 %";

Sourced to_be_filled_in() {
  return {kUnknown, std::string(kToBeFilledIn)};
}

/// Marks sources of another type's card.
struct Taken {
  std::string from;
  void operator()(std::string& source) const {
    source = "taken over from the " + from + ", not published for this type: " + source;
  }
  void operator()(Sourced& s) const { (*this)(s.source); }
  void operator()(std::optional<Sourced>& s) const {
    if (s) (*this)(*s);
  }
};

void mark(TubeRatings& r, const Taken& taken) {
  taken(r.plate_v_max);
  taken(r.plate_cold_v_max);
  taken(r.plate_w_max);
  taken(r.plates_total_w_max);
  taken(r.cathode_current_a_max);
  taken(r.grid_v_negative_max);
  taken(r.heater_cathode_v_max_cathode_positive);
  taken(r.heater_cathode_v_max_cathode_negative);
  taken(r.heater_cathode_v_max_cathode_positive_dc);
  taken(r.grid_leak_ohm_max_fixed_bias);
  taken(r.grid_leak_ohm_max_self_bias);
}

Tube like_another(const Tube& fitted, const Tube& other) {
  const Taken taken{other.name};
  Tube t = other;
  t.name = fitted.name;
  t.also_known_as.clear();
  t.base.reset();
  t.models = fitted.models;
  t.published_points.clear();
  t.curve_files.clear();
  t.notes = "Ratings, heater, capacitances and spread are those of the " + other.name +
            "; put in those of the data sheet before anything is built.";
  mark(t.ratings, taken);
  taken(t.heater.source);
  taken(t.capacitance.source);
  taken(t.grid_conduction_v);
  if (t.grid_diode_source != kUsualGridCurrentSource) taken(t.grid_diode_source);
  taken(t.spread_source);
  return t;
}

}  // namespace

Tube own_card(const Tube& fitted, const Tube* like) {
  if (like) return like_another(fitted, *like);
  Tube t = fitted;
  const std::string source(kToBeFilledIn);
  t.ratings.plate_v_max = t.ratings.plate_w_max = to_be_filled_in();
  t.heater = {kUnknown, kUnknown, source};
  t.capacitance = {kUnknown, kUnknown, kUnknown, source};
  t.grid_conduction_v = {kUsualConduction_v, kConductionSource};
  t.grid_diode_source = kUsualGridCurrentSource;
  t.plate_current_spread_pct = kUsualSpread_pct;
  t.spread_source = kSpreadSource;
  return t;
}

std::string own_card_in_words(const std::string& tube, const Tube* like) {
  const std::string start = "there is no card of the " + tube + " yet: this one has its law, and ";
  if (like)
    return start + "ratings, heater and capacitances taken over from the " + like->name +
           ", each marked; put in those of its data sheet before anything is built";
  return start + "\"" + std::string(kToBeFilledIn) +
         "\" for what only its data sheet tells; --like 6CG7 takes that over from a tube of its kind";
}

}  // namespace antiphase
