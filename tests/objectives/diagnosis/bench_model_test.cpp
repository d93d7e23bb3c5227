// What the bench reads against the plain rest point with a meter in it, and the slopes of the readings
// against differences.
#include "objectives/diagnosis/bench_model.h"

#include <doctest/doctest.h>

#include <set>

#include "objectives/builds/faulty_parts.h"
#include "objectives/builds/readings.h"
#include "stagemodels/evaluate.h"
#include "tests/objectives/diagnosis/simulated_boxes.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

const Fault kNone{};

Deviates drawn(int unknowns, std::uint64_t seed) {
  engine::RandomNumbers random(seed);
  Deviates z{};
  for (int u = 0; u < unknowns; ++u)
    z[static_cast<std::size_t>(u)] = engine::normal_quantile(0.02 + 0.96 * random.unit());
  return z;
}

const Fault& fault_named(const std::vector<Fault>& faults, std::string_view name) {
  const auto it = std::find_if(faults.begin(), faults.end(), [&](const Fault& f) { return f.name == name; });
  if (it == faults.end()) FAIL("no fault " << name);
  return *it;
}

unsigned all_of_them(const BenchModel& model) {
  return (1u << model.readings().size()) - 1;
}

}  // namespace

TEST_CASE("without scatter a meter that takes nothing reads what the sheet expects") {
  for (const Design& d : shipped_designs()) {
    Evaluation e;
    evaluate(d, Depth::rest, e);
    const BenchModel model(d, {}, 0, 1e15);
    BenchPoint point;
    REQUIRE(model.read(kNone, {}, false, all_of_them(model), point));
    int compared = 0;
    for (std::size_t k = 0; k < readings_at_rest(); ++k) {
      const auto expected = readings()[k].measure(d, e);
      const int place = place_of_reading(model.readings(), readings()[k].name);
      if (!expected || place < 0) continue;
      CAPTURE(readings()[k].name);
      // the sheet's simplifications (no grid current where a grid is silent) and 1e15 ohm
      CHECK(within(point.shown[static_cast<std::size_t>(place)], *expected, 1e-3));
      ++compared;
    }
    CHECK(compared >= 4);
  }
}

TEST_CASE("a reading is the circuit solved with the meter in it") {
  for (const Design& d : shipped_designs()) {
    const BenchModel model(d, {}, 0, 10e6);
    for (std::uint64_t seed = 1; seed <= 3; ++seed) {
      const Deviates z = drawn(model.scattered(), seed);
      BenchPoint point;
      REQUIRE(model.read(kNone, z, false, all_of_them(model), point));
      const Design build = model.build(kNone, z);
      for (std::size_t k = 0; k < model.readings().size(); ++k) {
        const BenchReading& r = model.readings()[k];
        CAPTURE(r.name);
        const Bridge meter{r.a, r.b, 10e6};
        NodeVolts v;
        REQUIRE(RestCircuit(circuit_of(build), build, {}, {&meter, 1}).solve(v));
        const double exact = v[static_cast<std::size_t>(r.a)] - v[static_cast<std::size_t>(r.b)];
        // where the meter takes under 2 %, the tubes' slopes move by some percent of that over what it takes:
        // two parts in a hundred thousand of 350 V
        CHECK(within(point.shown[k], exact, 0.01));
      }
    }
  }
}

