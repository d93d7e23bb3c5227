#include "tests/reference/random_designs.h"

#include <algorithm>
#include <cmath>

#include "tests/reference/card_tubes.h"
#include "tests/reference/triode_lines.h"

namespace antiphase::reference {
namespace {

/// The grid voltage at which a law is about half way between zero and cut-off, and the current there.
struct Estimate {
  double grid_to_cathode_v, plate_to_cathode_v, current_a;
};

/// Cut-off estimate: where va / mu + vg (+ offset) is zero, in all three laws.
double cut_off_v(const TriodeLaw& law, double va) {
  if (const auto* k = std::get_if<Koren1996>(&law)) return -va / k->mu - k->vct;
  if (const auto* l = std::get_if<ChildLangmuir>(&law)) return -va / l->mu - l->offset_v;
  return -va / std::get<DempwolfZoelzer2011>(law).mu;
}

bool plausible(const Estimate& e, double plate_ohm) {
  return e.current_a > 0.15e-3 && e.current_a < 15e-3 && plate_ohm > 3.3e3 && plate_ohm < 470e3 &&
         e.grid_to_cathode_v < -0.6;
}

Estimate estimate(Draws& draws, const TriodeLaw& law, double va) {
  const double vg = cut_off_v(law, va) * draws.between(0.3, 0.75);
  return {vg, va, published_currents(law, vg, va).plate_a};
}

/// What may be given or not; every third or so is not.
double given(Draws& draws, double low, double high) {
  const double value = draws.log_between(low, high);
  return draws.once_in(3) ? 0 : value;
}

/// Loads, source, supply and capacitors; the target swing is mostly one that the stage can do well.
/// section_a: current of the first section; supply_a: of all.
void draw_surroundings(Draws& draws, Design& d, double section_a, double supply_a) {
  d.grid_leak_ohm = draws.log_between(220e3, 2.2e6);
  d.load_ohm = std::max(draws.log_between(47e3, 1e6), 0.8 * d.plate_ohm[0]);
  const double ac_load_ohm = d.plate_ohm[0] * d.load_ohm / (d.plate_ohm[0] + d.load_ohm);
  const bool modest = !draws.once_in(3);
  d.swing_peak_v = (modest ? draws.between(0.1, 0.5) : draws.between(0.5, 1.15)) * section_a * ac_load_ohm;

  const bool pair = d.circuit == CircuitKind::long_tailed_pair || d.circuit == CircuitKind::gain_and_splitter;
  d.source_ohm = draws.once_in(2) ? 0 : draws.log_between(100, 470e3);
  if (draws.once_in(3)) {
    const double dropped = draws.between(0.03, 0.25);  // share of the main supply
    d.main_supply_v = d.supply_v / (1 - dropped);
    d.dropping_ohm = (d.main_supply_v - d.supply_v) / supply_a;
    d.reservoir_f = given(draws, 4.7e-6, 100e-6);
    d.supply_v = 0;
  }
  d.coupling_f = given(draws, 4.7e-9, 1e-6);
  if (pair) d.grid_bypass_f = given(draws, 10e-9, 1e-6);
  if (!grids_given(d)) d.input_coupling_f = given(draws, 4.7e-9, 1e-6);
  if (d.cathode_unbypassed_ohm < d.cathode_ohm) d.cathode_bypass_f = given(draws, 1e-6, 220e-6);
  d.load_f = given(draws, 5e-12, 200e-12);
  d.source_f = given(draws, 20e-12, 300e-12);
}

}  // namespace

double Draws::between(double low, double high) {
  const double unit = static_cast<double>(engine_() >> 11) * 0x1p-53;
  return low + (high - low) * unit;
}
double Draws::log_between(double low, double high) {
  return std::exp(between(std::log(low), std::log(high)));
}
std::size_t Draws::below(std::size_t count) {
  return static_cast<std::size_t>(between(0, static_cast<double>(count)));
}

namespace {

struct PairDraw {
  Design design;
  double total_a = 0;
};

/// A pair on a stiff supply, without its surroundings.
PairDraw random_pair_alone(Draws& draws, BiasForm bias, TailForm tail) {
  const auto tubes = all_tubes();
  for (;;) {
    Design d;
    d.circuit = CircuitKind::long_tailed_pair;
    d.bias.form = bias;
    d.tail.form = tail;
    d.supply_v = draws.between(200, 450);
    d.tube[0] = d.tube[1] = &tubes[draws.below(tubes.size())];
    if (draws.once_in(4)) d.tube[1] = &tubes[draws.below(tubes.size())];  // unlike sections

    const bool rail = bias == BiasForm::negative_rail;
    const double cathode_v = rail ? 2 : d.supply_v * draws.between(0.06, 0.35);
    const double drop = draws.between(0.25, 0.6);  // share of the plate resistor
    const Estimate first = estimate(draws, d.tube[0]->law(), (d.supply_v - cathode_v) * (1 - drop));
    const double second_a =
        published_currents(d.tube[1]->law(), first.grid_to_cathode_v, first.plate_to_cathode_v).plate_a;
    d.plate_ohm[0] = (d.supply_v - cathode_v) * drop / first.current_a;
    d.plate_ohm[1] = d.plate_ohm[0] * draws.between(0.9, 1.4);
    if (!plausible(first, d.plate_ohm[0]) || second_a < 0.1e-3 || second_a > 3 * first.current_a) continue;

    const double total_a = first.current_a + second_a;
    double tail_v = cathode_v;
    if (bias == BiasForm::self_biased) {
      d.bias.ohm = -first.grid_to_cathode_v / total_a;
      tail_v = cathode_v + first.grid_to_cathode_v;
    } else if (bias == BiasForm::direct_coupled) {
      d.bias.grid_v = cathode_v + first.grid_to_cathode_v;
    } else {
      d.bias.rail_v = -draws.between(30, 200);
      tail_v = -first.grid_to_cathode_v - d.bias.rail_v;
    }
    if (tail_v < 5) continue;
    if (tail == TailForm::resistor) {
      d.tail.ohm = tail_v / total_a;
    } else {
      d.tail.output_ohm = draws.log_between(10, 1000) * tail_v / total_a;
      d.tail.current_a = total_a - tail_v / d.tail.output_ohm;
    }
    return {d, total_a};
  }
}

}  // namespace

Design random_pair(Draws& draws, BiasForm bias, TailForm tail) {
  PairDraw pair = random_pair_alone(draws, bias, tail);
  draw_surroundings(draws, pair.design, pair.total_a / 2, pair.total_a);
  return pair.design;
}

namespace {

/// Puts a gain stage ahead of `d`; directly coupled its plate stands at `grid_v`. False if it is not
/// plausible. `current_a` gains what the stage draws.
bool put_stage_ahead(Draws& draws, Bypass bypass, bool direct, double grid_v, Design& d, double& current_a) {
  const auto tubes = all_tubes();
  FirstStage& f = d.first_stage;
  f.tube = &tubes[draws.below(tubes.size())];
  const double plate_v = direct ? grid_v : d.supply_v * draws.between(0.35, 0.75);
  const Estimate e = estimate(draws, f.tube->law(), plate_v);
  f.plate_ohm = (d.supply_v - plate_v) / e.current_a;
  if (!plausible(e, f.plate_ohm)) return false;
  f.cathode_ohm = -e.grid_to_cathode_v / e.current_a;
  if (bypass == Bypass::part) f.cathode_unbypassed_ohm = f.cathode_ohm * draws.between(0.05, 0.5);
  if (bypass == Bypass::none) f.cathode_unbypassed_ohm = f.cathode_ohm;
  f.grid_leak_ohm = draws.log_between(220e3, 2.2e6);
  if (bypass != Bypass::none) f.cathode_bypass_f = given(draws, 1e-6, 220e-6);
  if (!direct) f.coupling_f = given(draws, 4.7e-9, 1e-6);
  current_a += e.current_a;
  return true;
}

}  // namespace

Design random_chain(Draws& draws, BiasForm bias, TailForm tail, Bypass bypass) {
  for (;;) {
    PairDraw pair = random_pair_alone(draws, bias, tail);
    Design& d = pair.design;
    d.circuit = CircuitKind::gain_and_splitter;
    const bool direct = bias == BiasForm::direct_coupled;
    const double each_a = pair.total_a / 2;
    const double grid_v = d.bias.grid_v;
    d.bias.grid_v = 0;
    if (!put_stage_ahead(draws, bypass, direct, grid_v, d, pair.total_a)) continue;
    draw_surroundings(draws, d, each_a, pair.total_a);
    return d;
  }
}

Design random_gain_stage(Draws& draws, Bypass bypass) {
  const auto tubes = all_tubes();
  for (;;) {
    Design d;
    d.circuit = CircuitKind::common_cathode;
    d.supply_v = draws.between(200, 450);
    d.tube[0] = &tubes[draws.below(tubes.size())];
    const double drop = draws.between(0.25, 0.65);
    const Estimate e = estimate(draws, d.tube[0]->law(), d.supply_v * (1 - drop));
    d.plate_ohm[0] = d.supply_v * drop / e.current_a;
    if (!plausible(e, d.plate_ohm[0])) continue;
    d.cathode_ohm = -e.grid_to_cathode_v / e.current_a;
    if (bypass == Bypass::part) d.cathode_unbypassed_ohm = d.cathode_ohm * draws.between(0.05, 0.5);
    if (bypass == Bypass::none) d.cathode_unbypassed_ohm = d.cathode_ohm;
    draw_surroundings(draws, d, e.current_a, e.current_a);
    return d;
  }
}

namespace {

struct SplitLoadDraw {
  Design design;
  double current_a = 0;
};

/// On a stiff supply, without its surroundings.
SplitLoadDraw random_split_load_alone(Draws& draws, BiasForm bias) {
  const auto tubes = all_tubes();
  for (;;) {
    Design d;
    d.circuit = CircuitKind::split_load;
    d.bias.form = bias;
    d.supply_v = draws.between(200, 450);
    d.tube[0] = &tubes[draws.below(tubes.size())];
    const double across_load = d.supply_v * draws.between(0.12, 0.35);
    const Estimate e = estimate(draws, d.tube[0]->law(), d.supply_v - 2 * across_load);
    d.plate_ohm[0] = across_load / e.current_a;
    d.plate_ohm[1] = d.plate_ohm[0] * draws.between(0.95, 1.05);
    if (!plausible(e, d.plate_ohm[0])) continue;
    if (bias == BiasForm::self_biased)
      d.bias.ohm = -e.grid_to_cathode_v / e.current_a;
    else
      d.bias.grid_v = across_load + e.grid_to_cathode_v;
    return {d, e.current_a};
  }
}

}  // namespace

Design random_split_load(Draws& draws, BiasForm bias) {
  SplitLoadDraw splitter = random_split_load_alone(draws, bias);
  draw_surroundings(draws, splitter.design, splitter.current_a, splitter.current_a);
  return splitter.design;
}

Design random_split_load_chain(Draws& draws, BiasForm bias, Bypass bypass) {
  for (;;) {
    SplitLoadDraw splitter = random_split_load_alone(draws, bias);
    Design& d = splitter.design;
    d.circuit = CircuitKind::gain_and_split_load;
    const bool direct = bias == BiasForm::direct_coupled;
    const double grid_v = d.bias.grid_v;
    d.bias.grid_v = 0;
    double total_a = splitter.current_a;
    if (!put_stage_ahead(draws, bypass, direct, grid_v, d, total_a)) continue;
    draw_surroundings(draws, d, splitter.current_a, total_a);
    return d;
  }
}

Design random_paraphase(Draws& draws, Bypass bypass, bool floating, bool behind_first_stage) {
  const auto tubes = all_tubes();
  for (;;) {
    Design d;
    d.circuit = floating ? CircuitKind::floating_paraphase : CircuitKind::paraphase;
    d.supply_v = draws.between(200, 450);
    d.tube[0] = d.tube[1] = &tubes[draws.below(tubes.size())];
    const double drop = draws.between(0.25, 0.65);
    const Estimate e = estimate(draws, d.tube[0]->law(), d.supply_v * (1 - drop));
    d.plate_ohm[0] = d.supply_v * drop / e.current_a;
    d.plate_ohm[1] = d.plate_ohm[0] * draws.between(0.95, 1.1);
    if (!plausible(e, d.plate_ohm[0])) continue;
    d.cathode_ohm = -e.grid_to_cathode_v / (2 * e.current_a);
    if (bypass == Bypass::part) d.cathode_unbypassed_ohm = d.cathode_ohm * draws.between(0.05, 0.5);
    if (bypass == Bypass::none) d.cathode_unbypassed_ohm = d.cathode_ohm;
    double total_a = 2 * e.current_a;
    if (behind_first_stage) {
      d.circuit = floating ? CircuitKind::gain_and_floating_paraphase : CircuitKind::gain_and_paraphase;
      if (!put_stage_ahead(draws, bypass, false, 0, d, total_a)) continue;
    }
    draw_surroundings(draws, d, e.current_a, total_a);
    // The divider as somebody would choose it who takes the gain of section 2 from its curves: 20 % off.
    d.divider_ohm = draws.log_between(220e3, 1e6);
    const auto plate_a = [&](double vg, double va) {
      return published_currents(d.tube[1]->law(), vg, va).plate_a;
    };
    const double vg = e.grid_to_cathode_v, va = e.plate_to_cathode_v;
    const double gm = (plate_a(vg + 0.01, va) - plate_a(vg - 0.01, va)) / 0.02;
    const double gp = (plate_a(vg, va + 1) - plate_a(vg, va - 1)) / 2;
    const double gain = gm / (gp + 1 / d.plate_ohm[1] + 1 / d.load_ohm);
    if (gain < 3) continue;
    if (floating) {
      d.divider_foot_ohm = d.divider_ohm * draws.between(0.5, 2);
      d.balancing_ohm = d.divider_ohm * draws.between(0.9, 1.4);
    } else {
      d.divider_foot_ohm = d.divider_ohm / (gain - 1) * draws.between(0.8, 1.2);
    }
    return d;
  }
}

namespace {

/// Of one section at the estimate, by small differences.
double amplification(const TriodeLaw& law, const Estimate& e) {
  const auto plate_a = [&](double vg, double va) { return published_currents(law, vg, va).plate_a; };
  const double vg = e.grid_to_cathode_v, va = e.plate_to_cathode_v;
  return ((plate_a(vg + 0.01, va) - plate_a(vg - 0.01, va)) / 0.02) /
         ((plate_a(vg, va + 1) - plate_a(vg, va - 1)) / 2);
}

/// Puts a driver behind `d`, which has no surroundings yet. False if it is not plausible: of a tube with a
/// high amplification factor too, which nobody takes for a driver. (With its capacitors held the library sees
/// two stages coupled directly; with a gain of a thousand its own search for the capacitors' voltages does
/// not settle.)
bool put_driver_behind(Draws& draws, DriverForm form, Design& d, double& current_a) {
  const auto tubes = all_tubes();
  Driver& driver = d.driver;
  driver.form = form;
  driver.tube = &tubes[draws.below(tubes.size())];
  driver.rail_v = -draws.between(80, 250);
  driver.grid_leak_ohm = draws.log_between(220e3, 1e6);
  const bool follower = form == DriverForm::cathode_followers;
  const double cathode_v = follower ? draws.between(0.2, 0.6) * driver.rail_v : draws.between(1, 8);
  const double drop = follower ? 0 : draws.between(0.25, 0.6);
  const Estimate e = estimate(draws, driver.tube->law(), (d.supply_v - cathode_v) * (1 - drop));
  const double each_ohm = (cathode_v - driver.rail_v) / e.current_a;
  driver.cathode_ohm = follower ? each_ohm : each_ohm / 2;
  driver.plate_ohm = (d.supply_v - cathode_v) * drop / e.current_a;
  driver.bias_v = cathode_v + e.grid_to_cathode_v;
  if (!follower) driver.coupling_f = given(draws, 4.7e-9, 1e-6);
  current_a += 2 * e.current_a;
  constexpr double kMostAmplification = 40;
  if (amplification(driver.tube->law(), e) > kMostAmplification) return false;
  return plausible(e, follower ? driver.cathode_ohm : driver.plate_ohm);
}

}  // namespace

Design random_driven(Draws& draws, bool split_load, DriverForm form) {
  for (;;) {
    Design d;
    double each_a = 0, total_a = 0;
    if (split_load) {
      const SplitLoadDraw splitter = random_split_load_alone(draws, BiasForm::self_biased);
      d = splitter.design;
      each_a = total_a = splitter.current_a;
    } else {
      const PairDraw pair = random_pair_alone(draws, BiasForm::self_biased, TailForm::resistor);
      d = pair.design;
      total_a = pair.total_a;
      each_a = 0.5 * total_a;
    }
    if (!put_driver_behind(draws, form, d, total_a)) continue;
    draw_surroundings(draws, d, each_a, total_a);
    return d;
  }
}

}  // namespace antiphase::reference
