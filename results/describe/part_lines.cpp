#include "results/describe/part_lines.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "objectives/builds/build_model.h"
#include "results/describe/pins.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

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

void add_note(PartLine& part, const std::string& sentence) {
  if (sentence.empty()) return;
  part.note += (part.note.empty() ? "" : " ") + sentence;
}

/// A value that no series has cannot be ordered as it stands.
void tell_odd_value(PartLine& part) {
  if (part.kind != PartKind::resistor || !(part.value > 0) || !part.series.empty()) return;
  const auto near = [&](engine::Series s) {
    return engineering_text(engine::nearest(s, part.value), "ohm", 4) + " in " +
           std::string(engine::name_of(s));
  };
  add_note(part, "No series of preferred values has " + part.what + ": the nearest are " +
                     near(engine::Series::e24) + " and " + near(engine::Series::e96) + ".");
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
std::string label_of(const Element& e, const DescribedDesign& of) {
  const DesignField& member = member_of(e, of.circuit);
  const auto also = [&](const Element& other) { return other.member == e.member && other.role != e.role; };
  if (std::any_of(of.circuit.begin(), of.circuit.end(), also) || member.label == std::string(e.label) + " 1")
    return std::string(e.label);
  std::string label(label_in(of.d, member));
  if (const Element* other = other_part_of_cathode_resistor(e, of.circuit); other && bought(*other, of.d))
    label += e.role == Role::cathode ? ", bypassed" : ", unbypassed";
  return label;
}

/// What stands in a list beside a resistor whose rating is for a pulse, or that a short burns.
void tell_switch_on(PartLine& part, const Element& e) {
  const Burden* b = burden_of(part.burdens, Cause::switch_on);
  if (!b || e.role == Role::divider) return;  // that it is rated for it stands below the list
  add_note(part,
           (e.role == Role::dropping ? "The whole main supply stands across the dropping resistor until the "
                                     : "The supply stands across the " + part.label + " until the ") +
               (e.role == Role::dropping ? "reservoir" : "capacitor behind it") + " is charged.");
  if (part.rating_w_for == Cause::switch_on && b->energy_j)
    add_note(part,
             "Rated for that pulse of " + engineering_text(*b->power_w, "W") + " and " +
                 engineering_text(*b->energy_j, "J") + ": " +
                 (part.type == kWirewound ? "a wirewound type, or one whose maker's pulse chart allows it."
                                          : "a smaller one only if its maker's pulse chart allows it."));
  if (e.role == Role::dropping && b->power_w)
    add_note(part, "A shorted reservoir would keep it at " + engineering_text(*b->power_w, "W") +
                       ": no rating helps, a fuse in the supply does.");
}

PartLine resistor_line(const Element& e, const DescribedDesign& of) {
  PartLine part = line(PartKind::resistor, label_of(e, of), of.values.named(e), "ohm");
  const Across a = across(e, of.nodes);
  fill_voltage(part, a);
  if (part.value > 0) fill_power(part, a, part.value);
  fill_switch_on(part, e, part.value, of);
  fill_fault(part, e, part.value, of);
  part.tolerance_pct = 100 * tolerance_of(member_of(e, of.circuit), of.tolerances);
  rate(part, of.factors);
  tell_switch_on(part, e);
  tell_odd_value(part);
  return part;
}

/// What a share of a resistor bears of all that the whole one does.
std::vector<Burden> share_of(const std::vector<Burden>& whole, double of_voltage, double of_power) {
  std::vector<Burden> own = whole;
  for (Burden& b : own) {
    if (b.voltage_v) *b.voltage_v *= of_voltage;
    if (b.power_w) *b.power_w *= of_power;
    if (b.energy_j) *b.energy_j *= of_power;
  }
  return own;
}

/// A capacitor to a grid may have the whole supply across it: its far side hangs on a plate that is there
/// before the tubes conduct, of this circuit or of a stage before it.
bool may_stand_whole_supply(Role role) {
  return role == Role::input_coupling || role == Role::coupling_between || role == Role::output_coupling ||
         role == Role::grid_bypass;
}

/// Why a capacitor that the design leaves open is proposed as it is. The same words for all, so that a list
/// can say them once.
std::string proposal_in_words(const Element& e, const PartLine& part) {
  constexpr double kNothing_v = 1e-6;
  const bool without = e.role == Role::input_coupling && part.voltage_rest_v.value_or(0) < kNothing_v;
  return "Left open by the design: choose it for the low frequency that is wanted; what stands here, or "
         "more, "
         "carries the signal down to " +
         engineering_text(kProposedDownTo_hz, "Hz") + " into what it works into." +
         (without ? " Needed only where the source carries direct voltage." : "");
}

PartLine capacitor_line(const Element& e, const DescribedDesign& of) {
  PartLine part = line(PartKind::capacitor, label_of(e, of), of.values.named(e), "F");
  part.type = electrolytic(e.role) ? kElectrolytic : kFilm;
  part.proposed_value = of.values.proposed(e);
  if (part.proposed_value) part.what = of.values.text(e);
  const Across a = across(e, of.nodes);
  fill_voltage(part, a);
  double least_v = std::abs(a.cold_v);
  if (may_stand_whole_supply(e.role)) least_v = std::max(least_v, cold_supply_v(of.d));
  // A voltage that only the solved circuit shows is not made up.
  if (part.voltage_worst_v || least_v > 0)
    part.voltage_worst_v = std::max(part.voltage_worst_v.value_or(0), least_v);
  if (least_v > 0) burden(part, Cause::cold).voltage_v = least_v;
  fill_fault(part, e, 0, of);
  if (e.role == Role::reservoir)
    part.note =
        "The reservoir capacitor has to stand the whole main supply: nothing is dropped before the tubes "
        "conduct.";
  if (part.proposed_value) add_note(part, proposal_in_words(e, part));
  part.tolerance_pct = 100 * tolerance_of(*e.member, of.tolerances);
  rate(part, of.factors);
  return part;
}

/// A diode that carries a grid's start-up current.
PartLine clamp_line(const Element& e, const DescribedDesign& of) {
  PartLine part;
  part.kind = PartKind::diode;
  part.label = "clamp diode, grid to cathode";
  part.what = part.type = "silicon";
  const Across a = across(e, of.nodes);
  if (a.rest_v) {
    double lowest_v = *a.rest_v;
    for (const double v : a.cycle_v) lowest_v = std::min(lowest_v, v);
    part.voltage_worst_v = std::max(0.0, -lowest_v);  // in reverse
    burden(part, Cause::rest).voltage_v = std::max(0.0, -*a.rest_v);
    if (!a.cycle_v.empty()) burden(part, Cause::full_drive).voltage_v = part.voltage_worst_v;
  }
  rate(part, of.factors);
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

/// One transistor whose emitter resistor is held at a voltage that leaves it room to work.
std::string a_way_to_build_it(const Tail& tail) {
  constexpr double kBaseEmitter_v = 0.65, kRoom_v = 1;  // both of silicon transistors: common practice
  const double emitter_v = tail.compliance_v - kRoom_v;
  if (!(emitter_v > 0) || !(tail.current_a > 0)) return "";
  return "One way to build it (common practice, not solved here): an NPN transistor of that voltage, its "
         "emitter "
         "resistor " +
         engineering_text(emitter_v / tail.current_a, "ohm") + ", its base held " +
         engineering_text(emitter_v + kBaseEmitter_v, "V") + " above the foot.";
}

/// A sink is a circuit of its own, to be built to these figures.
PartLine sink_line(const Element& e, const DescribedDesign& of) {
  PartLine part = line(PartKind::sink, "constant-current sink", e.value(of.d), "A");
  const Across a = across(e, of.nodes);
  fill_voltage(part, a);
  fill_power(part, a, of.d.tail.output_ohm, part.value);
  if (auto worst = of.faults.worst_of(e, 0)) {
    worst->power_w = *worst->voltage_v * part.value;
    part.burdens.push_back(*worst);
  }
  rate(part, of.factors);
  part.note = "The sink is set to " + part.what;
  if (part.voltage_worst_v) part.note += ", stands at least " + engineering_text(*part.voltage_worst_v, "V");
  part.note += ", works down to " + engineering_text(of.d.tail.compliance_v, "V") + " and has " +
               engineering_text(of.d.tail.output_ohm, "ohm") + " or more.";
  if (part.power_worst_w)
    part.note += " It turns " + engineering_text(*part.power_worst_w, "W") + " into heat.";
  add_note(part, a_way_to_build_it(of.d.tail));
  return part;
}

PartLine tube_line(const Element& e, const DescribedDesign& of) {
  const Tube& type = *section_of(e, of.d).tube;
  PartLine tube;
  tube.kind = PartKind::tube;
  tube.what = type.name;
  tube.designators = of.designators.bottle_of(e);
  tube.pins = pins_in_words(e, of.d, of.designators);
  if (type.heater.current_a > 0) {
    tube.heater_v = type.heater.volt_v;
    tube.heater_a = type.heater.current_a;
  }
  const auto other_type = [&](const Element& other) {
    return other.kind == ElementKind::triode && in_output_stage(other) &&
           section_of(other, of.d).tube != &type;
  };
  const auto used = std::count_if(of.circuit.begin(), of.circuit.end(), [&](const Element& other) {
    return of.designators.bottle_of(other) == tube.designators;
  });
  if (used < type.sections)
    tube.note = "A section of " + tube.designators +
                " is left over: its grid and cathode to ground, its plate open (common practice).";
  const bool with_output_stage = std::any_of(of.circuit.begin(), of.circuit.end(), [&](const Element& other) {
    return of.designators.bottle_of(other) == tube.designators && in_output_stage(other);
  });
  if (!with_output_stage)
    tube.label =
        e.section == kDriver || e.section == kDriver + 1 ? "tube of the driver" : "tube of the first stage";
  else if (std::any_of(of.circuit.begin(), of.circuit.end(), other_type))
    tube.label = "tube of " + std::string(e.label);
  else
    tube.label = "tube";
  return tube;
}

}  // namespace

/// Two in series carry one current and share the voltage; two in parallel have one voltage.
void split_in_two(std::vector<PartLine>& parts, const Element& e, const engine::TwoPart& two,
                  const DescribedDesign& of) {
  const PartLine whole = resistor_line(e, of);
  for (const bool first : {true, false}) {
    const double ohm = first ? two.first : two.second;
    const double of_voltage = two.parallel ? 1 : ohm / two.value;
    const Across own = share_of(across(e, of.nodes), of_voltage);
    PartLine part =
        line(PartKind::resistor, label_of(e, of) + (first ? ", first part" : ", second part"), ohm, "ohm");
    fill_voltage(part, own);
    fill_power(part, own, ohm);
    part.burdens = share_of(whole.burdens, of_voltage, of_voltage * of_voltage * two.value / ohm);
    part.designators = designator_of_part(of.designators.of(e), first);
    part.tolerance_pct = 100 * tolerance_of(*e.member, of.tolerances);
    rate(part, of.factors);
    if (first)
      part.note =
          "Plate resistor 2 of " + engineering_text(two.value, "ohm", 4) + " is " + two_in_words(two) + ".";
    tell_odd_value(part);
    parts.push_back(part);
  }
}

std::vector<PartLine> tubes(const DescribedDesign& of) {
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
      if (!tube.pins.empty()) same->pins += "; " + tube.pins;
      add_note(*same, tube.note);
    }
  }
  return lines;
}

PartLine line_of(const Element& e, const DescribedDesign& of) {
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

}  // namespace antiphase
