#include "optimize/studies/start/starting_values.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

/// Swing from which triodes of high amplification run out of plate voltage (common practice).
constexpr double kLargeSwing_v = 40;
constexpr std::array<std::string_view, 4> kTubesOfSmallSwings{"12AX7", "12AT7", "12AU7", "6SN7GT"};
constexpr std::array<std::string_view, 4> kTubesOfLargeSwings{"12AT7", "12AU7", "12BH7A", "6SN7GT"};

bool has_kind(const OutputValveCondition& c, bool cathode_bias) {
  return cathode_bias ? c.cathode_ohm.has_value() : c.bias_v.has_value();
}

std::string in_words(const OutputValveCondition& c) {
  return exactly(c.plate_v, "V") + ", " + c.connection + ", " +
         (c.bias_v ? "grids at " + exactly(*c.bias_v, "V")
                   : "cathode resistor of " + exactly(*c.cathode_ohm, "ohm")) +
         " (" + c.source + ")";
}

/// The bias that a condition stands for, and how it follows.
FactDefault bias_of(const OutputValve& valve, const OutputValveCondition& c) {
  const std::string card = "the card of the " + valve.name;
  if (c.bias_v) return {exactly(*c.bias_v, "V"), card + " has " + in_words(c)};
  for (const OutputValveCondition& fixed : valve.conditions)
    if (fixed.bias_v && fixed.connection == c.connection && fixed.plate_v == c.plate_v)
      return {exactly(*fixed.bias_v, "V"),
              card + " has no voltage for its " + in_words(c) +
                  "; this is its fixed bias at the same plate " +
                  "voltage. Put in what the cathode resistor makes in the amplifier"};
  if (!c.drive_grid_to_grid_peak_v) return {};
  return {exactly(-0.5 * *c.drive_grid_to_grid_peak_v, "V"),
          card + " has no voltage for its " + in_words(c) +
              "; derived: half of the published drive from grid to grid, which drives each grid to where it "
              "begins to conduct. At rest it is a little smaller: put in what the cathode resistor makes"};
}

}  // namespace

const OutputValveCondition* fitting_condition(const OutputValve& valve, bool cathode_bias, double supply_v) {
  const OutputValveCondition* best = nullptr;
  for (const OutputValveCondition& c : valve.conditions) {
    if (c.operating_class == "AB2" || !has_kind(c, cathode_bias)) continue;
    if (!best || std::abs(c.plate_v - supply_v) < std::abs(best->plate_v - supply_v)) best = &c;
  }
  return best;
}

FactDefault usual_supply(const KnownFacts& known, const TubeLibrary&) {
  if (known.pair->conditions.empty())
    return {"400 V", "the card of the " + known.pair->name + " has no condition; common practice"};
  const OutputValveCondition& c = known.pair->conditions.front();
  return {exactly(c.plate_v, "V"), "the plate voltage of the first condition on the card of the " +
                                       known.pair->name + ": " + in_words(c)};
}

FactDefault usual_bias(const KnownFacts& known, const TubeLibrary&) {
  const auto* fixed = fitting_condition(*known.pair, false, known.supply_v);
  const auto* cathode = fitting_condition(*known.pair, true, known.supply_v);
  const std::string card = "the card of the " + known.pair->name;
  if (!fixed && !cathode)
    return {std::string(kOutputBiasNames[0]),
            card + " has no condition; the stricter kind for the grid leak"};
  const bool nearer = cathode && (!fixed || std::abs(cathode->plate_v - known.supply_v) <=
                                                std::abs(fixed->plate_v - known.supply_v));
  return {std::string(kOutputBiasNames[nearer ? 1 : 0]),
          card + " has it for a plate voltage near the supply, " + in_words(nearer ? *cathode : *fixed)};
}

FactDefault usual_bias_v(const KnownFacts& known, const TubeLibrary&) {
  if (known.condition) return bias_of(*known.pair, *known.condition);
  const std::string card = "the card of the " + known.pair->name;
  const auto* other = fitting_condition(*known.pair, !known.cathode_bias, known.supply_v);
  FactDefault found = other ? bias_of(*known.pair, *other) : FactDefault{};
  if (found.text.empty()) return {"", card + " publishes no bias, so measure it or take it off a data sheet"};
  found.reason +=
      known.cathode_bias
          ? "; it has no condition with a cathode resistor, which would have to be this voltage over "
            "the cathode current at rest"
          : "; it has no condition with fixed bias";
  return found;
}

FactDefault usual_tubes(const KnownFacts& known, const TubeLibrary& library) {
  const bool large = std::abs(known.bias_v) > kLargeSwing_v;
  std::string text;
  for (const std::string_view name : large ? kTubesOfLargeSwings : kTubesOfSmallSwings)
    if (library.find(name)) text += (text.empty() ? "" : ", ") + std::string(name);
  if (text.empty() && !library.tubes().empty()) text = library.tubes().front().name;
  return {text,
          std::string("everyday double triodes ") +
              (large ? "that have the plate voltage for a large swing" : "from high to low amplification")};
}

}  // namespace antiphase
