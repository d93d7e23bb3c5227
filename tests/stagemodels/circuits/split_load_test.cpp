// The split-load splitter against the closed formulas of the phase splitter with equal loads in plate and
// cathode (F. Langford-Smith, Radiotron Designer's Handbook, 4th ed., 1953, chapter 7, from memory; derived
// here).
//
// For the signal the section obeys rp i = mu vg - (mu + 1) vk + vp, with i the current out of the cathode.
// Direct-coupled, with Z = R || load at the plate and at the cathode: vp = -i Z and vk = i Z, so that
//   i (rp + (mu + 2) Z) = mu vg, both gains mu Z / (rp + (mu + 2) Z) in size.
// Self-biased, the leak Rg rides on the upper end of the cathode load, the joint s. With Zs = Z || Rg:
//   vp = -i Z, vs = (i + vg / Rg) Zs, vk = vs + i Rb, so that
//   i (rp + Z + (mu + 1) (Rb + Zs)) = (mu - (mu + 1) Zs / Rg) vg.
// Output impedances are those without loads and with the grid at rest: currents i1 into the plate and i2 into
// the upper end of the cathode load, Z = R,
//   vp = R (i1 - i), vs = (i + i2) Zs, vk = vs + i Rb, so that
//   i (rp + R + (mu + 1) (Rb + Zs)) = R i1 - (mu + 1) Zs i2.
// Without Rb and Rg that is R || (rp + (mu + 1) R) at the plate, R || (rp + R) / (mu + 1) at the cathode, and
// R rp / (rp + (mu + 2) R) for both outputs loaded alike and opposite.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "stagemodels/solve/impedance_in_place.h"
#include "stagemodels/solve/instants.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

double parallel(double a, double b) {
  return a * b / (a + b);
}

Design splitter_of(const Tube& tube, BiasForm bias) {
  Design d;
  d.circuit = CircuitKind::split_load;
  d.tube = {&tube, &tube};
  d.supply_v = 300;
  d.plate_ohm = {22e3, 22e3};
  d.bias.form = bias;
  d.bias.ohm = 1.8e3;
  d.bias.grid_v = 75;
  d.grid_leak_ohm = 470e3;
  d.load_ohm = 220e3;
  d.swing_peak_v = 15;
  return d;
}

struct Drawn {
  Tube tubes[3] = {tube_with(kKoren12AU7), tube_with(kKoren12AT7), tube_with(ChildLangmuir{1.5e-3, 60, 0.5})};
  RandomNumbers random{std::mt19937_64(11)};
  Design draw(BiasForm bias) {
    Design d = splitter_of(tubes[random.below(3)], bias);
    d.supply_v = random.between(200, 450);
    d.plate_ohm[0] = d.plate_ohm[1] = random.log_between(10e3, 100e3);
    d.bias.ohm = random.log_between(300, 5e3);
    d.bias.grid_v = d.supply_v * random.between(0.1, 0.3);
    d.grid_leak_ohm = random.log_between(100e3, 2e6);
    d.load_ohm = random.log_between(47e3, 1e6);
    return d;
  }
};

/// A rest point at which the grid takes no current and the section works.
bool works(const OperatingPoint& o) {
  return o.solved == Solved::yes && o.plate_current_a[0] > 20e-6 && o.grid_to_cathode_v[0] < -0.5 &&
         o.plate_to_cathode_v[0] > 20;
}

/// mu, rp of the section, R of each load, Rb and Rg (1 / Rg = 0: none).
struct Splitter {
  double mu, r, R, Rb, leak_s;
  double current(double into_plate, double into_cathode, double Zs) const {
    return (R * into_plate - (mu + 1) * Zs * into_cathode) / (r + R + (mu + 1) * (Rb + Zs));
  }
  double joint_ohm() const { return 1 / (1 / R + leak_s); }
  double plate_v(double i1, double i2) const { return R * (i1 - current(i1, i2, joint_ohm())); }
  double joint_v(double i1, double i2) const { return joint_ohm() * (current(i1, i2, joint_ohm()) + i2); }
};

double mean_of(const Row& row) {
  double sum = 0;
  for (int k = 0; k < kInstants; ++k) sum += cycle_instants().mean[k] * row[k];
  return sum;
}

}  // namespace

// Both sides are exact, so that only rounding is left, as with the pair (small_signal_formulas_test.cpp).
constexpr double kRounding = 1e-9;

