#include "results/describe/part_values.h"

#include <cmath>
#include <numbers>

#include "results/text/write_quantity.h"
#include "stagemodels/linear/choose_capacitors.h"
#include "stagemodels/linear/network.h"

namespace antiphase {
namespace {

constexpr int kDigits = 4;  // enough for a value of E192

/// From the smallest film capacitor to the largest electrolytic one that stages use.
const std::vector<double>& levels() {
  static const std::vector<double> all = engine::members(engine::Series::e6, 1e-9, 1e-3);
  return all;
}

bool open(const Element& e, const Design& d) {
  return e.kind == ElementKind::capacitor && e.member && e.there(d) && !(e.value(d) > 0);
}

/// A rest point with slopes, of which a linear network can be made.
bool linearised(const OperatingPoint& rest) {
  return rest.solved == Solved::yes && rest.gm_s[0] > 0 && rest.rp_ohm[0] > 0;
}

/// Of capacitors that the choice leaves out, the pole lies so far below the lowest frequency; what that costs
/// there the others make good.
constexpr double kShareOfLeftOut = 3;

/// The least level with which the capacitor has its pole there; 0: it sees nothing.
double least_by_itself(const Design& d, const OperatingPoint& rest, const Element& e) {
  const double ohm = LinearNetwork::resistance_seen(d, rest, e);
  if (!(ohm > 0) || !std::isfinite(ohm)) return 0;
  const double least_f = kShareOfLeftOut / (2 * std::numbers::pi * kProposedDownTo_hz * ohm);
  for (const double farad : levels())
    if (farad >= least_f) return farad;
  return levels().back();
}

/// The design with its open capacitors filled.
Design filled(const Design& d, const OperatingPoint& rest) {
  Design first = d;
  choose_capacitors(first, rest, kProposedDownTo_hz, levels());
  Design whole = d;
  bool left_out = false;
  for (const Element& e : circuit_of(d)) {
    if (!open(e, d) || e.value(first) > 0) continue;
    e.member->at(whole) = least_by_itself(first, rest, e);
    left_out = true;
  }
  if (!left_out) return first;
  choose_capacitors(whole, rest, kProposedDownTo_hz, levels());
  return whole;
}

}  // namespace

PartValues::PartValues(const Design& d, const Evaluation& e)
    : design_(d), feedback_ohm_(e.feedback.resistor_ohm), circuit_(circuit_of(d)) {
  bool any = false;
  for (const Element& part : circuit_) any = any || open(part, d);
  if (!any || !linearised(e.operating_point)) return;
  const Design chosen = filled(d, e.operating_point);
  for (int k = 0; k < circuit_.elements; ++k) {
    const auto n = static_cast<std::size_t>(k);
    if (open(circuit_.element[n], d)) proposed_[n] = circuit_.element[n].member->value(chosen);
  }
}

double PartValues::named(const Element& e) const {
  const double value = e.value(design_);
  return e.role == Role::feedback && !(value > 0) ? feedback_ohm_ : value;
}

std::optional<double> PartValues::proposed(const Element& e) const {
  const double farad = proposed_[static_cast<std::size_t>(&e - circuit_.begin())];
  return farad > 0 ? std::optional(farad) : std::nullopt;
}

std::string PartValues::text(const Element& e) const {
  const double value = named(e);
  switch (e.kind) {
    case ElementKind::resistor:
      return value > 0 ? engineering_text(value, "ohm", kDigits) : "";
    case ElementKind::capacitor:
      if (const auto farad = proposed(e)) return "\u2265 " + engineering_text(*farad, "F", kDigits);
      [[fallthrough]];
    case ElementKind::stray:
      return value > 0 ? engineering_text(value, "F", kDigits) : "";
    case ElementKind::sink:
      return engineering_text(value, "A", kDigits);
    case ElementKind::held:
    case ElementKind::driven:
      return engineering_text(value, "V", kDigits);
    case ElementKind::triode:
    case ElementKind::output_grid:
    case ElementKind::clamp:
      break;
  }
  return "";
}

std::string designator_of_part(std::string_view whole, bool first) {
  return std::string(whole) + (first ? "a" : "b");
}

std::string two_in_words(const engine::TwoPart& two) {
  return engineering_text(two.first, "ohm", kDigits) + (two.parallel ? " and " : " + ") +
         engineering_text(two.second, "ohm", kDigits) + (two.parallel ? " in parallel" : " in series");
}

}  // namespace antiphase
