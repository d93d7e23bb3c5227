// First stages that are more than a triode on a resistor, against closed formulas (G. E. Valley and H.
// Wallman, Vacuum Tube Amplifiers, 1948, chapter 11; F. Langford-Smith, Radiotron Designer's Handbook, 4th
// ed., 1953, chapter 12; both from memory, and derived here for what loads the stage).
//
// A section obeys rp i = mu vg + va, both against its cathode. A bare resistor Re in the lower cathode makes
// its rp to rp + (mu + 1) Re. What the stage works into is Z: the splitter's grid leak, with the load
// resistor across it where the plate gives out.
//   On a plate load Z:  -mu Z / (rp + Z).
//   Cascode: the upper section gives (mu2 + 1) Z / (rp2 + Z) from its cathode, where it is (rp2 + Z) / (mu2 +
//   1). Upper section as load, R between its cathode and the lower plate, its grid at that plate's signal:
//   with i through R, k - p = R i; rp2 (i + k/Z) = -mu2 R i - k and p = -mu1 v + rp1 i give k / v = -mu1 / (1
//   + (rp1 + R) (rp2 + Z) / (Z (rp2 + mu2 R))).
//   Pentode, its screen held still: with the sum of both currents through Re, what the plate passes per volt
//   at the grid from its own slopes gm, gp, gs and those of the screen hm, hp, hs, both by grid, plate and
//   screen: (gm (1 + b) - a hm) / ((1 + a + gp Z) (1 + b) - a (b + hp Z)), a = Re (gm + gp + gs), b = Re (hm
//   + hp + hs); times -Z.
#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/network.h"
#include "stagemodels/sizing.h"
#include "stagemodels/solve/instants.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

double parallel(double a, double b) {
  return a * b / (a + b);
}

constexpr GainForm kForms[] = {GainForm::constant_current, GainForm::cascode,
                               GainForm::mu_follower,      GainForm::srpp,
                               GainForm::two_triodes,      GainForm::pentode};

struct Drawn {
  Tube pentode = pentode_with(kSmallPentode);
  Tube tubes[3] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7)};
  RandomNumbers random{std::mt19937_64(31)};

  /// A pair on a rail behind a first stage of the form, sized for a drawn current.
  Design draw(GainForm form, CircuitKind kind = CircuitKind::gain_and_splitter) {
    Design d = pair_of(tubes[2]);
    d.circuit = kind;
    d.bias.form = kind == CircuitKind::gain_and_splitter && random.below(2) ? BiasForm::negative_rail
                                                                            : BiasForm::self_biased;
    d.bias.ohm = 1.2e3;
    d.bias.rail_v = -100;
    d.tail.ohm = d.bias.form == BiasForm::negative_rail ? 22e3 : 15e3;
    d.cathode_ohm = 820;
    d.divider_foot_ohm = 33e3;
    d.balancing_ohm = 470e3;
    d.grid_leak_ohm = random.log_between(220e3, 1e6);
    d.supply_v = random.between(280, 400);
    d.load_ohm = 470e3;
    d.swing_peak_v = random.between(1, 6);
    if (random.below(2)) d.source_ohm = random.log_between(1e3, 50e3);
    FirstStage& f = d.first_stage;
    f.form = form;
    f.tube = &tubes[random.below(2)];
    f.second_tube = &tubes[random.below(2)];
    f.plate_ohm = random.log_between(33e3, 150e3);
    f.load_current_a = random.log_between(0.4e-3, 1.5e-3);
    f.load_output_ohm = random.log_between(1e6, 1e8);
    f.cathode_ohm = random.log_between(1e3, 3e3);
    f.cathode_unbypassed_ohm = random.below(2) ? random.log_between(50, 500) : 0;
    f.second_plate_ohm = random.log_between(33e3, 150e3);
    f.second_cathode_ohm = random.log_between(1e3, 3e3);
    f.second_cathode_unbypassed_ohm = random.below(2) ? random.log_between(50, 500) : 0;
    f.second_grid_leak_ohm = random.log_between(220e3, 1e6);
    f.second_grid_foot_ohm = random.between(0.2, 0.5) * f.second_grid_feed_ohm;
    if (random.below(2)) f.decoupling_ohm = random.log_between(4.7e3, 22e3);
    if (form == GainForm::pentode) {
      f.tube = &pentode;
      f.plate_ohm = random.log_between(68e3, 270e3);
      f.screen_ohm = random.between(3, 5) * f.plate_ohm;
    }
    return d;
  }
};