TEST_CASE("a split load on the plate of the stage before has the handbook's gains and impedances") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 200; ++n) {
    const Design d = drawn.draw(BiasForm::direct_coupled);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double mu = o.mu[0], r = o.rp_ohm[0], R = d.plate_ohm[0], Z = parallel(R, d.load_ohm);
    const double gain = mu * Z / (r + (mu + 2) * Z);
    const SmallSignal& s = e.small_signal;
    CHECK(within_ratio(s.gain[0], -gain, kRounding));
    CHECK(within_ratio(s.gain[1], gain, kRounding));
    CHECK(within_ratio(s.cathode_gain, gain, kRounding));
    CHECK(within(s.balance_pct, 0, 100 * kRounding));
    CHECK(within_ratio(s.output_impedance_alone_ohm[0], parallel(R, r + (mu + 1) * R), kRounding));
    CHECK(within_ratio(s.output_impedance_alone_ohm[1], parallel(R, (r + R) / (mu + 1)), kRounding));
    const Pair in_place = output_impedance_in_place_ohm(s, d.load_ohm, 2);
    CHECK(within_ratio(in_place[0], parallel(Z, r + (mu + 1) * Z), kRounding));
    CHECK(within_ratio(in_place[1], parallel(Z, (r + Z) / (mu + 1)), kRounding));
    for (const double ohm : s.output_impedance_differential_ohm)
      CHECK(within_ratio(ohm, R * r / (r + (mu + 2) * R), kRounding));
    CHECK(s.input_ohm == 0);  // no leak: it takes no signal current
  }
  CHECK(solved > 150);
}

TEST_CASE("a self-biased split load solves the three equations of plate, cathode and joint") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 200; ++n) {
    const Design d = drawn.draw(BiasForm::self_biased);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double mu = o.mu[0], r = o.rp_ohm[0], R = d.plate_ohm[0], Rb = d.bias.ohm, Rg = d.grid_leak_ohm;
    const double Z = parallel(R, d.load_ohm), Zs = parallel(Z, Rg);
    const double i = (mu - (mu + 1) * Zs / Rg) / (r + Z + (mu + 1) * (Rb + Zs));
    const double joint = (i + 1 / Rg) * Zs;
    const SmallSignal& s = e.small_signal;
    CHECK(within_ratio(s.gain[0], -i * Z, kRounding));
    CHECK(within_ratio(s.gain[1], joint, kRounding));
    CHECK(within_ratio(s.cathode_gain, joint + i * Rb, kRounding));
    // The leak's lower end follows the grid, so that it takes only the rest.
    CHECK(within_ratio(s.input_ohm, Rg / (1 - joint), kRounding));
    CHECK(s.input_ohm > 1.5 * Rg);
    const Splitter alone{mu, r, R, Rb, 1 / Rg};
    CHECK(within_ratio(s.output_impedance_alone_ohm[0], alone.plate_v(1, 0), kRounding));
    CHECK(within_ratio(s.output_impedance_alone_ohm[1], alone.joint_v(0, 1), kRounding));
    CHECK(within_ratio(s.output_impedance_differential_ohm[0], alone.plate_v(1, -1), kRounding));
    CHECK(within_ratio(s.output_impedance_differential_ohm[1], -alone.joint_v(1, -1), kRounding));
  }
  CHECK(solved > 120);
}

TEST_CASE("a split load rests where Ohm's law along its one current says") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 200; ++n) {
    const bool self = n % 2 == 0;
    const Design d = drawn.draw(self ? BiasForm::self_biased : BiasForm::direct_coupled);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double I = o.plate_current_a[0], R = d.plate_ohm[0], Rb = self ? d.bias.ohm : 0;
    // Bias -0.5 V or more: the grid takes less than 1e-6 of the plate's current, which is left out here.
    const double share = 2e-6;
    CHECK(within_ratio(I * (2 * R + Rb) + o.plate_to_cathode_v[0], d.supply_v, share));
    CHECK(within_ratio(o.cathode_v, I * (R + Rb), share));
    CHECK(within_ratio(o.plate_v[0], d.supply_v - I * R, share));
    CHECK(within(o.grid_v[0], self ? I * R : d.bias.grid_v, share * d.supply_v));
    CHECK(within_ratio(o.supply_current_a, I, share));
    const double across = d.supply_v - I * (2 * R + Rb);
    const double grid = self ? -I * Rb : d.bias.grid_v - I * R;
    CHECK(within_ratio(d.section(0).currents_at(grid, across).plate_a, I, 1e-4));  // gm times 2e-6 of 450 V
  }
  CHECK(solved > 140);
}

TEST_CASE("a split load is clean until its grid reaches conduction") {
  const Tube tube = tube_with(kKoren12AU7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled}) {
    const Design d = splitter_of(tube, bias);
    Evaluation e;
    evaluate(d, Depth::full, e);
    REQUIRE(e.clean.solved == Solved::yes);
    CHECK(e.clean.limited_by == CleanLimit::grid_conduction);
    const SteadyState at = steady_state_at_drive(d, e.clean.input_peak_v, nullptr);
    // The limit is found to a thousandth of the swing; the grid moves less than half as far as an output.
    CHECK(within(at.grid_to_cathode_peak_v[0], tube.grid_conduction_v.value, 5e-4 * e.clean.swing_peak_v));
    CHECK(within_ratio(std::min(at.output_peak_v[0], at.output_peak_v[1]), e.clean.swing_peak_v, 1e-3));
    // Between rest and the crest the grid has moved by what is left of the drive after the cathode's share;
    // the section's own curvature, some per cent of it, is left out.
    const double moves = e.clean.input_peak_v * (1 - e.small_signal.cathode_gain);
    CHECK(within_ratio(moves, tube.grid_conduction_v.value - e.operating_point.grid_to_cathode_v[0], 0.15));
  }
}

