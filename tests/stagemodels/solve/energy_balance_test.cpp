// Charge and energy in random steady states, from the node voltages and the laws of the tubes alone:
// Kirchhoff's current law at every node and instant, no mean current through any capacitor, and as much power
// taken up as the sources give (Tellegen's theorem, Philips Res. Rep. 7 (1952) 259; with no mean current a
// capacitor of constant voltage takes none).
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/circuits/coefficients.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/solve/instants.h"
#include "tests/support/random_stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

double mean_of(const Row& row) {
  double sum = 0;
  for (int k = 0; k < kInstants; ++k) sum += cycle_instants().mean[k] * row[k];
  return sum;
}

template <class Of>
Row over_instants(Of of) {
  Row row{};
  for (int k = 0; k < kInstants; ++k) row[k] = of(k);
  return row;
}

struct Balance {
  double charge = 0;     ///< largest mean capacitor current, over the supply's
  double kirchhoff = 0;  ///< largest current left at a node, over the supply's
  double still_v = 0;    ///< how much a capacitor's voltage moves over the cycle
  double energy = 0;     ///< |taken up / given - 1|
};

Balance balance_of(const Design& d, const SteadyState& s, const Waveforms& w) {
  const bool pair = d.circuit == CircuitKind::long_tailed_pair;
  const bool self_biased = pair && d.bias.form == BiasForm::self_biased;
  const bool direct = pair && d.bias.form == BiasForm::direct_coupled;
  const bool rail = pair && d.bias.form == BiasForm::negative_rail;
  const int sections = pair ? 2 : 1;
  Balance b;
  double given = 0, taken = 0;
  const auto gives = [&](auto power) { given += mean_of(over_instants(power)); };
  const auto takes = [&](auto power) { taken += mean_of(over_instants(power)); };

  // Supply and what hangs on it.
  const auto plates_a = [&](int k) {
    double sum = 0;
    for (int i = 0; i < sections; ++i) sum += (w.supply_v - w.plate_v[i][k]) / d.plate_ohm[i];
    return sum;
  };
  double supply_a = mean_of(over_instants(plates_a));
  if (d.main_supply_v > 0) {
    const double dropped = d.main_supply_v - w.supply_v;
    b.charge = std::abs(dropped / d.dropping_ohm - supply_a) / supply_a;  // the reservoir's mean current
    supply_a = dropped / d.dropping_ohm;
    given += d.main_supply_v * supply_a;
    taken += dropped * supply_a;
  } else {
    given += w.supply_v * supply_a;
  }
  const auto no_charge = [&](auto current) {
    b.charge = std::max(b.charge, std::abs(mean_of(over_instants(current))) / supply_a);
  };
  const auto node = [&](auto sum) {
    for (int k = 0; k < kInstants; ++k) b.kirchhoff = std::max(b.kirchhoff, std::abs(sum(k)) / supply_a);
  };
  const auto stands_still = [&](auto volt) {
    for (int k = 1; k < kInstants; ++k) b.still_v = std::max(b.still_v, std::abs(volt(k) - volt(0)));
  };

  // Sections by their laws.
  std::array<Row, 2> plate_a{}, grid_a{}, grid_v{};
  for (int i = 0; i < sections; ++i) {
    for (int k = 0; k < kInstants; ++k) {
      const double across = w.plate_v[i][k] - w.cathode_v[k];
      const TriodeCurrents c = d.section(static_cast<int>(i)).currents_at(w.grid_to_cathode_v[i][k], across);
      plate_a[i][k] = c.plate_a;
      grid_a[i][k] = c.grid_a;
      grid_v[i][k] = w.grid_to_cathode_v[i][k] + w.cathode_v[k];
    }
    takes([&](int k) {
      const double through = (w.supply_v - w.plate_v[i][k]) / d.plate_ohm[i];
      return through * through * d.plate_ohm[i] + w.output_v[i][k] * w.output_v[i][k] / d.load_ohm +
             (w.plate_v[i][k] - w.cathode_v[k]) * plate_a[i][k] + w.grid_to_cathode_v[i][k] * grid_a[i][k];
    });
    node([&](int k) {
      return (w.supply_v - w.plate_v[i][k]) / d.plate_ohm[i] - plate_a[i][k] - w.output_v[i][k] / d.load_ohm;
    });
    no_charge([&](int k) { return w.output_v[i][k] / d.load_ohm; });
    stands_still([&](int k) { return w.plate_v[i][k] - w.output_v[i][k]; });
  }
  const auto cathode_a = [&](int k) {
    double sum = 0;
    for (int i = 0; i < sections; ++i) sum += plate_a[i][k] + grid_a[i][k];
    return sum;
  };

  // From the cathode to ground.
  const double foot_v = rail ? d.bias.rail_v : 0;
  const auto leak_foot = [&](int k) { return self_biased ? w.tail_v[k] : direct ? grid_v[0][k] : 0.0; };
  const auto leak_a = [&](int i, int k) { return (grid_v[i][k] - leak_foot(k)) / d.grid_leak_ohm; };
  if (pair) {
    const auto tail_a = [&](int k) {
      return d.tail.form == TailForm::resistor ? w.tail_v[k] / d.tail.ohm
                                               : d.tail.current_a + w.tail_v[k] / d.tail.output_ohm;
    };
    takes([&](int k) { return w.tail_v[k] * tail_a(k); });
    gives([&](int k) { return -foot_v * tail_a(k); });
    if (self_biased) {
      const auto bias_a = [&](int k) { return (w.cathode_v[k] - w.tail_v[k]) / d.bias.ohm; };
      takes([&](int k) { return (w.cathode_v[k] - w.tail_v[k]) * bias_a(k); });
      node([&](int k) { return cathode_a(k) - bias_a(k); });
      node([&](int k) { return bias_a(k) + leak_a(0, k) + leak_a(1, k) - tail_a(k); });
    } else {
      node([&](int k) { return cathode_a(k) - tail_a(k); });
      stands_still([&](int k) { return w.cathode_v[k] - w.tail_v[k]; });
    }
  } else {
    const double bypassed = d.cathode_ohm - d.cathode_unbypassed_ohm;
    const double bypass_v = bypassed * mean_of(over_instants(cathode_a));  // no mean current in the capacitor
    stands_still([&](int k) { return w.cathode_v[k] - d.cathode_unbypassed_ohm * cathode_a(k); });
    b.still_v =
        std::max(b.still_v, std::abs(w.cathode_v[0] - d.cathode_unbypassed_ohm * cathode_a(0) - bypass_v));
    if (bypassed > 0) taken += bypass_v * bypass_v / bypassed;
    takes([&](int k) { return d.cathode_unbypassed_ohm * cathode_a(k) * cathode_a(k); });
  }

  // Grids: the source through its resistance (and a capacitor), leaks, the bypass of grid 2.
  const auto source_v = [&](int k) { return s.input_peak_v * w.drive[k] + (direct ? d.bias.grid_v : 0.0); };
  const auto source_a = [&](int k) { return grid_a[0][k] + (direct ? -leak_a(1, k) : leak_a(0, k)); };
  gives([&](int k) { return source_v(k) * source_a(k); });
  // Where a dropping resistor calls for the whole equations, a source without resistance has a milliohm.
  const double source_ohm = d.main_supply_v > 0 ? std::max(d.source_ohm, kLeastSource_ohm) : d.source_ohm;
  takes([&](int k) { return source_a(k) * source_a(k) * source_ohm; });
  stands_still([&](int k) { return source_v(k) - source_a(k) * source_ohm - grid_v[0][k]; });
  if (!direct) {
    no_charge(source_a);
    takes([&](int k) { return leak_a(0, k) * leak_a(0, k) * d.grid_leak_ohm; });
  }
  if (pair) {
    stands_still([&](int k) { return grid_v[1][k]; });
    no_charge([&](int k) { return grid_a[1][k] + leak_a(1, k); });
    takes([&](int k) { return leak_a(1, k) * leak_a(1, k) * d.grid_leak_ohm; });
  }
  b.energy = std::abs(taken / given - 1);
  return b;
}

}  // namespace

