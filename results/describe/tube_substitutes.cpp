#include "results/describe/tube_substitutes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>

#include "results/describe/tube_points.h"
#include "results/text/write_quantity.h"
#include "stagemodels/tubes/fit.h"

namespace antiphase {
namespace {

constexpr double kSameVoltage = 0.01;         // of a heater: a nominal value and the same one in other words
constexpr double kMuchMoreCapacitance = 1.2;  // shifts a corner by more than parts of 5 % do

std::string instead(const std::string& what, double value, double asked, const char* unit) {
  return what + " " + engineering_text(value, unit) + " instead of " + engineering_text(asked, unit);
}

std::string in_words(const TubeBase& base) {
  return base.socket + (base.basing.empty() ? "" : " " + base.basing);
}

/// Empty if the one can be plugged in for the other.
std::string what_has_to_change(const Tube& asked, const Tube& tube) {
  if (!asked.base || !tube.base)
    return std::string("no pins on the card of the ") + (tube.base ? asked.name : tube.name);
  switch (match(*asked.base, *tube.base)) {
    case BaseMatch::other:
      return asked.base->socket == tube.base->socket ? "other pins, " + in_words(*tube.base)
                                                     : in_words(*tube.base);
    case BaseMatch::heater_differs:
      return "heater pins";
    case BaseMatch::same:
      break;
  }
  if (asked.sections != tube.sections) return "another number of sections";
  if (std::abs(tube.heater.volt_v - asked.heater.volt_v) > kSameVoltage * asked.heater.volt_v)
    return "heater voltage " + engineering_text(tube.heater.volt_v, "V");
  return {};
}

void characterise(Substitute& s, const PublishedPoint& rest) {
  FitObservation at;
  at.plate_v = rest.plate_v;
  at.at_current_a = *rest.plate_current_a;
  const auto value = [&](Characteristic what) {
    at.what = what;
    return characteristic_of(s.tube->law(), at);
  };
  s.mu = value(Characteristic::mu);
  s.gm_s = value(Characteristic::gm);
  s.rp_ohm = value(Characteristic::rp);
}

std::vector<std::string> broken_at(const Tube& tube, const PublishedPoint& rest) {
  std::vector<std::string> words;
  const auto check = [&](double value, const std::optional<Sourced>& most, const char* unit,
                         const char* what) {
    if (most && value > most->value)
      words.push_back(engineering_text(value, unit) + " is above its " + engineering_text(most->value, unit) +
                      " " + what);
  };
  const double current_a = *rest.plate_current_a;
  check(rest.plate_v, tube.ratings.plate_v_max, "V", "of plate voltage");
  check(rest.plate_v * current_a, tube.ratings.plate_w_max, "W", "of plate dissipation");
  check(current_a, tube.ratings.cathode_current_a_max, "A", "of cathode current");
  return words;
}

std::optional<double> distance(const Substitute& a, const Substitute& b) {
  double sum = 0;
  for (const auto& [x, y] :
       {std::pair(a.mu, b.mu), std::pair(a.gm_s, b.gm_s), std::pair(a.rp_ohm, b.rp_ohm)}) {
    if (!x || !y || !(*x > 0) || !(*y > 0)) return std::nullopt;
    sum += std::pow(std::log(*x / *y), 2);
  }
  return std::sqrt(sum);
}

std::vector<std::string> differences(const Tube& asked, const Tube& tube) {
  std::vector<std::string> words;
  if (tube.heater.current_a != asked.heater.current_a)
    words.push_back(instead("its heater takes", tube.heater.current_a, asked.heater.current_a, "A"));
  const std::vector<RatingRow> its = ratings_of(tube);
  for (const RatingRow& row : ratings_of(asked)) {
    const auto same =
        std::find_if(its.begin(), its.end(), [&](const RatingRow& r) { return r.key == row.key; });
    if (same != its.end() && same->rating->value < row.rating->value)
      words.push_back(instead(std::string(row.label) + " at most", same->rating->value, row.rating->value,
                              std::string(row.unit).c_str()));
  }
  const TubeCapacitances &c = tube.capacitance, &c0 = asked.capacitance;
  if (c.grid_plate_f > kMuchMoreCapacitance * c0.grid_plate_f)
    words.push_back(instead("grid to plate", c.grid_plate_f, c0.grid_plate_f, "F"));
  if (asked.base && tube.base && match(*asked.base, *tube.base) != BaseMatch::other)
    for (const int pin : shield_pins(*asked.base, *tube.base))
      words.push_back("pin " + std::to_string(pin) + " is a shield in one of the two and free in the other");
  return words;
}

bool comes_first(const Substitute& a, const Substitute& b) {
  const auto key = [](const Substitute& s) {
    return std::tuple(!s.ruled_out_by.empty(), !s.distance, s.distance.value_or(0), s.tube->name);
  };
  return key(a) < key(b);
}

}  // namespace

const char* const kSubstituteMeasure =
    "distance: square root of the summed squares of ln(mu ratio), ln(gm ratio) and ln(rp ratio), each tube "
    "by "
    "its first law at the same plate voltage and current; 0 is the same tube, 0.1 a tenth in one of the "
    "three";

Substitutes substitutes_for(const Tube& asked, const std::vector<const Tube*>& library) {
  Substitutes found;
  found.rest = typical_point(asked);
  found.asked.tube = &asked;
  found.asked.pin_compatible = true;
  if (found.rest) {
    characterise(found.asked, *found.rest);
    found.asked.distance = distance(found.asked, found.asked);
  }
  for (const Tube* tube : library) {
    if (tube->name == asked.name || tube->pentode.given) continue;
    Substitute s;
    s.tube = tube;
    s.to_change = what_has_to_change(asked, *tube);
    s.pin_compatible = s.to_change.empty();
    if (found.rest) {
      characterise(s, *found.rest);
      s.distance = distance(s, found.asked);
      s.ruled_out_by = broken_at(*tube, *found.rest);
    }
    s.differs = differences(asked, *tube);
    (s.pin_compatible ? found.pin_compatible : found.others).push_back(std::move(s));
  }
  std::sort(found.pin_compatible.begin(), found.pin_compatible.end(), comes_first);
  std::sort(found.others.begin(), found.others.end(), comes_first);
  return found;
}

}  // namespace antiphase
