#include "results/describe/part_burdens.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "objectives/builds/faulty_parts.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr std::array kRatingsW{0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0};
constexpr std::array kWirewoundW{5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0};

constexpr std::array kResistorsV{200.0, 250.0, 350.0, 500.0, 750.0, 1000.0};
constexpr std::array kFilmV{63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1250.0, 1600.0};
constexpr std::array kElectrolyticV{6.3,   10.0,  16.0,  25.0,  35.0,  50.0,  63.0,
                                    100.0, 160.0, 250.0, 350.0, 400.0, 450.0, 500.0};
constexpr std::array kDiodesV{75.0, 100.0, 200.0, 400.0, 600.0, 1000.0};
constexpr std::array kTransistorsV{30.0, 60.0, 100.0, 160.0, 250.0, 350.0, 500.0, 600.0, 800.0, 1000.0};

std::span<const double> usual_voltages(VoltageRow row) {
  switch (row) {
    case VoltageRow::resistor:
      return kResistorsV;
    case VoltageRow::film_capacitor:
      return kFilmV;
    case VoltageRow::electrolytic_capacitor:
      return kElectrolyticV;
    case VoltageRow::diode:
      return kDiodesV;
    case VoltageRow::transistor:
      return kTransistorsV;
  }
  return {};
}

/// The first of the usual ratings that is enough; what lies above by rounding alone is enough.
std::optional<double> least_usual(std::span<const double> usual, double least) {
  constexpr double kRounding = 1 - 1e-12;
  const auto enough =
      std::find_if(usual.begin(), usual.end(), [&](double rated) { return least * kRounding <= rated; });
  return enough == usual.end() ? std::nullopt : std::optional(*enough);
}

/// By how much a part may be overloaded by what follows the moment of switching on. Power falls twice as fast
/// as voltage.
double overload(const Burden& pulse, double allowed) {
  return pulse.time_constant_s && *pulse.time_constant_s / 2 <= kOverload_s ? allowed : 1;
}

/// What the part's rating has to be at least for one cause.
std::optional<double> power_need(const Burden& b, double factor, double pulse_factor) {
  if (!b.power_w) return std::nullopt;
  return *b.power_w / (b.cause == Cause::fault       ? 1
                       : b.cause == Cause::switch_on ? overload(b, pulse_factor)
                                                     : factor);
}

std::optional<double> voltage_need(const Burden& b, double factor) {
  return b.voltage_v ? std::optional(*b.voltage_v / (b.cause == Cause::fault ? 1 : factor)) : std::nullopt;
}

struct Rated {
  std::optional<double> rating;  ///< empty: none is enough
  std::optional<Cause> cause;    ///< the first, in the order of Cause, that alone asks for as much
};

/// `need`: of one burden, or nothing.
template <class Need>
Rated rated_for(const std::vector<Burden>& burdens, std::span<const double> usual, Need need) {
  Rated worst;
  bool none_enough = false;
  for (const Burden& b : burdens) {
    const auto least = need(b);
    if (!least || none_enough) continue;
    const auto rating = least_usual(usual, *least);
    none_enough = !rating;
    const bool more = !worst.cause || !rating || *rating > *worst.rating;
    const bool earlier = worst.cause && rating && *rating == *worst.rating && b.cause < *worst.cause;
    if (more || earlier) worst = {rating, b.cause};
  }
  return worst;
}

}  // namespace

std::string_view name_of(Cause cause) {
  switch (cause) {
    case Cause::rest:
      return "rest";
    case Cause::full_drive:
      return "full drive";
    case Cause::cold:
      return "cold start";
    case Cause::switch_on:
      return "switch-on";
    case Cause::fault:
      return "fault";
  }
  return "";
}

const Burden* burden_of(const std::vector<Burden>& burdens, Cause cause) {
  const auto it =
      std::find_if(burdens.begin(), burdens.end(), [&](const Burden& b) { return b.cause == cause; });
  return it == burdens.end() ? nullptr : &*it;
}

PowerRating power_rating(const std::vector<Burden>& burdens, double factor) {
  const Rated film =
      rated_for(burdens, kRatingsW, [&](const Burden& b) { return power_need(b, factor, kFilmOverload); });
  if (film.cause != Cause::switch_on || film.rating.value_or(INFINITY) <= kLargestFilmRating_w)
    return {film.rating, film.cause, false};
  const Rated wire = rated_for(burdens, kWirewoundW,
                               [&](const Burden& b) { return power_need(b, factor, kWirewoundOverload); });
  return {wire.rating, wire.cause, true};
}