TEST_CASE(
    "charge, current and energy balance in a thousand random steady states, driven to the target and past "
    "it") {
  RandomStages stages(31);
  Balance worst;
  int at_target = 0, past = 0, conducting = 0, dropped = 0, sources = 0;
  const auto add = [&](const Design& d, const SteadyState& s, const Waveforms& w) {
    const Balance b = balance_of(d, s, w);
    worst.charge = std::max(worst.charge, b.charge);
    worst.kirchhoff = std::max(worst.kirchhoff, b.kirchhoff);
    worst.still_v = std::max(worst.still_v, b.still_v);
    worst.energy = std::max(worst.energy, b.energy);
    const bool pair = d.circuit == CircuitKind::long_tailed_pair;
    double most = s.grid_to_cathode_peak_v[0] - d.tube[0]->grid_conduction_v.value;
    if (pair) most = std::max(most, s.grid_to_cathode_peak_v[1] - d.tube[1]->grid_conduction_v.value);
    conducting += most > 0.2;
    dropped += d.main_supply_v > 0;
    sources += d.source_ohm > 0;
  };
  for (int n = 0; n < 500; ++n) {
    const Design d = stages.draw();
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes) continue;
    ++at_target;
    add(d, e.at_target, e.waveforms);
    Waveforms w;
    const SteadyState hard = steady_state_at_drive(d, 2 * e.at_target.input_peak_v, &w);
    if (hard.solved != Solved::yes) continue;
    ++past;
    add(d, hard, w);
  }
  MESSAGE("at the target ", at_target, ", at twice its drive ", past, "; a grid conducts in ", conducting,
          ", source resistance in ", sources, ", dropping resistor in ", dropped,
          "\nworst mean capacitor current ", worst.charge, " and current left at a node ", worst.kirchhoff,
          " of the supply's, capacitor voltage moves ", worst.still_v, " V, energy ", worst.energy);
  CHECK(at_target > 300);
  CHECK(past > 300);
  CHECK(conducting > 100);
  CHECK(dropped > 80);
  // Newton's last step is under 1e-5 V, its error of the order of the square of that over the diode's 0.09 V.
  CHECK(worst.charge < 1e-9);
  CHECK(worst.kirchhoff < 1e-9);
  CHECK(worst.energy < 1e-9);
  CHECK(worst.still_v < 1e-7);
}
