#include "results/describe/part_causes.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "stagemodels/solve/instants.h"

namespace antiphase {
namespace {

double voltage(const Element& e, const NodeVoltages::OfNodes& of) {
  return of[static_cast<std::size_t>(e.a)] - of[static_cast<std::size_t>(e.b)];
}

double mean_over_cycle(const std::vector<double>& v) {
  double mean = 0;
  for (std::size_t k = 0; k < v.size(); ++k)
    mean += cycle_instants(static_cast<int>(v.size())).mean[k] * v[k];
  return mean;
}

}  // namespace

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

Burden& burden(PartLine& part, Cause cause) {
  for (Burden& b : part.burdens)
    if (b.cause == cause) return b;
  part.burdens.push_back(
      {.cause = cause, .power_w = {}, .voltage_v = {}, .energy_j = {}, .time_constant_s = {}, .which = {}});
  return part.burdens.back();
}

void fill_power(PartLine& part, const Across& a, double ohm, double in_parallel_a) {
  if (!a.rest_v) return;
  const auto power_w = [&](double v) { return v * (v / ohm + in_parallel_a); };
  part.power_rest_w = burden(part, Cause::rest).power_w = power_w(*a.rest_v);
  part.power_worst_w = part.power_rest_w;
  if (a.cycle_v.empty()) return;
  std::vector<double> cycle_w;
  for (const double v : a.cycle_v) cycle_w.push_back(power_w(v));
  const double mean_w = mean_over_cycle(cycle_w);
  burden(part, Cause::full_drive).power_w = mean_w;
  part.power_worst_w = std::max(*part.power_rest_w, mean_w);
}

void fill_voltage(PartLine& part, const Across& a) {
  if (!a.rest_v) return;
  part.voltage_rest_v = burden(part, Cause::rest).voltage_v = std::abs(*a.rest_v);
  double highest_v = 0;
  for (const double v : a.cycle_v) highest_v = std::max(highest_v, std::abs(v));
  if (!a.cycle_v.empty()) burden(part, Cause::full_drive).voltage_v = highest_v;
  if (a.cold_v != 0) burden(part, Cause::cold).voltage_v = std::abs(a.cold_v);
  part.voltage_worst_v = std::max({std::abs(*a.rest_v), std::abs(a.cold_v), highest_v});
}

void fill_switch_on(PartLine& part, const Element& resistor, double ohm, const DescribedDesign& of) {
  for (const NodeVoltages::Charging& state : of.nodes.charging()) {
    // What charges the outputs' capacitors counts for what hangs behind them; plate resistors carry it for
    // milliseconds, which is left out.
    if (state.capacitor->role == Role::output_coupling && resistor.role != Role::divider) continue;
    const double v = std::abs(voltage(resistor, state.volts));
    if (!(v > part.voltage_worst_v.value_or(0))) continue;
    part.voltage_worst_v = v;
    Burden& b = burden(part, Cause::switch_on);
    b = {.cause = Cause::switch_on,
         .power_w = {},
         .voltage_v = v,
         .energy_j = {},
         .time_constant_s = {},
         .which = std::string(state.capacitor->label)};
    if (!(ohm > 0)) continue;
    b.power_w = v * v / ohm;
    const double full_v = std::abs(voltage(*state.capacitor, of.nodes.cold()));
    const double farad = of.values.proposed(*state.capacitor).value_or(of.values.named(*state.capacitor));
    constexpr double kSameVoltage = 1e-6;
    if (!(farad > 0) || std::abs(v - full_v) > kSameVoltage * full_v) continue;
    b.energy_j = farad * full_v * full_v / 2;
    b.time_constant_s = ohm * farad;
  }
}

void fill_fault(PartLine& part, const Element& e, double ohm, const DescribedDesign& of) {
  if (const auto worst = of.faults.worst_of(e, ohm)) part.burdens.push_back(*worst);
}

}  // namespace antiphase
