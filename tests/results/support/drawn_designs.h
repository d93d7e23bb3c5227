/// Designs of every circuit in every choice of forms, with the optional parts there and not there, each with
/// made-up figures whose words are as long as they come.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"

namespace antiphase::sample {

struct DrawnDesign {
  std::string name;
  Record record;
};

inline const Tube& drawn_tube() {
  static const Tube tube = [] {
    Tube t;
    t.name = "6SN7GTB";
    t.sections = 2;
    t.base = TubeBase{"noval",
                      "9A",
                      {Pin::plate_2, Pin::grid_2, Pin::cathode_2, Pin::heater, Pin::heater, Pin::plate_1,
                       Pin::grid_1, Pin::cathode_1, Pin::heater_tap},
                      "test"};
    t.heater.current_a = 0.6;
    t.models.push_back({Koren1996{100, 1.4, 1060, 600, 300, 0}, "test"});
    return t;
  }();
  return tube;
}

inline const OutputValve& drawn_valve() {
  static const OutputValve valve = [] {
    OutputValve v;
    v.name = "6L6GC";
    return v;
  }();
  return valve;
}

/// What a drawn design has: how much of a cathode resistor no capacitor bridges, and which things are there.
struct DrawnVariant {
  double unbypassed_share = 0;
  bool main_supply = false, clamp = false, capacitors_given = true, surroundings = true, solved = true;
};

/// Every number of the design has four digits, or three where it is a capacitor: "148.3 kΩ".
inline Record drawn_record(CircuitKind kind, const Form& form, const DrawnVariant& v) {
  Record r;
  Design& d = r.design;
  d.circuit = kind;
  d.tube = {&drawn_tube(), &drawn_tube()};
  d.first_stage.tube = d.driver.tube = &drawn_tube();
  d.driver.form = form.driver;
  d.driver.rail_v = -148.3;
  d.driver.bias_v = -72.34;
  for (const DesignField& f : design_fields()) {
    if (f.role == FieldRole::resistor) f.at(d) = 148.3e3;
    if (f.role == FieldRole::capacitor) f.at(d) = v.capacitors_given ? 22.3e-6 : 0;
  }
  d.bias.form = form.bias;
  d.tail.form = form.tail;
  d.feedback.given = form.feedback;
  d.feedback.resistor_ohm = 0;
  d.first_stage.decoupling_ohm = v.clamp ? 148.3e3 : 0;
  d.bias.grid_clamp = v.clamp;
  d.bias.grid_v = 88.83;
  d.bias.rail_v = -108.3;
  d.tail.current_a = 2.345e-3;
  d.tail.output_ohm = 1.283e6;
  d.supply_v = 398.8;
  d.main_supply_v = v.main_supply ? 448.8 : 0;
  d.load_ohm = 228.3e3;
  d.load_f = v.surroundings ? 122.3e-12 : 0;
  d.source_ohm = v.surroundings ? 10.13e3 : 0;
  d.source_f = v.surroundings ? 222.3e-12 : 0;
  d.output_valve = v.surroundings ? &drawn_valve() : nullptr;
  d.swing_peak_v = 30;
  for (const Element& e : circuit_of(d))
    if (e.role == Role::cathode_unbypassed) e.member->at(d) = v.unbypassed_share * 148.3e3;

  if (v.main_supply) r.plate_2_of = engine::TwoPart{282.3e3, 312.3e3, true, 148.3e3, 0};
  if (!v.solved) return r;
  OperatingPoint& o = r.evaluation.operating_point;
  o.solved = Solved::yes;
  o.supply_v = 398.8;
  o.plate_v = {88.83, 88.83};
  o.grid_v = {61.23, 61.23};
  o.cathode_v = 62.34;
  o.leak_node_v = o.tail_v = 61.23;
  o.first.plate_v = 88.83;
  o.first.cathode_v = 12.34;
  for (SectionRest& driver : o.driver) {
    driver.plate_v = form.driver == DriverForm::cathode_followers ? 398.8 : 188.8;
    driver.cathode_v = -62.34;
    driver.grid_v = -72.34;
  }
  r.evaluation.feedback.known = form.feedback;
  r.evaluation.feedback.resistor_ohm = 12.34e3;
  return r;
}

inline std::vector<DrawnDesign> drawn_designs() {
  std::vector<DrawnDesign> out;
  constexpr BiasForm kNoBias[] = {BiasForm::self_biased};
  constexpr TailForm kNoTail[] = {TailForm::resistor};
  const DrawnVariant variants[] = {{0, false, false, true, true, true},
                                   {0.3, true, true, true, true, true},
                                   {1, true, true, false, false, true},
                                   {0.3, false, true, false, true, false},
                                   {1, false, true, true, false, true}};
  for (const CircuitEntry& entry : circuits())
    for (const BiasForm bias :
         entry.bias_forms.empty() ? std::span<const BiasForm>(kNoBias) : entry.bias_forms)
      for (const TailForm tail :
           entry.tail_forms.empty() ? std::span<const TailForm>(kNoTail) : entry.tail_forms)
        for (const bool feedback : {false, true})
          for (const DriverForm driver : driver_forms(entry.kind))
            for (const DrawnVariant& v : variants) {
              if (feedback && v.unbypassed_share == 0) continue;  // feedback needs the bare resistor
              if (feedback && entry.describe({bias, tail, true}).feedback == kNoNode) continue;
              const std::string name = std::string(entry.name) + " " + std::string(name_of(bias)) + " " +
                                       std::string(name_of(tail)) + (feedback ? " feedback " : " ") +
                                       std::string(name_of(driver)) + " " + std::to_string(&v - variants);
              out.push_back({name, drawn_record(entry.kind, {bias, tail, feedback, driver}, v)});
            }
  return out;
}

}  // namespace antiphase::sample
