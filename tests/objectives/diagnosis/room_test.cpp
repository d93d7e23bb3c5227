// The list of direct readings has room for what any circuit in any form has, with every supply that it can
// have. A fixed array stands behind it, past whose end a release build would write.
#include <doctest/doctest.h>

#include <algorithm>

#include "objectives/diagnosis/bench_readings.h"
#include "stagemodels/circuits/questions.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("no circuit in any form has more direct readings than there is room for") {
  const Tube tube = tube_with(kKoren12AT7);
  std::size_t most = 0;
  for (const CircuitEntry& entry : circuits())
    for_each_form(entry.kind, [&](const Design& forms, const Circuit&) {
      Design d = forms;
      d.tube = {&tube, &tube};
      d.first_stage.tube = d.first_stage.second_tube = d.driver.tube = &tube;
      // Every number that a design may have is above 0, so that every element stands.
      for (const DesignField& field : design_fields())
        if (field.value(d) == 0) field.at(d) = std::clamp(1.0, field.low, field.high);
      d.supply_v = 0;
      const std::size_t count = bench_readings(d).size();
      CAPTURE(entry.name);
      CHECK(count <= kMostDirectReadings);
      most = std::max(most, count);
    });
  CHECK(most == kMostDirectReadings);
  CHECK(kMostDirectReadings < kMostBenchReadings);  // signals and the mains come behind them
}
