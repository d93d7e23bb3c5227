/// How long an evaluation takes, the same way for both paths. For printing only.
#pragma once

#include <algorithm>
#include <chrono>
#include <vector>

#include "stagemodels/evaluate.h"
#include "tests/support/random_stages.h"

namespace antiphase::testing {

struct PathTimes {
  double at_target_us = 0, full_us = 0;  ///< least of some rounds, mean over the designs
};

inline PathTimes time_of_designs() {
  RandomStages stages(61);
  std::vector<Design> designs;
  Evaluation e;
  while (designs.size() <
         300) {  // clean ones on a stiff supply from a source without resistance: the quick equations
    Design d = stages.draw();
    if (d.main_supply_v > 0) continue;
    d.source_ohm = 0;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved == Solved::yes && e.at_target.thd_pct[0] < 3) designs.push_back(d);
  }
  const auto time = [&](Depth depth) {
    double least = 1e300;
    for (int round = 0; round < 15; ++round) {
      const auto start = std::chrono::steady_clock::now();
      for (const Design& d : designs) evaluate(d, depth, e);
      const std::chrono::duration<double, std::micro> took = std::chrono::steady_clock::now() - start;
      least = std::min(least, took.count() / static_cast<double>(designs.size()));
    }
    return least;
  };
  return {time(Depth::at_target), time(Depth::full)};
}

}  // namespace antiphase::testing
