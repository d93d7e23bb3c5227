// Advice, tried in the box that it was given for.
#include "objectives/diagnosis/what_to_change.h"

#include "stagemodels/evaluate.h"
#include "tests/objectives/diagnosis/simulated_boxes.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// How far the box is from what is wanted, in what one lets pass; distortion left out.
double off(const Design& box, const Design& drawn) {
  Evaluation e, d;
  evaluate(box, Depth::at_target, e);
  evaluate(drawn, Depth::at_target, d);
  REQUIRE(e.at_target.solved == Solved::yes);
  const double balance =
      e.at_target.balance_pct / std::max(kBalancePasses_pct, std::abs(d.at_target.balance_pct));
  const double current =
      (e.operating_point.supply_current_a / d.operating_point.supply_current_a - 1) / kCurrentPasses;
  return std::hypot(circuit_of(drawn).outputs == 2 ? balance : 0, current);
}

Taken everything_read(const BenchModel& model, const BenchPoint& point) {
  Taken t;
  t.wanted = (1u << model.readings().size()) - 1;
  t.volts = point.shown;
  for (std::size_t k = 0; k < model.readings().size(); ++k)
    t.deviation_v[k] = meter_deviation_v(point.shown[k], kMeterAccuracy_pct, 0.1);
  return t;
}

}  // namespace

TEST_CASE("one resistor changed as advised brings the box nearer to what was drawn, where advice is given") {
  Tolerances t;
  t.plate_current_pct = 40;  // odd sections
  t.resistor_pct = 10;
  int changed = 0, better = 0, left = 0, left_near = 0;
  struct Stage {
    const char* name;
    std::uint64_t first_seed;
  };
  for (const Stage& stage : {Stage{"behind_a_dropping_resistor", 0},
                             Stage{"first_stage_partly_bypassed", 500}, Stage{"high_mu_self_biased", 600},
                             Stage{"negative_rail_resistor", 800}, Stage{"split_load_self_biased", 1100}}) {
    const Design design = shipped_design(stage.name);
    const BenchModel model(design, t, 0, 10e6);
    const Fault none{};
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
      engine::RandomNumbers random(seed + stage.first_seed);
      Deviates z{};
      for (int u = 0; u < model.scattered(); ++u)
        z[static_cast<std::size_t>(u)] = engine::normal_quantile(0.02 + 0.96 * random.unit());
      BenchPoint point;
      REQUIRE(model.read(none, z, false, (1u << model.readings().size()) - 1, point));
      DiagnosisAsk ask;
      ask.draws = 600;
      Diagnosing work(design, t, everything_read(model, point), ask);
      for (int k = 0; k < work.screenings(); ++k) work.screen(k);
      work.choose();
      for (int k = 0; k < work.drawings(); ++k) work.draw(k);
      const WhatToChange advice = what_to_change(design, work, work.finish());
      const Design box = model.build(none, z);
      const double before = off(box, design);
      if (advice.advice == WhatToChange::Advice::change) {
        Design then = box;
        advice.part->at(then) *= advice.value / advice.part->value(design);
        ++changed;
        better += off(then, design) < before;
      } else if (advice.advice == WhatToChange::Advice::leave_it) {
        ++left;
        left_near += before < 2;
      }
    }
  }
  MESSAGE("advice to change one resistor in " << changed << " boxes, nearer in " << better
                                              << "; to leave it in " << left << ", near enough in "
                                              << left_near);
  CHECK(changed >= 4);
  CHECK(better >= 0.9 * changed);
  CHECK(left_near == left);
}

TEST_CASE("two resistors changed as advised bring the box nearer than the better of them alone") {
  Tolerances t;
  t.plate_current_pct = 40;
  t.resistor_pct = 20;  // carbon resistors of another day
  int two = 0, better = 0, than_one = 0;
  for (const char* name : {"high_mu_self_biased", "split_load_self_biased", "behind_a_dropping_resistor"}) {
    const Design design = shipped_design(name);
    const BenchModel model(design, t, 0, 10e6);
    const Fault none{};
    for (std::uint64_t seed = 1; seed <= 30; ++seed) {
      engine::RandomNumbers random(seed);
      Deviates z{};
      for (int u = 0; u < model.scattered(); ++u)
        z[static_cast<std::size_t>(u)] = engine::normal_quantile(0.02 + 0.96 * random.unit());
      BenchPoint point;
      REQUIRE(model.read(none, z, false, model.everything(), point));
      DiagnosisAsk ask;
      ask.draws = 600;
      Diagnosing work(design, t, everything_read(model, point), ask);
      for (int k = 0; k < work.screenings(); ++k) work.screen(k);
      work.choose();
      for (int k = 0; k < work.drawings(); ++k) work.draw(k);
      const WhatToChange advice = what_to_change(design, work, work.finish());
      if (advice.advice != WhatToChange::Advice::change_two) continue;
      const Design box = model.build(none, z);
      const double first = advice.value / advice.part->value(design),
                   second = advice.second_value / advice.second->value(design);
      const auto after = [&](double by_first, double by_second) {
        Design then = box;
        advice.part->at(then) *= by_first;
        advice.second->at(then) *= by_second;
        return off(then, design);
      };
      ++two;
      better += after(first, second) < after(1, 1);
      than_one += after(first, second) < std::min(after(first, 1), after(1, second));
    }
  }
  MESSAGE("advice to change two resistors in " << two << " boxes, nearer in " << better
                                               << ", nearer than by either alone in " << than_one);
  CHECK(two >= 3);
  CHECK(better >= 0.9 * two);
  CHECK(than_one >= 0.8 * two);
}