/// No grid of the first stage takes current, and its sections work.
bool works(const Design& d, const OperatingPoint& o) {
  const auto well = [](const SectionRest& s) {
    return s.grid_to_cathode_v < -0.4 && s.plate_current_a > 50e-6 && s.plate_to_cathode_v > 20;
  };
  return o.solved == Solved::yes && well(o.first) && (!has_second_section(d) || well(o.second));
}

double gain_of_pentode(const Design& d, const SectionRest& o) {
  const FirstStage& f = d.first_stage;
  const OutputCurrents s =
      f.tube->pentode.law.currents({o.grid_to_cathode_v, o.screen_to_cathode_v, o.plate_to_cathode_v});
  const double re = f.cathode_unbypassed_ohm, z = parallel(f.plate_ohm, d.grid_leak_ohm);
  const double a = re * (s.plate_per_grid_s + s.plate_per_plate_s + s.plate_per_screen_s);
  const double b = re * (s.screen_per_grid_s + s.screen_per_plate_s + s.screen_per_screen_s);
  return -z * (s.plate_per_grid_s * (1 + b) - a * s.screen_per_grid_s) /
         ((1 + a + s.plate_per_plate_s * z) * (1 + b) - a * (b + s.screen_per_plate_s * z));
}

double closed_gain(const Design& d, const OperatingPoint& o) {
  const FirstStage& f = d.first_stage;
  const SectionRest &lower = o.first, &upper = o.second;
  const double rp = lower.rp_ohm + (lower.mu + 1) * f.cathode_unbypassed_ohm, leak = d.grid_leak_ohm;
  const auto on_load = [](double mu, double rp_ohm, double z) { return -mu * z / (rp_ohm + z); };
  const auto under = [&](double r) {
    return -lower.mu / (1 + (rp + r) * (upper.rp_ohm + leak) / (leak * (upper.rp_ohm + upper.mu * r)));
  };
  switch (f.form) {
    case GainForm::constant_current:
      return on_load(lower.mu, rp, parallel(f.load_output_ohm, leak));
    case GainForm::cascode: {
      const double z = parallel(f.plate_ohm, leak);
      return on_load(lower.mu, rp, (upper.rp_ohm + z) / (upper.mu + 1)) * (upper.mu + 1) * z /
             (upper.rp_ohm + z);
    }
    case GainForm::mu_follower:
      return under(f.second_cathode_ohm + parallel(f.plate_ohm, f.second_grid_leak_ohm));
    case GainForm::srpp:
      return under(f.second_cathode_ohm);
    case GainForm::two_triodes:
      return on_load(lower.mu, rp, parallel(f.plate_ohm, f.second_grid_leak_ohm)) *
             on_load(upper.mu, upper.rp_ohm + (upper.mu + 1) * f.second_cathode_unbypassed_ohm,
                     parallel(f.second_plate_ohm, leak));
    case GainForm::pentode:
      return gain_of_pentode(d, lower);
    case GainForm::triode:
      break;
  }
  return 0;
}

}  // namespace

TEST_CASE("each form of a first stage has the handbooks' gain into the splitter's grid leak") {
  for (const GainForm form : kForms) {
    CAPTURE(static_cast<int>(form));
    Drawn drawn;
    int looked = 0;
    for (int n = 0; n < 300; ++n) {
      Design d = drawn.draw(form);
      if (d.bias.form != BiasForm::negative_rail) continue;  // its leak ends at ground
      Evaluation e;
      evaluate(d, Depth::small_signal, e);
      if (!works(d, e.operating_point)) continue;
      ++looked;
      CAPTURE(n);
      CHECK(within_ratio(e.small_signal.first_stage_gain, closed_gain(d, e.operating_point), 1e-9));
    }
    CHECK(looked >= 30);
  }
}