TEST_CASE("what a move of an unknown does to the readings is what differences say") {
  for (const Design& d : shipped_designs()) {
    const std::vector<Fault> faults = faults_of(d);
    const BenchModel model(d, {}, 0, 10e6);
    for (const std::string_view name : {"none", "section_1_weak", "plate_resistor_1_too_high"}) {
      const Fault& fault = fault_named(faults, name);
      const Deviates z = drawn(model.unknowns(fault), 5);
      BenchPoint point;
      Moves moves;
      REQUIRE(model.read_with_moves(fault, z, false, all_of_them(model), point, moves));
      for (int u = 0; u < model.scattered(); ++u) {
        constexpr double kStep = 1e-3;
        Deviates up = z, down = z;
        up[static_cast<std::size_t>(u)] += kStep;
        down[static_cast<std::size_t>(u)] -= kStep;
        BenchPoint above, below;
        REQUIRE(model.read(fault, up, false, all_of_them(model), above));
        REQUIRE(model.read(fault, down, false, all_of_them(model), below));
        for (std::size_t k = 0; k < model.readings().size(); ++k) {
          CAPTURE(model.readings()[k].name);
          const double slope = (above.shown[k] - below.shown[k]) / (2 * kStep);
          // Where the meter takes under 2 %, its share changes with the tubes' resistances, by some tenths of
          // itself over a deviation: parts in a thousand of what is read. Steps of 1e-4 to one side miss half
          // of that times the bend, some tens of volts.
          CHECK(within(moves[k][static_cast<std::size_t>(u)], slope,
                       1e-3 * std::abs(point.shown[k]) + 0.01 * std::abs(slope) + 5e-3));
        }
      }
    }
  }
}

TEST_CASE("every fault has a name of its own, a rate, and a box that can be read") {
  for (const Design& d : shipped_designs()) {
    const std::vector<Fault> faults = faults_of(d);
    CHECK(faults.front().none());
    const BenchModel model(d, {}, 0, 10e6);
    std::set<std::string> names;
    int read = 0;
    for (const Fault& f : faults) {
      CAPTURE(f.name);
      CHECK(names.insert(f.name).second);
      if (f.name != "none") CHECK(f.rate > 0);
      if (f.name != "none") CHECK(!f.look.empty());
      BenchPoint point;
      read += model.read(f, {}, false, all_of_them(model), point);
    }
    CHECK(read == static_cast<int>(faults.size()));
  }
}

TEST_CASE("a fault of the measuring sheet reads here what it reads there") {
  // The other way: the sheet's own defects, which an independent circuit library is held against.
  for (const Design& d : shipped_designs()) {
    const std::vector<Fault> faults = faults_of(d);
    const BenchModel model(d, {}, 0, 1e15);
    for (const Defect& defect : defects_of(d)) {
      if (defect.none() || defect.seen_in_ac_only || defect.name.ends_with("_leaks")) continue;
      CAPTURE(defect.name);
      const DefectPoint there = solve_defect(d, defect);
      BenchPoint here;
      REQUIRE(there.point.solved == Solved::yes);
      REQUIRE(model.read(fault_named(faults, defect.name), {}, false, all_of_them(model), here));
      const auto shown = [&](std::string_view name) {
        return here.shown[static_cast<std::size_t>(place_of_reading(model.readings(), name))];
      };
      // 1e15 ohm beside the insulation of an open part, 1e9: a millionth of 400 V
      CHECK(within(shown("plate_1_v"), there.point.plate_v[0], 1e-3));
      CHECK(within(shown("cathode_v"), there.point.cathode_v, 1e-3));
    }
  }
}

TEST_CASE("two faults go together unless they are of one part") {
  const Design d = shipped_design("high_mu_self_biased");
  const std::vector<Fault> faults = faults_of(d);
  const Fault &high = fault_named(faults, "plate_resistor_1_ten_times"),
              &open = fault_named(faults, "plate_resistor_1_open"),
              &weak = fault_named(faults, "section_2_weak"), &gassy = fault_named(faults, "section_1_gassy");
  CHECK_FALSE(can_be_together(high, open));
  CHECK_FALSE(can_be_together(weak, fault_named(faults, "both_sections_weak")));
  REQUIRE(can_be_together(weak, gassy));
  const Fault both = both_of(weak, gassy);
  CHECK(both.magnitudes == 2);
  CHECK(within_ratio(both.rate, weak.rate * gassy.rate, 1e-12));
  const BenchModel model(d, {}, 0, 10e6);
  BenchPoint point, sound;
  REQUIRE(model.read(both, {}, false, all_of_them(model), point));
  REQUIRE(model.read(kNone, {}, false, all_of_them(model), sound));
  CHECK(std::abs(point.shown[1] - sound.shown[1]) > 1);
}