VoltageRating voltage_rating(const std::vector<Burden>& burdens, VoltageRow row, double factor) {
  const Rated rated =
      rated_for(burdens, usual_voltages(row), [&](const Burden& b) { return voltage_need(b, factor); });
  return {rated.rating, rated.cause};
}

namespace {

/// A sink that finds no current saturates; the voltages of its Norton form then mean nothing.
bool sink_starved(const Design& d, const NodeVolts& volts) {
  const Circuit& c = circuit_of(d);
  return std::any_of(c.begin(), c.end(), [&](const Element& e) {
    return e.kind == ElementKind::sink && e.stands(d) &&
           volts[static_cast<std::size_t>(e.a)] - volts[static_cast<std::size_t>(e.b)] < d.tail.compliance_v;
  });
}

/// A resistor that fails is open; a shorted one is a slip at the bench, for which no part is rated. (Common
/// practice, no published source.)
bool counts_for_ratings(const Circuit& c, const Defect& defect) {
  if (defect.none() || defect.seen_in_ac_only) return false;
  return std::none_of(defect.altered().begin(), defect.altered().end(), [&](const Alteration& a) {
    return a.element == defect.element && a.what == Alteration::What::shorted &&
           c.element[a.element].kind == ElementKind::resistor;
  });
}

}  // namespace

FaultVoltages::FaultVoltages(const Design& d, const Evaluation& e) : circuit_(&circuit_of(d)) {
  if (e.operating_point.solved != Solved::yes) return;
  for (const Defect& defect : defects_of(d)) {
    if (!counts_for_ratings(*circuit_, defect)) continue;
    One one{defect.label, {}, {}};
    if (!solve_rest_point(*circuit_, d, defect.altered(), one.volts) || sink_starved(d, one.volts)) continue;
    for (const Alteration& a : defect.altered()) one.altered.push_back(a.element);
    solved_.push_back(std::move(one));
  }
}

std::optional<Burden> FaultVoltages::worst_of(const Element& e, double ohm) const {
  const int place = static_cast<int>(&e - circuit_->begin());
  std::optional<Burden> worst;
  for (const One& one : solved_) {
    if (std::find(one.altered.begin(), one.altered.end(), place) != one.altered.end()) continue;
    const double v =
        std::abs(one.volts[static_cast<std::size_t>(e.a)] - one.volts[static_cast<std::size_t>(e.b)]);
    if (!std::isfinite(v) || (worst && v <= *worst->voltage_v)) continue;
    worst = Burden{.cause = Cause::fault,
                   .power_w = {},
                   .voltage_v = v,
                   .energy_j = {},
                   .time_constant_s = {},
                   .which = one.label};
    if (ohm > 0) worst->power_w = v * v / ohm;
  }
  return worst;
}

std::string burdens_in_words(const std::vector<Burden>& burdens) {
  constexpr double kRounding = 1e-9;  // V or W; below it is the rounding of a solve
  const auto told = [](double v) { return v < kRounding ? 0 : v; };
  const auto amount = [&](const Burden& b) {
    std::string text;
    if (b.power_w) text = engineering_text(told(*b.power_w), "W");
    if (b.voltage_v) text += (text.empty() ? "" : " at ") + engineering_text(told(*b.voltage_v), "V");
    return text;
  };
  std::vector<std::string> said;
  for (const Burden& b : burdens) {
    if (!b.power_w && !b.voltage_v) continue;
    const bool power = b.power_w.has_value();
    switch (b.cause) {
      case Cause::rest:
        said.push_back("at rest " + amount(b) + (power ? " (V\u00b2/R)" : ""));
        break;
      case Cause::full_drive:
        said.push_back(
            "at full drive " + amount(b) +
            (power ? " (mean of V\u00b2/R over the cycle, highest V)" : " (highest of the cycle)"));
        break;
      case Cause::cold:
        said.push_back("cold, all capacitors charged, " + amount(b));
        break;
      case Cause::switch_on:
        said.push_back("at switch-on " + amount(b) + " while the " + b.which + " is empty" +
                       (b.energy_j ? " (V\u00b2/R), in all " + engineering_text(*b.energy_j, "J") +
                                         " (CV\u00b2/2), time constant " +
                                         engineering_text(*b.time_constant_s, "s") + " (RC)"
                        : power ? " (V\u00b2/R)"
                                : ""));
        break;
      case Cause::fault:
        said.push_back("with " + b.which + " " + amount(b) + (power ? " (V\u00b2/R)" : ""));
        break;
    }
  }
  return joined(said, "; ");
}

}  // namespace antiphase
