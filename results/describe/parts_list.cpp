#include "results/describe/parts_list.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <utility>

#include "objectives/builds/build_model.h"
#include "results/describe/node_voltages.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/designators.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/solve/instants.h"

namespace antiphase {
namespace {

constexpr std::array kRatingsW{0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0};

constexpr std::array kResistorsV{200.0, 250.0, 350.0, 500.0, 750.0, 1000.0};
constexpr std::array kFilmV{63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1250.0, 1600.0};
constexpr std::array kElectrolyticV{6.3,   10.0,  16.0,  25.0,  35.0,  50.0,  63.0,
                                    100.0, 160.0, 250.0, 350.0, 400.0, 450.0, 500.0};
constexpr std::array kDiodesV{75.0, 100.0, 200.0, 400.0, 600.0, 1000.0};
constexpr double kDiodeVoltageFactor = 1.0 / 3;  // common practice, no published source

/// The smallest of the usual ratings of which the worst is no more than `factor`.
std::optional<double> smallest_enough(std::span<const double> usual, double worst, double factor) {
  const auto enough =
      std::find_if(usual.begin(), usual.end(), [&](double rated) { return worst <= factor * rated; });
  return enough == usual.end() ? std::nullopt : std::optional(*enough);
}

/// Electrolytic as a rule: large, and with a direct voltage of one sense across them.
bool electrolytic(Role role) {
  return role == Role::reservoir || role == Role::decoupling_capacitor || role == Role::cathode_bypass;
}

std::string series_of(double value) {
  using S = engine::Series;
  constexpr double kSame = 1e-6;
  for (const S s : {S::e3, S::e6, S::e12, S::e24, S::e48, S::e96, S::e192})
    if (std::abs(engine::nearest(s, value) / value - 1) < kSame) return std::string(engine::name_of(s));
  return "";
}

/// Voltage from node a to node b of one part: at rest, over the cycle at the target (empty if not solved),
/// and before the tubes conduct.
struct Across {
  std::optional<double> rest_v;
  std::vector<double> cycle_v;
  double cold_v = 0;
};

double voltage(const Element& e, const NodeVoltages::OfNodes& of) {
  return of[static_cast<std::size_t>(e.a)] - of[static_cast<std::size_t>(e.b)];
}

Across across(const Element& e, const NodeVoltages& nodes) {
  Across result;
  if (nodes.rest()) result.rest_v = voltage(e, *nodes.rest());
  for (const NodeVoltages::OfNodes& of : nodes.cycle()) result.cycle_v.push_back(voltage(e, of));
  result.cold_v = voltage(e, nodes.cold());
  return result;
}

Across share_of(const Across& whole, double share) {
  Across part = whole;
  if (part.rest_v) *part.rest_v *= share;
  for (double& v : part.cycle_v) v *= share;
  part.cold_v *= share;
  return part;
}

double mean_over_cycle(const std::vector<double>& v) {
  double mean = 0;
  for (std::size_t k = 0; k < v.size(); ++k)
    mean += cycle_instants(static_cast<int>(v.size())).mean[k] * v[k];
  return mean;
}

/// What a resistor stands at most while a capacitor from some node to ground is charged.
double charging_v(const Element& resistor, const NodeVoltages& nodes) {
  double most = 0;
  for (const NodeVoltages::OfNodes& of : nodes.charging())
    most = std::max(most, std::abs(voltage(resistor, of)));
  return most;
}

/// What must be known of a design to describe its parts.
struct Of {
  const Design& d;
  const Evaluation& e;
  const DesignFactors& factors;
  const Tolerances& tolerances;
  const Circuit& circuit;
  const Designators& designators;
  const NodeVoltages& nodes;
};

/// `in_parallel_a`: a current beside that of the value, of the same sense.
void fill_power(PartLine& part, const Across& a, double ohm, double in_parallel_a = 0) {
  if (!a.rest_v) return;
  const auto power_w = [&](double v) { return v * (v / ohm + in_parallel_a); };
  part.power_rest_w = power_w(*a.rest_v);
  std::vector<double> cycle_w;
  for (const double v : a.cycle_v) cycle_w.push_back(power_w(v));
  part.power_worst_w = std::max(*part.power_rest_w, mean_over_cycle(cycle_w));
}

void fill_voltage(PartLine& part, const Across& a) {
  if (!a.rest_v) return;
  part.voltage_rest_v = std::abs(*a.rest_v);
  part.voltage_worst_v = std::max(std::abs(*a.rest_v), std::abs(a.cold_v));
  for (const double v : a.cycle_v) part.voltage_worst_v = std::max(*part.voltage_worst_v, std::abs(v));
}

void rate(PartLine& part, const DesignFactors& factors, bool electrolytic) {
  if (part.kind == PartKind::resistor && part.power_worst_w)
    part.rating_w = smallest_enough(kRatingsW, *part.power_worst_w, factors.resistor_power);
  if (!part.voltage_worst_v) return;
  const double v = *part.voltage_worst_v;
  if (part.kind == PartKind::resistor)
    part.rating_v = smallest_enough(kResistorsV, v, factors.resistor_voltage);
  else if (part.kind == PartKind::capacitor && electrolytic)
    part.rating_v = smallest_enough(kElectrolyticV, v, kCapacitorVoltageFactor);
  else if (part.kind == PartKind::capacitor)
    part.rating_v = smallest_enough(kFilmV, v, kCapacitorVoltageFactor);
  else if (part.kind == PartKind::diode)
    part.rating_v = smallest_enough(kDiodesV, v, kDiodeVoltageFactor);
}

/// `value` 0: the design leaves it open.
PartLine line(PartKind kind, std::string label, double value, std::string_view unit) {
  PartLine part;
  part.kind = kind;
  part.label = std::move(label);
  part.value = value;
  part.unit = unit;
  part.what = value > 0 ? engineering_text(value, unit, 4) : "not given";
  if (value > 0 && kind != PartKind::sink) part.series = series_of(value);
  return part;
}

/// The two parts of a cathode resistor, one of which no capacitor bridges, stand in a row.
bool part_of_cathode_resistor(const Element& e) {
  return e.kind == ElementKind::resistor && (e.role == Role::cathode || e.role == Role::cathode_unbypassed);
}
const Element* other_part_of_cathode_resistor(const Element& e, const Circuit& c) {
  if (!part_of_cathode_resistor(e)) return nullptr;
  for (const Element& other : c)
    if (part_of_cathode_resistor(other) && other.role != e.role && (other.a == e.b || other.b == e.a))
      return &other;
  return nullptr;
}

/// The member of the design that stands for the part: of a part of a cathode resistor, the whole of it.
const DesignField& member_of(const Element& e, const Circuit& c) {
  const Element* other = e.role == Role::cathode_unbypassed ? other_part_of_cathode_resistor(e, c) : nullptr;
  return other ? *other->member : *e.member;
}

/// The member's label, which parts of one member have in common; the element's own where the member is
/// numbered as the first of two and the circuit has one only, or where it serves for several purposes.
std::string label_of(const Element& e, const Of& of) {
  const DesignField& member = member_of(e, of.circuit);
  const auto also = [&](const Element& other) { return other.member == e.member && other.role != e.role; };
  if (std::any_of(of.circuit.begin(), of.circuit.end(), also) || member.label == std::string(e.label) + " 1")
    return std::string(e.label);
  std::string label(label_in(of.d, member));
  if (const Element* other = other_part_of_cathode_resistor(e, of.circuit); other && bought(*other, of.d))
    label += e.role == Role::cathode ? ", bypassed" : ", unbypassed";
  return label;
}

/// The value of a resistor; of feedback that of the evaluation if the design leaves it open.
double ohm_of(const Element& e, const Of& of) {
  const double value = e.value(of.d);
  return e.role == Role::feedback && !(value > 0) ? of.e.feedback.resistor_ohm : value;
}

PartLine resistor_line(const Element& e, const Of& of) {
  PartLine part = line(PartKind::resistor, label_of(e, of), ohm_of(e, of), "ohm");
  const Across a = across(e, of.nodes);
  fill_voltage(part, a);
  if (part.value > 0) fill_power(part, a, part.value);
  const double charging = charging_v(e, of.nodes);
  if (charging > part.voltage_worst_v.value_or(0)) {
    part.voltage_worst_v = charging;
    part.note =
        e.role == Role::dropping
            ? "The whole main supply stands across the dropping resistor until the reservoir is charged."
            : "The supply stands across the " + part.label + " until the capacitor behind it is charged.";
  }
  part.tolerance_pct = 100 * tolerance_of(member_of(e, of.circuit), of.tolerances);
  rate(part, of.factors, false);
  return part;
}

/// Two in series carry one current and share the voltage; two in parallel have one voltage.
void split_in_two(std::vector<PartLine>& parts, const Element& e, const engine::TwoPart& two, const Of& of) {
  for (const bool first : {true, false}) {
    const double ohm = first ? two.first : two.second;
    const Across own = share_of(across(e, of.nodes), two.parallel ? 1 : ohm / two.value);
    PartLine part =
        line(PartKind::resistor, label_of(e, of) + (first ? ", first part" : ", second part"), ohm, "ohm");
    fill_voltage(part, own);
    fill_power(part, own, ohm);
    part.designators = std::string(of.designators.of(e)) + (first ? "a" : "b");
    part.tolerance_pct = 100 * tolerance_of(*e.member, of.tolerances);
    rate(part, of.factors, false);
    if (first)
      part.note =
          "Plate resistor 2 of " + engineering_text(two.value, "ohm", 4) + " is " + two_in_words(two) + ".";
    parts.push_back(part);
  }
}

/// A capacitor to a grid may have the whole supply across it: its far side hangs on a plate that is there
/// before the tubes conduct, of this circuit or of a stage before it.
bool may_stand_whole_supply(Role role) {
  return role == Role::input_coupling || role == Role::coupling_between || role == Role::output_coupling ||
         role == Role::grid_bypass;
}

PartLine capacitor_line(const Element& e, const Of& of) {
  PartLine part = line(PartKind::capacitor, label_of(e, of), e.value(of.d), "F");
  const Across a = across(e, of.nodes);
  fill_voltage(part, a);
  double least_v = std::abs(a.cold_v);
  if (may_stand_whole_supply(e.role)) least_v = std::max(least_v, cold_supply_v(of.d));
  // A voltage that only the solved circuit shows is not made up.
  if (part.voltage_worst_v || least_v > 0)
    part.voltage_worst_v = std::max(part.voltage_worst_v.value_or(0), least_v);
  if (e.role == Role::reservoir)
    part.note =
        "The reservoir capacitor has to stand the whole main supply: nothing is dropped before the tubes "
        "conduct.";
  part.tolerance_pct = 100 * tolerance_of(*e.member, of.tolerances);
  rate(part, of.factors, electrolytic(e.role));
  return part;
}

/// A diode that carries a grid's start-up current.
PartLine clamp_line(const Element& e, const Of& of) {
  PartLine part;
  part.kind = PartKind::diode;
  part.label = "clamp diode, grid to cathode";
  part.what = "silicon";
  const Across a = across(e, of.nodes);
  if (a.rest_v) {
    double lowest_v = *a.rest_v;
    for (const double v : a.cycle_v) lowest_v = std::min(lowest_v, v);
    part.voltage_worst_v = std::max(0.0, -lowest_v);  // in reverse
  }
  rate(part, of.factors, false);
  const auto diodes = std::count_if(of.circuit.begin(), of.circuit.end(), [&](const Element& other) {
    return other.kind == ElementKind::clamp && bought(other, of.d);
  });
  part.note = diodes > 1
                  ? "The clamp diodes, anode at the grid, hold the grids at the cathodes while the tubes "
                    "are cold and the stage before stands at the whole supply; its plate resistor limits "
                    "their current. In use they are blocked"
                  : "The clamp diode, anode at the grid, holds the grid at the cathode while the tube is "
                    "cold and the stage before stands at the whole supply; its plate resistor limits the "
                    "current. In use it is blocked";
  part.note += ": any small type that stands the reverse voltage several times over will do.";
  return part;
}

/// A sink is a circuit of its own, to be built to these figures.
PartLine sink_line(const Element& e, const Of& of) {
  PartLine part = line(PartKind::sink, "constant-current sink", e.value(of.d), "A");
  const Across a = across(e, of.nodes);
  fill_voltage(part, a);
  fill_power(part, a, of.d.tail.output_ohm, part.value);
  part.note = "The sink is set to " + part.what;
  if (part.voltage_worst_v) part.note += ", stands at least " + engineering_text(*part.voltage_worst_v, "V");
  part.note += ", works down to " + engineering_text(of.d.tail.compliance_v, "V") + " and has " +
               engineering_text(of.d.tail.output_ohm, "ohm") + " or more.";
  return part;
}

PartLine tube_line(const Element& e, const Of& of) {
  const Tube& type = *section_of(e, of.d).tube;
  PartLine tube;
  tube.kind = PartKind::tube;
  tube.what = type.name;
  tube.designators = of.designators.bottle_of(e);
  if (type.heater.current_a > 0) {
    tube.heater_v = type.heater.volt_v;
    tube.heater_a = type.heater.current_a;
  }
  const auto other_type = [&](const Element& other) {
    return other.kind == ElementKind::triode && in_output_stage(other) &&
           section_of(other, of.d).tube != &type;
  };
  if (!in_output_stage(e))
    tube.label = "tube of the first stage";
  else if (std::any_of(of.circuit.begin(), of.circuit.end(), other_type))
    tube.label = "tube of " + std::string(e.label);
  else
    tube.label = "tube";
  return tube;
}

/// Bottles of the output stage that are of one type stand in one line.
std::vector<PartLine> tubes(const Of& of) {
  std::vector<PartLine> lines;
  std::vector<std::string_view> seen;
  for (const Element& e : of.circuit) {
    const std::string_view bottle = of.designators.bottle_of(e);
    if (bottle.empty() || std::find(seen.begin(), seen.end(), bottle) != seen.end()) continue;
    seen.push_back(bottle);
    const PartLine tube = tube_line(e, of);
    const auto same = std::find_if(lines.begin(), lines.end(), [&](const PartLine& l) {
      return l.label == tube.label && l.what == tube.what;
    });
    if (same == lines.end()) {
      lines.push_back(tube);
    } else {
      ++same->count;
      same->designators += ", " + tube.designators;
    }
  }
  return lines;
}

PartLine line_of(const Element& e, const Of& of) {
  switch (e.kind) {
    case ElementKind::resistor:
      return resistor_line(e, of);
    case ElementKind::capacitor:
    case ElementKind::stray:
      return capacitor_line(e, of);
    case ElementKind::clamp:
      return clamp_line(e, of);
    default:
      return sink_line(e, of);
  }
}

/// The larger of two that may be unknown.
std::optional<double> larger(const std::optional<double>& a, const std::optional<double>& b) {
  return a && b ? std::optional(std::max(*a, *b)) : a ? a : b;
}

/// Parts of one line are bought alike: the line says what the most stressed of them has to bear.
void join(PartLine& line, const PartLine& more, const Of& of, bool electrolytic) {
  ++line.count;
  line.designators += ", " + more.designators;
  for (const auto member : {&PartLine::power_rest_w, &PartLine::power_worst_w, &PartLine::voltage_rest_v,
                            &PartLine::voltage_worst_v})
    line.*member = larger(line.*member, more.*member);
  if (line.note.empty()) line.note = more.note;
  rate(line, of.factors, electrolytic);
}

}  // namespace

std::string_view name_of(PartKind kind) {
  switch (kind) {
    case PartKind::tube:
      return "tube";
    case PartKind::resistor:
      return "resistor";
    case PartKind::capacitor:
      return "capacitor";
    case PartKind::diode:
      return "diode";
    case PartKind::sink:
      return "sink";
  }
  return "";
}

std::string derating_in_words(const PartLine& part, const DesignFactors& factors) {
  const auto share = [](double factor) { return engineering_text(100 * factor, "%"); };
  switch (part.kind) {
    case PartKind::tube:
    case PartKind::sink:
      return "";
    case PartKind::resistor:
      return "at most " + share(factors.resistor_power) + " of its power and " +
             share(factors.resistor_voltage) + " of its voltage";
    case PartKind::capacitor:
      return "at most " + share(kCapacitorVoltageFactor) + " of its voltage";
    case PartKind::diode:
      return "at most a third of its reverse voltage";
  }
  return "";
}

std::string two_in_words(const engine::TwoPart& two) {
  return engineering_text(two.first, "ohm", 4) + (two.parallel ? " and " : " + ") +
         engineering_text(two.second, "ohm", 4) + (two.parallel ? " in parallel" : " in series");
}

std::vector<std::string> plate_2_in_words(const std::vector<Record>& records) {
  std::vector<std::pair<std::string, std::vector<std::string>>> uses;
  for (const Record& r : records) {
    if (!r.plate_2_of) continue;
    const std::string made = two_in_words(*r.plate_2_of);
    auto at = std::find_if(uses.begin(), uses.end(), [&](const auto& use) { return use.first == made; });
    if (at == uses.end()) at = uses.insert(at, {made, {}});
    at->second.push_back(std::to_string(r.rank));
  }
  std::vector<std::string> words;
  for (const auto& [made, ranks] : uses) {
    words.push_back((ranks.size() == 1 ? "Plate 2 of rank " : "Plate 2 of ranks ") + all_of(ranks) + ": " +
                    made + ".");
  }
  return words;
}

std::vector<PartLine> parts_list(const Design& d, const Evaluation& e, const DesignFactors& factors,
                                 const std::optional<engine::TwoPart>& plate_2_of,
                                 const Tolerances& tolerances) {
  const Designators designators(d);
  const NodeVoltages nodes(d, e);
  const Of of{d, e, factors, tolerances, designators.circuit(), designators, nodes};
  std::vector<PartLine> parts = tubes(of);
  for (const ElementKind kind : {ElementKind::resistor, ElementKind::capacitor, ElementKind::stray,
                                 ElementKind::clamp, ElementKind::sink}) {
    std::vector<std::pair<const Element*, std::size_t>> first_of_line;
    for (const Element& part : of.circuit) {
      if (part.kind != kind || !bought(part, d)) continue;
      if (part.member == &member::plate_ohm_1 && plate_2_of) {
        split_in_two(parts, part, *plate_2_of, of);
        continue;
      }
      PartLine line = line_of(part, of);
      line.designators = designators.of(part);
      const auto same = std::find_if(first_of_line.begin(), first_of_line.end(), [&](const auto& first) {
        return first.first->member == part.member && first.first->role == part.role;
      });
      if (same != first_of_line.end()) {
        join(parts[same->second], line, of, electrolytic(part.role));
      } else {
        first_of_line.emplace_back(&part, parts.size());
        parts.push_back(std::move(line));
      }
    }
  }
  return parts;
}

}  // namespace antiphase