TEST_CASE("each form of a first stage rests where the list's general solver says, behind every splitter") {
  for (const CircuitKind kind : {CircuitKind::gain_and_splitter, CircuitKind::gain_and_split_load,
                                 CircuitKind::gain_and_paraphase, CircuitKind::gain_and_floating_paraphase})
    for (const GainForm form : kForms) {
      CAPTURE(static_cast<int>(kind));
      CAPTURE(static_cast<int>(form));
      Drawn drawn;
      int looked = 0;
      for (int n = 0; n < 40; ++n) {
        Design d = drawn.draw(form, kind);
        if (kind == CircuitKind::gain_and_split_load) d.plate_ohm = {47e3, 47e3};
        Evaluation e;
        evaluate(d, Depth::full, e);
        if (e.operating_point.solved != Solved::yes) continue;
        NodeVolts v;
        REQUIRE(solve_rest_point(circuit_of(d), d, {}, v));
        ++looked;
        CAPTURE(n);
        for (const int number : {kFirstStage, kGainSecond})
          if (const Element* section = circuit_of(d).section(number)) {
            const SectionRest& own = own_rest(e.operating_point, number);
            CHECK(within(v[static_cast<std::size_t>(section->a)], own.plate_v, 1e-6));
            CHECK(within(v[static_cast<std::size_t>(section->b)], own.grid_v, 1e-6));
            CHECK(within(v[static_cast<std::size_t>(section->c)], own.cathode_v, 1e-6));
            if (section->screen != kNoNode)
              CHECK(within(v[static_cast<std::size_t>(section->screen)], own.screen_v, 1e-6));
          }
      }
      CHECK(looked >= 30);
    }
}

TEST_CASE(
    "over the cycle a stack's two sections pass the same mean current, and the supply gives what they take") {
  for (const GainForm form : {GainForm::cascode, GainForm::mu_follower, GainForm::srpp}) {
    CAPTURE(static_cast<int>(form));
    Drawn drawn;
    int looked = 0;
    for (int n = 0; n < 80; ++n) {
      const Design d = drawn.draw(form);
      Evaluation e;
      evaluate(d, Depth::full, e);
      if (!works(d, e.operating_point) || e.at_target.solved != Solved::yes) continue;
      if (e.at_target.first.grid_to_cathode_peak_v > -0.4 || e.at_target.second.grid_to_cathode_peak_v > -0.4)
        continue;
      ++looked;
      CAPTURE(n);
      const double lower_a = e.at_target.first.cathode_current_mean_a;
      CHECK(within_ratio(e.at_target.second.cathode_current_mean_a, lower_a, 1e-7));
      // The rest of the supply's current is the pair's own and, of a cascode, the divider's.
      const Waveforms& w = e.waveforms;
      const Instants& at = cycle_instants(w.instants);
      double pair_a = 0, divider_a = 0;
      for (int k = 0; k < w.instants; ++k) {
        const auto at_k = static_cast<std::size_t>(k);
        pair_a += at.mean[at_k] * (w.plate_current_a[0][at_k] + w.plate_current_a[1][at_k]);
        divider_a += at.mean[at_k] * (w.second.cathode_v[at_k] + w.second.grid_to_cathode_v[at_k]) /
                     d.first_stage.second_grid_foot_ohm;
      }
      const double all_a = pair_a + lower_a + (form == GainForm::cascode ? divider_a : 0);
      CHECK(within_ratio(e.at_target.supply_current_a, all_a, 1e-7));
    }
    CHECK(looked >= 20);
  }
}

TEST_CASE("over the cycle a pentode's screen stands where its resistor carries the mean of its current") {
  Drawn drawn;
  int looked = 0;
  for (int n = 0; n < 80; ++n) {
    Design d = drawn.draw(GainForm::pentode);
    d.first_stage.decoupling_ohm = 0;
    Evaluation e;
    evaluate(d, Depth::full, e);
    if (!works(d, e.operating_point) || e.at_target.solved != Solved::yes) continue;
    if (e.at_target.first.grid_to_cathode_peak_v > -0.4) continue;
    ++looked;
    CAPTURE(n);
    const Waveforms& w = e.waveforms;
    const Instants& at = cycle_instants(w.instants);
    double screen_a = 0, pair_a = 0, plate_a = 0;
    for (int k = 0; k < w.instants; ++k) {
      const auto at_k = static_cast<std::size_t>(k);
      screen_a += at.mean[at_k] * w.first.screen_current_a[at_k];
      plate_a += at.mean[at_k] * w.first.plate_current_a[at_k];
      pair_a += at.mean[at_k] * (w.plate_current_a[0][at_k] + w.plate_current_a[1][at_k]);
    }
    const double screen_v = w.first.screen_to_cathode_v[0] + w.first.cathode_v[0];
    CHECK(within_ratio((d.supply_v - screen_v) / d.first_stage.screen_ohm, screen_a, 1e-7));
    CHECK(within_ratio(e.at_target.first.cathode_current_mean_a, plate_a + screen_a, 1e-9));
    CHECK(within_ratio(e.at_target.supply_current_a, pair_a + plate_a + screen_a, 1e-7));
  }
  CHECK(looked >= 20);
}

