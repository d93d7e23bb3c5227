// The output pair against closed formulas, conservation of energy and symmetry.
#include "stagemodels/output/pair_solver.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "tests/stagemodels/output/pairs.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

PairState solved_at(const OutputPair& pair, double amplitude, const Pair& share = {1, 1}) {
  PairSolver solver(pair);
  PairRest rest;
  REQUIRE(solver.rest(rest) == Solved::yes);
  solver.drive_with_cosine(share);
  PairState state;
  REQUIRE(solver.at(amplitude, state) == Solved::yes);
  return state;
}

double given_w(const PairPowers& w) {
  return w.supply_w + w.screen_supply_w + w.driver_w;
}

double taken_w(const PairPowers& w) {
  double sum = w.load_w + w.primary_w + w.secondary_w + w.cathode_resistor_w + w.screen_resistor_w;
  for (int j = 0; j < 2; ++j) sum += w.plate_w[j] + w.screen_w[j] + w.grid_w[j];
  return sum;
}

/// Pairs of every kind: all cards, screens, biases, windings, drivers.
OutputPair random_pair(std::mt19937_64& random, const std::vector<const OutputValve*>& valves) {
  const auto uniform = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  OutputPair p;
  const OutputValve* valve = valves[random() % valves.size()];
  p.valve = {valve, valve};
  p.supply_v = uniform(250, 500);
  p.screen_v = uniform(200, 400);
  p.screens = static_cast<ScreenConnection>(random() % 3);
  p.tap = uniform(0.1, 0.6);
  p.screen_ohm = random() % 2 ? uniform(0, 1500) : 0;
  const bool triode = !has_screen(valve->law->law) || p.screens == ScreenConnection::triode;
  const double over = triode || p.screens == ScreenConnection::ultralinear ? p.supply_v : p.screen_v;
  const double mu = std::visit([](const auto& l) { return l.mu; }, valve->law->law);
  p.bias = random() % 2 ? OutputBias::fixed : OutputBias::cathode;
  p.bias_v = p.bias == OutputBias::fixed ? -over / mu * uniform(0.55, 0.95) : 0;
  p.cathode_ohm = p.bias == OutputBias::cathode ? uniform(100, 900) : 0;
  p.transformer = {.plate_to_plate_ohm = uniform(3000, 10000),
                   .load_ohm = uniform(4, 16),
                   .primary_ohm = uniform(0, 300),
                   .secondary_ohm = uniform(0, 0.6)};
  p.source_ohm = random() % 2 ? uniform(1e3, 60e3) : 0;
  p.grid_leak_ohm = random() % 2 ? uniform(47e3, 220e3) : 0;
  return p;
}

std::vector<const OutputValve*> valves_with_laws() {
  std::vector<const OutputValve*> out;
  for (const OutputValve& v : shipped().output_valves())
    if (v.law) out.push_back(&v);
  return out;
}

}  // namespace

TEST_CASE("a linear triode pair in class A is its equivalent circuit") {
  // Two sources of mu times the drive with 2 rp between them, into the load as the plates see it (Terman,
  // Radio Engineers' Handbook (1943), section 5, from memory). Windings lie in series with 2 rp and with the
  // load. The cut-off of this law bends within 1/kp of the plate voltage; far above it the law is linear to
  // rounding.
  std::mt19937_64 random(1);
  const auto uniform = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  for (int n = 0; n < 50; ++n) {
    const double mu = uniform(3, 20), rp = uniform(500, 4000);
    const OutputValve valve = valve_with(linear_triode(mu, rp));
    OutputPair p = fixed_bias_pair(valve, 300, -150 / mu, uniform(3000, 10000));
    p.transformer.load_ohm = uniform(4, 16);
    p.transformer.primary_ohm = uniform(0, 300);
    p.transformer.secondary_ohm = uniform(0, 0.6);
    const double turns = std::sqrt(p.transformer.plate_to_plate_ohm / p.transformer.load_ohm);
    const double inside = 2 * rp + p.transformer.primary_ohm;
    const double whole = p.transformer.load_ohm + p.transformer.secondary_ohm;
    const double gain = 2 * mu / turns * p.transformer.load_ohm / (whole + inside / (turns * turns));
    const double impedance = inside / (turns * turns) + p.transformer.secondary_ohm;

    PairSolver solver(p);
    PairRest rest;
    REQUIRE(solver.rest(rest) == Solved::yes);
    CHECK(within_ratio(rest.gain, gain, 1e-9));
    CHECK(within_ratio(rest.output_impedance_ohm, impedance, 1e-9));
    // a third of the way to cut-off
    const double drive = 0.3 * rest.plate_current_a[0] * rp / mu;
    solver.drive_with_cosine();
    PairState state;
    REQUIRE(solver.at(drive, state) == Solved::yes);
    CHECK(within_ratio(state.load_v[1], gain * drive, 1e-9));
    CHECK(within_ratio(state.power_w, 0.5 * gain * gain * drive * drive / p.transformer.load_ohm, 1e-9));
    CHECK(state.thd_pct < 1e-8);
    // Unequal drives: each valve brings half.
    solver.drive_with_cosine({1.2, 0.7});
    REQUIRE(solver.at(drive, state) == Solved::yes);
    CHECK(within_ratio(state.load_v[1], 0.95 * gain * drive, 1e-9));
  }
}