TEST_CASE("the cathode of a directly coupled split load rises and falls with output 2") {
  const Tube tube = tube_with(kKoren12AU7);
  const Design d = splitter_of(tube, BiasForm::direct_coupled);
  Evaluation e;
  evaluate(d, Depth::at_target, e);
  const SteadyState& s = e.at_target;
  REQUIRE(s.solved == Solved::yes);
  const Waveforms& w = e.waveforms;
  double high = w.output_v[1][0], low = high;
  for (int k = 1; k < w.instants; ++k) {
    high = std::max(high, w.output_v[1][static_cast<std::size_t>(k)]);
    low = std::min(low, w.output_v[1][static_cast<std::size_t>(k)]);
  }
  CHECK(within(s.cathode_high_v - s.cathode_low_v, high - low, 1e-9 * d.supply_v));
  // A quadratic curve moves the mean as far as its second harmonic reaches; higher ones less.
  const double shift = 2 * s.thd_pct[1] / 100 * s.output_peak_v[1];
  CHECK(within(s.cathode_high_v, e.operating_point.cathode_v + s.output_peak_v[1], shift));
  CHECK(shift < 0.2);
}

TEST_CASE("charge and energy balance in a split load, driven to the target and past it") {
  Drawn drawn;
  int balanced = 0, conducting = 0, cut_off = 0;
  double worst = 0;
  for (int n = 0; n < 200; ++n) {
    const bool self = n % 2 == 0;
    const Design d = drawn.draw(self ? BiasForm::self_biased : BiasForm::direct_coupled);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    // The cathode follows the grid, so that many times the bias go before the grid conducts or the section is
    // cut off; the largest drives do both.
    const double peak_v = drawn.random.between(0.2, 12) * -o.grid_to_cathode_v[0];
    Waveforms w;
    const SteadyState s = steady_state_at_drive(d, peak_v, &w);
    if (s.solved != Solved::yes) continue;
    REQUIRE(w.instants == kInstants);
    ++balanced;
    conducting += s.grid_to_cathode_peak_v[0] > 0;
    cut_off += s.plate_current_low_a[0] < 0.01 * o.plate_current_a[0];
    const double R = d.plate_ohm[0], Rb = d.bias.ohm, Rg = d.grid_leak_ohm, RL = d.load_ohm;
    Row given{}, taken{}, input{}, one{}, two{};
    for (int k = 0; k < kInstants; ++k) {
      const double vk = w.cathode_v[k], vg = w.grid_to_cathode_v[0][k] + vk, vp = w.plate_v[0][k];
      const double vs = self ? w.tail_v[k] : vk, o1 = w.output_v[0][k], o2 = w.output_v[1][k];
      const TriodeCurrents c = d.section(0).currents_at(vg - vk, vp - vk);
      const double plate_a = (d.supply_v - vp) / R, leak_a = self ? (vg - vs) / Rg : 0;
      const double cathode_a = c.plate_a + c.grid_a;
      input[k] = c.grid_a + leak_a;
      one[k] = o1 / RL;
      two[k] = o2 / RL;
      worst = std::max(worst, std::abs(plate_a - c.plate_a - one[k]) / o.supply_current_a);
      worst = std::max(worst, std::abs(cathode_a + leak_a - vs / R - two[k]) / o.supply_current_a);
      if (self) worst = std::max(worst, std::abs(cathode_a - (vk - vs) / Rb) / o.supply_current_a);
      const double source_v = peak_v * w.drive[k] + (self ? 0 : d.bias.grid_v);
      given[k] = d.supply_v * plate_a + source_v * input[k];
      taken[k] = plate_a * plate_a * R + (vp - vk) * c.plate_a + (vg - vk) * c.grid_a + vs * vs / R +
                 (o1 * o1 + o2 * o2) / RL + leak_a * leak_a * Rg + (self ? (vk - vs) * (vk - vs) / Rb : 0);
    }
    for (const Row* a : {&one, &two}) worst = std::max(worst, std::abs(mean_of(*a)) / o.supply_current_a);
    if (self) worst = std::max(worst, std::abs(mean_of(input)) / o.supply_current_a);
    worst = std::max(worst, std::abs(mean_of(taken) / mean_of(given) - 1));
  }
  MESSAGE(balanced << " states, in " << conducting << " the grid conducts, " << cut_off
                   << " are cut off for a part of the cycle; worst share left over " << worst);
  CHECK(balanced > 140);
  CHECK(conducting > 5);
  CHECK(cut_off > 5);
  CHECK(worst < 1e-9);  // as in all random states (energy_balance_test.cpp)
}
