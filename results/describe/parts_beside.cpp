#include "results/describe/parts_beside.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "results/describe/node_voltages.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/designators.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/circuits/rest_point.h"

namespace antiphase {
namespace {

std::string numbered(std::string_view letters, int first, int count) {
  std::string text;
  for (int k = 0; k < count; ++k)
    text += (k > 0 ? ", " : "") + std::string(letters) + std::to_string(first + k);
  return text;
}

PartLine resistor(std::string label, double ohm, std::string designators, int count) {
  PartLine part;
  part.label = std::move(label);
  part.designators = std::move(designators);
  part.count = count;
  part.value = ohm;
  part.unit = "ohm";
  part.what = engineering_text(ohm, "ohm", 4);
  part.type = "film";
  part.in_circuit = false;
  return part;
}

PartLine stoppers(std::string label, double ohm, int first, int count, const DesignFactors& factors) {
  PartLine part = resistor(std::move(label), ohm, numbered("RS", first, count), count);
  part.series = "E6";
  part.note =
      "Grid stoppers are common practice and not in the solved circuit: right at the grid pin, against "
      "oscillation at radio frequencies.";
  part.power_rest_w = part.power_worst_w = part.voltage_rest_v = part.voltage_worst_v = 0;
  Burden rest;
  rest.power_w = rest.voltage_v = 0;
  part.burdens = {rest};
  rate(part, factors);
  return part;
}

const Element* first_of(const Circuit& c, Role role, ElementKind kind) {
  const auto* it =
      std::find_if(c.begin(), c.end(), [&](const Element& e) { return e.role == role && e.kind == kind; });
  return it == c.end() ? nullptr : it;
}

/// What the worst of the leaks stands with its coupling capacitor shorted.
double shorted_coupling_v(const Design& d) {
  const Circuit& c = circuit_of(d);
  double worst_v = 0;
  for (int k = 0; k < c.elements; ++k) {
    const Element& e = c.element[static_cast<std::size_t>(k)];
    if (e.role != Role::output_coupling || !e.stands(d)) continue;
    const Alteration shorted{k, Alteration::What::shorted, 1};
    NodeVolts volts;
    if (!solve_rest_point(c, d, {&shorted, 1}, volts)) return cold_supply_v(d);
    for (int o = 0; o < c.outputs; ++o)
      worst_v = std::max(
          worst_v, std::abs(volts[static_cast<std::size_t>(c.output[static_cast<std::size_t>(o)].node)]));
  }
  return worst_v + std::abs(d.output_valve_bias_v);
}

/// The next grids' leaks, which are what the stage works into.
PartLine leaks(const Design& d, const Evaluation& e, const Element& coupling, const DesignFactors& factors) {
  const int count = outputs(d.circuit);
  PartLine part = resistor(d.output_valve ? "output valve's grid leak" : "next stage's grid leak", d.load_ohm,
                           numbered("RL", 1, count), count);
  for (const engine::Series s : {engine::Series::e3, engine::Series::e6, engine::Series::e12,
                                 engine::Series::e24, engine::Series::e96, engine::Series::e192})
    if (part.series.empty() && std::abs(engine::nearest(s, d.load_ohm) / d.load_ohm - 1) < 1e-6)
      part.series = engine::name_of(s);
  const double swing_v = d.swing_peak_v, supply_v = cold_supply_v(d);
  const PartValues values(d, e);
  const double farad = values.proposed(coupling).value_or(values.named(coupling));

  Burden drive, pulse, fault;
  drive.cause = Cause::full_drive;
  drive.voltage_v = swing_v;
  drive.power_w = swing_v * swing_v / 2 / d.load_ohm;
  pulse.cause = Cause::switch_on;
  pulse.voltage_v = supply_v;
  pulse.power_w = supply_v * supply_v / d.load_ohm;
  pulse.which = "coupling capacitor";
  if (farad > 0) {
    pulse.energy_j = farad * supply_v * supply_v / 2;
    pulse.time_constant_s = farad * d.load_ohm;
  }
  fault.cause = Cause::fault;
  fault.voltage_v = shorted_coupling_v(d);
  fault.power_w = *fault.voltage_v * *fault.voltage_v / d.load_ohm;
  fault.which = "coupling capacitor shorted";
  part.burdens = {drive, pulse, fault};
  part.power_rest_w = part.voltage_rest_v = 0;
  part.power_worst_w = drive.power_w;
  part.voltage_worst_v = supply_v;
  rate(part, factors);
  part.is_load = true;
  part.note = "The leaks of what follows are the load that the stage was solved with.";
  return part;
}

/// Heater voltages at which every cathode stays within its card's ratings.
struct Elevation {
  double low_v = -std::numeric_limits<double>::infinity(), high_v = std::numeric_limits<double>::infinity();
};

Elevation elevation(const Design& d, const Evaluation& e, const DesignFactors& factors) {
  const NodeVoltages nodes(d, e);
  Elevation range;
  if (!nodes.rest()) return range;
  for (const Element& part : circuit_of(d)) {
    if (part.kind != ElementKind::triode) continue;
    const auto cathode = static_cast<std::size_t>(part.c);
    const double rest_v = (*nodes.rest())[cathode];
    double low_v = rest_v, high_v = rest_v;
    for (const NodeVoltages::OfNodes& v : nodes.cycle()) {
      low_v = std::min(low_v, v[cathode]);
      high_v = std::max(high_v, v[cathode]);
    }
    const TubeRatings& rated = section_of(part, d).tube->ratings;
    const double f = factors.heater_cathode;
    if (rated.heater_cathode_v_max_cathode_positive)
      range.low_v = std::max(range.low_v, high_v - f * rated.heater_cathode_v_max_cathode_positive->value);
    if (rated.heater_cathode_v_max_cathode_positive_dc)
      range.low_v = std::max(range.low_v, rest_v - f * rated.heater_cathode_v_max_cathode_positive_dc->value);
    if (rated.heater_cathode_v_max_cathode_negative)
      range.high_v = std::min(range.high_v, low_v + f * rated.heater_cathode_v_max_cathode_negative->value);
  }
  return range;
}

std::string elevation_in_words(const Design& d, const Elevation& range) {
  const auto volt = [](double v) { return engineering_text(v, "V"); };
  std::string text = d.heater_v == 0 ? "The heaters stand at ground"
                                     : "The heaters stand " + volt(std::abs(d.heater_v)) +
                                           (d.heater_v > 0 ? " above" : " below") +
                                           " ground, from a divider with a capacitor";
  const bool low = std::isfinite(range.low_v), high = std::isfinite(range.high_v);
  if (low && high && range.low_v > range.high_v)
    return text + "; no one voltage suits all cathodes: take heater windings of their own.";
  if (low || high)
    text += "; the cathodes' insulation allows " + (low ? volt(range.low_v) : "any voltage") +
            (high  ? " to " + volt(range.high_v)
             : low ? " or more"
                   : "");
  if ((low && d.heater_v < range.low_v) || (high && d.heater_v > range.high_v))
    text += ", so this has to change (heater_v)";
  return text + ".";
}

std::vector<PartLine> heaters(const Design& d, const Evaluation& e, const DesignFactors& factors) {
  std::vector<PartLine> lines;
  std::vector<std::string_view> seen;
  const Designators names(d);
  for (const Element& part : names.circuit()) {
    const std::string_view bottle = names.bottle_of(part);
    if (bottle.empty() || std::find(seen.begin(), seen.end(), bottle) != seen.end()) continue;
    seen.push_back(bottle);
    const TubeHeater& heater = section_of(part, d).tube->heater;
    if (!(heater.current_a > 0)) continue;
    auto same = std::find_if(lines.begin(), lines.end(),
                             [&](const PartLine& l) { return l.heater_v == heater.volt_v; });
    if (same == lines.end()) {
      PartLine line;
      line.kind = PartKind::supply;
      line.label = "heater supply";
      line.designators = numbered("H", static_cast<int>(lines.size()) + 1, 1);
      line.heater_v = heater.volt_v;
      line.heater_a = 0;
      line.in_circuit = false;
      line.note = elevation_in_words(d, elevation(d, e, factors));
      same = lines.insert(lines.end(), line);
    }
    *same->heater_a += heater.current_a;
    same->what = engineering_text(*same->heater_v, "V") + ", " + engineering_text(*same->heater_a, "A");
  }
  return lines;
}

/// What flows out of a held node at rest, by Kirchhoff's law at it and at all that wires make one with it.
/// Below 0: into it.
double current_out_a(const Circuit& c, const Design& d, Node held, const NodeVoltages::OfNodes& v) {
  const auto at = [&](Node n) { return v[static_cast<std::size_t>(n)]; };
  std::array<bool, Circuit::kMostNodes> here{};
  here[static_cast<std::size_t>(held)] = true;
  for (bool grown = true; grown;) {
    grown = false;
    for (const Element& e : c) {
      if (e.kind != ElementKind::resistor || !e.joins(d)) continue;
      bool &a = here[static_cast<std::size_t>(e.a)], &b = here[static_cast<std::size_t>(e.b)];
      grown = grown || a != b;
      a = b = a || b;
    }
  }
  const auto is_here = [&](Node n) { return n != kNoNode && here[static_cast<std::size_t>(n)]; };
  NodeVolts volts{};
  for (Node n = 0; n < c.nodes; ++n) volts[n] = at(n);
  double sum_a = 0;
  for (const Element& e : c) {
    if (!e.there(d)) continue;
    if (e.kind == ElementKind::triode) {
      const TriodeCurrents i = currents_of(section_of(d, e), e, volts);
      if (is_here(e.a)) sum_a += i.plate_a;
      if (is_here(e.c)) sum_a -= i.plate_a + i.grid_a + i.screen_a;
      if (is_here(e.screen)) sum_a += i.screen_a;
    } else if (e.kind == ElementKind::sink || (e.kind == ElementKind::resistor && e.stands(d))) {
      const double a = e.kind == ElementKind::sink ? e.value(d) : (at(e.a) - at(e.b)) / e.value(d);
      if (is_here(e.a)) sum_a += a;
      if (is_here(e.b)) sum_a -= a;
    }
  }
  return sum_a;
}

std::vector<PartLine> supplies(const Design& d, const Evaluation& e) {
  std::vector<PartLine> lines;
  const NodeVoltages voltages(d, e);
  if (!voltages.rest()) return lines;
  const Circuit& c = circuit_of(d);
  for (const Element& held : c) {
    if (held.kind != ElementKind::held || !held.there(d)) continue;
    const double out_a = std::abs(current_out_a(c, d, held.a, *voltages.rest()));
    constexpr double kNothing_a = 1e-9;  // grids draw nothing that a supply would have to give
    PartLine line;
    line.kind = PartKind::supply;
    line.label = held.label;
    line.designators = numbered("PS", static_cast<int>(lines.size()) + 1, 1);
    line.value = held.value(d);
    line.unit = "V";
    line.what = engineering_text(held.value(d), "V");
    if (out_a >= kNothing_a) line.what += ", " + engineering_text(out_a, "A");
    line.in_circuit = false;
    line.is_drawn = true;
    line.note =
        held.role == Role::bias_supply
            ? "Adjustable: set it so that the output valves' grids stand at their bias, before the "
              "output valves are put in."
        : held.role == Role::supply
            ? "What flows at rest; the output valves and whatever else hangs on this supply come on top."
            : "What flows at rest; whatever else hangs on this rail comes on top.";
    lines.push_back(std::move(line));
  }
  return lines;
}

int triodes(const Circuit& c) {
  return static_cast<int>(
      std::count_if(c.begin(), c.end(), [](const Element& e) { return e.kind == ElementKind::triode; }));
}

}  // namespace

std::vector<PartLine> parts_beside(const Design& d, const Evaluation& e, const DesignFactors& factors) {
  std::vector<PartLine> lines;
  const Circuit& c = circuit_of(d);
  if (const Element* coupling = first_of(c, Role::output_coupling, ElementKind::capacitor);
      coupling && d.load_ohm > 0)
    lines.push_back(leaks(d, e, *coupling, factors));
  const int sections = triodes(c);
  lines.push_back(stoppers("grid stopper", kGridStopper_ohm, 1, sections, factors));
  if (d.output_valve)
    lines.push_back(stoppers("output valve's grid stopper", kOutputGridStopper_ohm, sections + 1,
                             outputs(d.circuit), factors));
  for (PartLine& supply : supplies(d, e)) lines.push_back(std::move(supply));
  for (PartLine& heater : heaters(d, e, factors)) lines.push_back(std::move(heater));
  return lines;
}

std::vector<PartLine> order_list(const Record& r, const DesignFactors& factors,
                                 const Tolerances& tolerances) {
  std::vector<PartLine> lines = parts_list(r.design, r.evaluation, factors, r.plate_2_of, tolerances);
  for (PartLine& beside : parts_beside(r.design, r.evaluation, factors)) lines.push_back(std::move(beside));
  return lines;
}

}  // namespace antiphase