TEST_CASE("an ideal class B pair has the efficiency of the handbooks") {
  // pi/4 times the plate swing over the supply; its currents are half sines (Terman, Radio Engineers'
  // Handbook (1943), section 5, from memory). The law: linear above cut-off, plate without a say, a
  // thousandth to the screen. Means of half sines over 64 instants are within (pi / 63)^2 / 12 of themselves,
  // 2e-4; the screen's share is 1e-4.
  SpaceCurrentPentode law{
      .mu = 10, .ex = 1, .kg = 200, .kp = 1e5, .through = 0, .division = 1e4, .knee_v = 0.1};
  const OutputValve valve = valve_with(law);
  OutputPair p = fixed_bias_pair(valve, 400, -30, 5000);
  p.screen_v = 300;
  for (const double drive : {5.0, 10.0, 14.0}) {
    const PairState s = solved_at(p, drive);
    const double swing_v = s.load_v[1] * p.transformer.turns_ratio() / 2;
    CHECK(within_ratio(s.power_w / s.powers.supply_w, std::numbers::pi / 4 * swing_v / 400, 6e-4));
    CHECK(within_ratio(swing_v, 0.01 * drive * 5000 / 4, 3e-4));  // gm into a quarter of the load
    CHECK(s.thd_pct < 0.02);                                      // the screen's share moves with the plate
  }
}

TEST_CASE("what supplies and driver give an output pair arrives somewhere") {
  std::mt19937_64 random(2);
  const auto valves = valves_with_laws();
  int solved = 0, conducted = 0;
  for (int n = 0; n < 200; ++n) {
    const OutputPair p = random_pair(random, valves);
    CAPTURE(n);
    CAPTURE(p.valve[0]->name);
    PairSolver solver(p);
    PairRest rest;
    REQUIRE(solver.rest(rest) == Solved::yes);
    solver.drive_with_cosine({1, n % 3 == 0 ? 0.8 : 1});
    for (const double share : {0.3, 0.9, 1.4}) {
      PairState s;
      if (solver.at(share * (rest.cathode_v - p.bias_v), s) != Solved::yes) continue;
      ++solved;
      conducted += s.grid_current_peak_a[0] > 1e-4;
      CHECK(within_ratio(taken_w(s.powers), given_w(s.powers), 1e-9));
      // The cathode carries what its resistor does, and no direct current goes through a coupling capacitor.
      if (p.bias == OutputBias::cathode) {
        double a = 0;
        for (int j = 0; j < 2; ++j)
          a += s.plate_current_mean_a[j] + s.screen_current_mean_a[j] + s.grid_current_mean_a[j];
        CHECK(within_ratio(s.cathode_v, p.cathode_ohm * a, 1e-9));
      }
      if (p.grid_leak_ohm > 0)
        for (int j = 0; j < 2; ++j)
          CHECK(within(s.grid_shift_v[j], -p.grid_leak_ohm * s.grid_current_mean_a[j], 1e-7));
    }
  }
  CHECK(solved >= 570);  // of 600: heavy overdrive may fail to settle, and says so
  CHECK(conducted > 60);
}

