// Readings of signals: the gain beside the linear network's, and what they tell that direct voltages do not.
#include <bit>

#include "objectives/diagnosis/signal_gain.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/network.h"
#include "stagemodels/solve/impedance_in_place.h"
#include "tests/objectives/diagnosis/simulated_boxes.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Without feedback, which neither has, and without the source's own resistance: the generator holds the
/// input.
LinearResponse response_of(Design d, double hz) {
  d.source_ohm = 0;
  Evaluation e;
  evaluate(d, Depth::rest, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  return LinearNetwork(d, e.operating_point).from_input(hz);
}

BenchPoint read_all(const BenchModel& model, const Fault& fault, const Deviates& z = {}) {
  BenchPoint point;
  REQUIRE(model.read(fault, z, false, model.everything(), point));
  return point;
}

}  // namespace

TEST_CASE("the gain of a sound box is that of the linear network, at every output and frequency") {
  for (const Design& d : shipped_designs())
    for (const double hz : {20.0, 1e3, 50e3}) {
      std::vector<BenchReading> signals;
      for (int i = 0; i < circuit_of(d).outputs; ++i) signals.push_back(signal_reading(d, i, hz, 1, 0));
      const BenchModel model(d, {}, 0, 1e12, signals);
      const BenchPoint point = read_all(model, {});
      const LinearResponse expected = response_of(d, hz);
      for (std::size_t i = 0; i < signals.size(); ++i) {
        CAPTURE(hz);
        CHECK(within_ratio(point.shown[model.readings().size() - signals.size() + i],
                           std::abs(expected.output[i]), 1e-4));
      }
    }
}

TEST_CASE("a load across an output takes what the output impedance says") {
  const Design d = shipped_design("high_mu_self_biased");
  Evaluation e;
  evaluate(d, Depth::full, e);
  const double load_ohm = 100e3;
  const std::vector signals{signal_reading(d, 0, 1e3, 1, 0), signal_reading(d, 0, 1e3, 1, load_ohm)};
  const BenchModel model(d, {}, 0, 1e12, signals);
  const BenchPoint point = read_all(model, {});
  const std::size_t first = model.readings().size() - 2;
  // Thevenin: the drop is Z / (Z + R), Z with the leaks of the load in place; at 1 kHz capacitors are shorts
  // but for a part in a thousand.
  const double inner = output_impedance_in_place_ohm(e.small_signal, d.load_ohm, 2)[0];
  const double drop = 1 - point.shown[first + 1] / point.shown[first];
  CHECK(within_ratio(drop, inner / (inner + load_ohm), 5e-3));
}

TEST_CASE("by how much signals and mains move is what small steps of each unknown say") {
  for (const char* name : {"high_mu_self_biased", "chain_capacitor_coupled", "split_load_self_biased"}) {
    const Design d = shipped_design(name);
    const std::vector more{signal_reading(d, 0, 1e3, 0.1, 0), mains_reading(false, 230)};
    const BenchModel model(d, {}, 0, 10e6, more);
    const Fault none{};
    Deviates z{};
    for (int u = 0; u < model.scattered(); ++u) z[static_cast<std::size_t>(u)] = 0.3 * ((u % 5) - 2);
    BenchPoint point;
    Moves moves;
    REQUIRE(model.read_with_moves(none, z, false, model.everything(), point, moves));
    constexpr double kStep = 0.01;
    for (std::size_t k = model.readings().size() - 2; k < model.readings().size(); ++k)
      for (std::size_t u = 0; u < static_cast<std::size_t>(model.scattered()); ++u) {
        Deviates up = z, down = z;
        up[u] += kStep;
        down[u] -= kStep;
        const double slope =
            (read_all(model, none, up).shown[k] - read_all(model, none, down).shown[k]) / (2 * kStep);
        CAPTURE(u);
        CHECK(within(moves[k][u], slope, 1e-3 * point.shown[k]));
      }
  }
}

TEST_CASE("a capacitor that passes no signal is found by signals, and by direct voltages never") {
  const Design d = shipped_design("high_mu_self_biased");
  const std::vector signals{signal_reading(d, 0, 1e3, 0.1, 0), signal_reading(d, 1, 1e3, 0.1, 0)};
  const BenchModel model(d, {}, 0, 10e6, signals);
  const auto with = faults_of(d, true), without = faults_of(d);
  REQUIRE(with.size() > without.size());
  int found = 0;
  for (std::size_t k = without.size(); k < with.size(); ++k) {
    const BenchPoint point = read_all(model, with[k]), sound = read_all(model, {});
    bool moved = false;
    for (std::size_t i = model.readings().size() - 2; i < model.readings().size(); ++i)
      moved |= std::abs(point.shown[i] / sound.shown[i] - 1) > 0.2;
    if (!moved) continue;  // one that matters at low frequencies alone
    Taken t;
    for (std::size_t i = 0; i < model.readings().size(); ++i) {
      const std::string_view name = model.readings()[i].name;
      if (i + 2 < model.readings().size() && name != "plate_1_v" && name != "plate_2_v" &&
          name != "cathode_v" && name != "supply_v")
        continue;
      t.wanted |= 1u << i;
      t.volts[i] = point.shown[i];
      t.deviation_v[i] = reading_deviation_v(model.readings()[i], point.shown[i], kMeterAccuracy_pct, 0.1);
    }
    DiagnosisAsk ask;
    ask.more = signals;
    const Diagnosis told = diagnose(d, {}, t, ask);
    CAPTURE(with[k].name);
    CHECK(told.faults[told.told.front().fault].name == with[k].name);
    CHECK(told.explained);
    ++found;
  }
  CHECK(found >= 2);
}

TEST_CASE("mains that were read narrow the supply") {
  const Design d = shipped_design("high_mu_self_biased");
  const std::vector more{mains_reading(false, 230)};
  const BenchModel model(d, {}, 0, 10e6, more);
  const BenchPoint sound = read_all(model, {});
  const auto width = [&](bool mains) {
    Taken t;
    for (std::size_t i = 0; i < model.readings().size(); ++i)
      if (model.readings()[i].name == "cathode_v" || (mains && model.readings()[i].name == "mains_v")) {
        t.wanted |= 1u << i;
        t.volts[i] = sound.shown[i];
        t.deviation_v[i] = reading_deviation_v(model.readings()[i], sound.shown[i], kMeterAccuracy_pct, 0.1);
      }
    DiagnosisAsk ask;
    ask.more = more;
    const Diagnosis told = diagnose(d, {}, t, ask);
    for (std::size_t q = 0; q < told.quantities.size(); ++q)
      if (told.quantities[q].name == "supply") return told.quantity[q].high - told.quantity[q].low;
    FAIL("no such quantity");
    return 0.0;
  };
  CHECK(width(true) < 0.8 * width(false));
}