TEST_CASE("a pentode's noise is what a resistance in its grid's lead would make, partition and all") {
  // Harris's formula: (2.5 / gm + 20 Is / gm^2) Ia / (Ia + Is) ohm in the grid's lead make the same noise; W.
  // A. Harris, RCA Review 5 (1941) 505 (from memory).
  constexpr double k4kT = 4 * 1.380649e-23 * NoiseFigures::kTemperature_k;
  Drawn drawn;
  int looked = 0;
  for (int n = 0; n < 60; ++n) {
    const Design d = drawn.draw(GainForm::pentode);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    if (!works(d, e.operating_point)) continue;
    ++looked;
    const SectionRest& o = e.operating_point.first;
    const double equivalent_ohm = (2.5 / o.gm_s + 20 * o.screen_current_a / (o.gm_s * o.gm_s)) *
                                  o.plate_current_a / (o.plate_current_a + o.screen_current_a);
    const LinearNetwork network(d, e.operating_point, LinearNetwork::Capacitances::all);
    const Element& tube = *circuit_of(d).section(kFirstStage);
    double density = 0;
    for (const NoiseCurrent& c : network.noise_currents())
      if (c.from == tube.a && c.to == tube.c) density += c.density;
    CHECK(within_ratio(density, k4kT * o.gm_s * o.gm_s * equivalent_ohm, 1e-9));
  }
  CHECK(looked >= 20);
}

TEST_CASE(
    "a first stage of any form is sized to the current that is asked for, and holds a direct splitter's "
    "grid") {
  for (const bool direct : {false, true})
    for (const GainForm form : kForms) {
      CAPTURE(direct);
      CAPTURE(static_cast<int>(form));
      Drawn drawn;
      int looked = 0;
      for (int n = 0; n < 600; ++n) {
        Design d = drawn.draw(form);
        d.bias.form = direct ? BiasForm::direct_coupled : BiasForm::self_biased;
        d.first_stage.decoupling_ohm = 0;
        SizingInputs w{
            .supply_v = d.supply_v,
            .tail_fraction = direct ? 0.35 : 0.1,
            .plate_current_a = 2e-3,
            .plate_ohm = 33e3,
            .plate_ohm_ratio = 1.1,
            .first_plate_ohm = (direct && form == GainForm::cascode ? 3 : 1) * d.first_stage.plate_ohm,
            .first_plate_current_a = d.first_stage.load_current_a};
        if (size_stage(w, d) > 0) continue;
        // A cathode resistor that would have to be smaller than its own bare part is no answer.
        const FirstStage& f = d.first_stage;
        if (f.cathode_ohm < 2 + f.cathode_unbypassed_ohm ||
            (form == GainForm::two_triodes && f.second_cathode_ohm < 2 + f.second_cathode_unbypassed_ohm))
          continue;
        Evaluation e;
        evaluate(d, Depth::rest, e);
        if (!works(d, e.operating_point)) continue;
        ++looked;
        CAPTURE(n);
        const bool follows = direct && (form == GainForm::cascode || form == GainForm::pentode);
        if (!follows)
          CHECK(within_ratio(e.operating_point.first.plate_current_a, w.first_plate_current_a, 0.03));
        if (direct) {
          // Sized for equal currents in the pair, whose tail then carries both.
          CHECK(within_ratio(e.operating_point.tail_current_a, 2 * w.plate_current_a, 0.1));
        }
      }
      CHECK(looked >= 10);
    }
}