TEST_CASE("a balanced pair has no even harmonics, and one that is not swaps them with its sides") {
  std::mt19937_64 random(3);
  const auto valves = valves_with_laws();
  for (int n = 0; n < 60; ++n) {
    const OutputPair p = random_pair(random, valves);
    CAPTURE(n);
    PairSolver solver(p);
    PairRest rest;
    REQUIRE(solver.rest(rest) == Solved::yes);
    const double drive = 0.8 * (rest.cathode_v - p.bias_v);
    const PairState s = solved_at(p, drive);
    for (int h = 2; h <= kHarmonics; h += 2)
      CHECK(within(s.load_v[static_cast<std::size_t>(h)], 0, 1e-9 * std::abs(s.load_v[1])));
    const PairState one = solved_at(p, drive, {1, 0.7}), other = solved_at(p, drive, {0.7, 1});
    CHECK(std::abs(one.load_v[2]) > 1e-6 * one.load_v[1]);
    for (int h = 1; h <= kHarmonics; ++h)
      CHECK(within(one.load_v[static_cast<std::size_t>(h)],
                   (h % 2 ? 1 : -1) * other.load_v[static_cast<std::size_t>(h)], 1e-8 * one.load_v[1]));
  }
}

TEST_CASE("small drives have the gain at rest, and two loads the output impedance") {
  // Output impedance from two loads: (U1 - U2) / (U2/R2 - U1/R1), as IEC 60268-3 has it (from memory). The
  // cycle's own curvature is of the order of the square of the drive: at a thousandth of the bias 1e-6 of the
  // gain.
  std::mt19937_64 random(4);
  const auto valves = valves_with_laws();
  for (int n = 0; n < 40; ++n) {
    OutputPair p = random_pair(random, valves);
    PairSolver solver(p);
    PairRest rest;
    REQUIRE(solver.rest(rest) == Solved::yes);
    const double drive = 1e-3 * (rest.cathode_v - p.bias_v), load = p.transformer.load_ohm;
    const double u1 = solved_at(p, drive).load_v[1];
    CHECK(within_ratio(u1 / drive, rest.gain, 1e-5));
    OutputPair lighter = p;
    lighter.transformer.load_ohm *= 1.5;
    lighter.transformer.plate_to_plate_ohm *= 1.5;  // the same turns
    const double u2 = solved_at(lighter, drive).load_v[1];
    CHECK(within_ratio((u1 - u2) / (u2 / (1.5 * load) - u1 / load), rest.output_impedance_ohm, 1e-3));
  }
}

TEST_CASE("the drive for a power is solved, and a power that is not there is said to be out of reach") {
  const OutputValve& valve = *shipped().find_output_valve("6L6GC");
  OutputPair p = fixed_bias_pair(valve, 360, -22.5, 6600);
  p.screen_v = 270;
  PairSolver solver(p);
  PairRest rest;
  REQUIRE(solver.rest(rest) == Solved::yes);
  solver.drive_with_cosine();
  PairState s;
  for (const double watts : {0.1, 5.0, 15.0, 24.0}) {
    REQUIRE(solver.at_power(watts, s) == Solved::yes);
    CHECK(within_ratio(s.power_w, watts, 1e-8));
    CHECK(within_ratio(solved_at(p, s.drive_peak_v[0]).power_w, watts, 1e-7));
  }
  CHECK(solver.at_power(200, s) == Solved::target_out_of_reach);
  CHECK(s.power_w < 2 * 360 * 2 * 360 / 6600.0);  // what a square wave of the whole supply at each plate has
  REQUIRE(solver.where_grids_conduct(s) == Solved::yes);
  CHECK(within(std::max(s.grid_to_cathode_peak_v[0], s.grid_to_cathode_peak_v[1]), valve.grid_conduction_v,
               1e-6));
  REQUIRE(solver.where_cut_off(0.01, s) == Solved::yes);
  CHECK(within_ratio(s.plate_current_low_a[0], 0.01 * rest.plate_current_a[0], 1e-6));
}

TEST_CASE("grids that conduct behind a coupling capacitor shift their bias and cut off the crest") {
  const OutputValve& valve = *shipped().find_output_valve("EL34");
  OutputPair p = fixed_bias_pair(valve, 400, -36, 3400);
  const double drive = 60;
  const PairState stiff = solved_at(p, drive);
  p.source_ohm = 40e3;
  const PairState soft = solved_at(p, drive);
  p.grid_leak_ohm = 220e3;
  const PairState shifted = solved_at(p, drive);
  CHECK(soft.grid_to_cathode_peak_v[0] < 0.2 * stiff.grid_to_cathode_peak_v[0]);
  CHECK(shifted.grid_shift_v[0] < -1);
  CHECK(shifted.thd_pct > 0);
  CHECK(soft.power_w < stiff.power_w);
}
