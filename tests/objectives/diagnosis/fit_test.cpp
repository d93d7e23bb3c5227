// The most probable state, beside the best of many fits begun anywhere.
#include "objectives/diagnosis/fit.h"

#include "tests/objectives/diagnosis/simulated_boxes.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("with three readings only the fit is as good as the best of many begun anywhere") {
  constexpr double kFar = 1e300, kWorse = 0.5;  // of the logarithm of the evidence: a probability of 0.6
  constexpr int kBegins = 12;
  int fits = 0, poor = 0, lost = 0;
  double worst = 0;
  std::string worst_fault;
  for (const char* name : {"high_mu_self_biased", "first_stage_partly_bypassed", "negative_rail_resistor",
                           "split_load_self_biased", "behind_a_dropping_resistor"}) {
    const Design design = shipped_design(name);
    std::vector<BenchModel> models;
    models.emplace_back(design, Tolerances{}, 0, 10e6);
    const BenchModel& model = models.front();
    const std::vector<Fault> faults = faults_of(design);
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
      engine::RandomNumbers random(100 + seed);
      unsigned wanted = 0;
      while (std::popcount(wanted) < 3)
        wanted |= 1u << random.below(static_cast<int>(model.readings().size()));
      const Box box = draw_box(models, faults, 0.7, wanted, seed);
      if (!box.known) continue;
      for (std::size_t k = 0; k < faults.size(); k += 3) {
        Fit own, other;
        fit(model, faults[k], box.taken, kFar, own);
        double best = -kFar;
        for (int begin = 0; begin < kBegins; ++begin) {
          Deviates z{};
          for (int u = 0; u < model.unknowns(faults[k]); ++u)
            z[static_cast<std::size_t>(u)] = engine::normal_quantile(0.02 + 0.96 * random.unit());
          fit_from(model, faults[k], box.taken, z, other);
          if (other.known) best = std::max(best, other.log_evidence);
        }
        constexpr double kNoChance =
            -60;  // a fault that explains nothing is not told of, however it is fitted
        if (best < kNoChance) continue;
        ++fits;
        lost += !own.known;
        const double worse = best - (own.known ? own.log_evidence : kNoChance);
        poor += worse > kWorse;
        if (worse > worst) worst_fault = std::string(name) + ", " + faults[k].name;
        worst = std::max(worst, worse);
      }
    }
  }
  MESSAGE("of ", fits, " fits ", poor, " are worse than the best of ", kBegins, " begun anywhere, ", lost,
          " not known; the worst by ", worst, " (", worst_fault, ")");
  CHECK(fits > 200);
  CHECK(poor <= fits / 200);
}
