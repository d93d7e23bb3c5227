#include "objectives/builds/robust.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/builds/select_on_test.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

const Tube& tube(const char* name) {
  const Tube* t = shipped().find(name);
  REQUIRE(t);
  return *t;
}

Design pair_6sl7(BiasForm bias = BiasForm::self_biased) {
  Design d = pair_of(tube("6SL7GT"), bias);
  d.plate_ohm = {150e3, 160e3};
  d.coupling_f = 100e-9;
  return d;
}

Demands distortion_and_balance(double balance_at_most) {
  Demands demands;
  demands.objectives = {{find_figure("distortion_pct"), 2, 1}, {find_figure("balance_pct"), 1, 1}};
  demands.limits = {{find_figure("balance_pct"), balance_at_most}};
  return demands;
}

Tolerances nothing_varies() {
  Tolerances t;
  t.resistor_pct = t.capacitor_pct = t.mains_pct = t.setting_pct = t.mu_pct = 0;
  t.plate_current_pct = 0;
  return t;
}

Tolerances with_resistors(double pct) {
  Tolerances t;
  t.resistor_pct = pct;
  return t;
}

}  // namespace

TEST_CASE("robust figures are those of the same builds solved whole, one by one") {
  // The other way: every build solved to the end, every limit looked at, plain sorting.
  const Design d = pair_6sl7();
  Evaluation drawn;
  evaluate(d, Depth::full, drawn);
  const Demands demands = distortion_and_balance(1.03 * std::abs(drawn.at_target.balance_pct));
  const Tolerances tolerances = with_resistors(2);
  const BuildModel model(d, tolerances);
  const engine::SobolPoints points(engine::SobolPoints::kMostDimensions, 5);
  constexpr int kBuilds = 400;
  std::vector<double> unit(model.varied().size()), scores;
  for (int k = 0; k < kBuilds; ++k) {
    model.draw(points, static_cast<std::uint32_t>(k), unit);
    const Design b = model.build(unit);
    Evaluation e;
    evaluate(b, Depth::full, e);
    if (build_keeps(demands, b, e)) scores.push_back(*score(demands, b, e));
  }
  std::sort(scores.begin(), scores.end());
  const auto kept = static_cast<int>(scores.size());
  REQUIRE(kept > kBuilds / 4);
  REQUIRE(kept < kBuilds);
  const RobustFigures half = robust_of(d, tolerances, demands, kBuilds, 5, 0.5);
  CHECK(half.builds == kBuilds);
  CHECK(half.kept == kept);
  CHECK(half.yield == static_cast<double>(kept) / kBuilds);
  CHECK(half.yield_95.low < half.yield);
  CHECK(half.yield_95.high > half.yield);
  scores.resize(kBuilds, INFINITY);  // what breaks a limit is worse than all that does not
  const std::size_t middle = kBuilds / 2 - 1;
  if (kept > kBuilds / 2) {
    REQUIRE(half.score);
    CHECK(within_ratio(*half.score, 0.5 * (scores[middle] + scores[middle + 1]), 1e-12));
  } else {
    CHECK_FALSE(half.score);
  }
  // more than are kept have no score
  CHECK_FALSE(robust_of(d, tolerances, demands, kBuilds, 5, (kept + 5.0) / kBuilds).score);
  CHECK(robust_of(d, tolerances, demands, kBuilds, 5, (kept - 5.0) / kBuilds).score);
}

TEST_CASE("a sample that grows is the same as one taken at once") {
  const Demands demands = distortion_and_balance(4);
  RobustSample grows(pair_6sl7(), {}, demands, 3), whole(pair_6sl7(), {}, demands, 3);
  for (const int to : {1, 64, 64, 300}) grows.extend(to);
  whole.extend(300);
  const RobustFigures a = grows.figures(0.6), b = whole.figures(0.6);
  CHECK(a.builds == 300);
  CHECK(a.kept == b.kept);
  CHECK(a.score == b.score);
}

TEST_CASE("where nothing varies every build is the design") {
  const Design d = pair_6sl7();
  Evaluation e;
  evaluate(d, Depth::full, e);
  const double balance = std::abs(e.at_target.balance_pct);
  const Demands met = distortion_and_balance(balance * 1.01), missed = distortion_and_balance(balance * 0.99);
  const RobustFigures good = robust_of(d, nothing_varies(), met, 50, 1, 0.95);
  CHECK(good.yield == 1);
  REQUIRE(good.score);
  CHECK(within_ratio(*good.score, *score(met, d, e), 1e-12));
  const RobustFigures bad = robust_of(d, nothing_varies(), missed, 50, 1, 0.95);
  CHECK(bad.yield == 0);
  CHECK_FALSE(bad.score);
}

TEST_CASE("build k has the same luck in designs of any form") {
  const BuildModel self(pair_6sl7(), {}), direct(pair_6sl7(BiasForm::direct_coupled), {});
  const engine::SobolPoints points(engine::SobolPoints::kMostDimensions, 7);
  std::vector<double> a(self.varied().size()), b(direct.varied().size());
  int shared = 0;
  for (std::uint32_t k = 0; k < 5; ++k) {
    self.draw(points, k, a);
    direct.draw(points, k, b);
    for (std::size_t p = 0; p < a.size(); ++p)
      for (std::size_t q = 0; q < b.size(); ++q) {
        const bool same = self.varied()[p].name == direct.varied()[q].name;
        CHECK((self.varied()[p].dimension == direct.varied()[q].dimension) == same);
        if (!same) continue;
        CHECK(a[p] == b[q]);
        ++shared;
      }
  }
  CHECK(shared >= 5 * 10);  // mains, four plate and load resistors, six of the tubes
}

TEST_CASE("a part's own tolerance breaks no limit that is meant for the value printed on it") {
  Demands demands;
  demands.parts.on_hand = Stock{{{150e3, 2}, {160e3, 2}, {1500, 1}, {47e3, 1}, {1e6, 2}}, {}};
  const RobustFigures f = robust_of(pair_6sl7(), {}, demands, 50, 1, 0.95);
  CHECK(f.yield == 1);
}

TEST_CASE("between two builds the percentile lies in proportion") {
  // Hyndman & Fan, Am. Stat. 50 (1996) 361-365, type 7: of 11 values the k-th is the k/10 quantile.
  RobustSample sample(pair_6sl7(), with_resistors(5), distortion_and_balance(1e9), 1);
  sample.extend(11);
  const auto score = [&](double percentile) { return sample.figures(percentile).score.value(); };
  REQUIRE(sample.figures(0).kept == 11);
  CHECK(score(0.5) < score(0.625));
  CHECK(score(0.625) < score(0.75));
  CHECK(within_ratio(score(0.5625), score(0.5) + 0.625 * (score(0.6) - score(0.5)), 1e-9));
}

TEST_CASE("which design comes first by its builds") {
  const auto with = [](int kept, std::optional<double> score) {
    RobustFigures f;
    f.builds = 100;
    f.kept = kept;
    f.score = score;
    return f;
  };
  const auto a = with(99, 2.0), b = with(98, 1.0), c = with(98, 1.5), d = with(60, std::nullopt),
             e = with(70, std::nullopt);
  CHECK(better_builds(RankBy::yield, a, b));
  CHECK(better_builds(RankBy::yield, b, c));  // equal yield: the better score
  CHECK(better_builds(RankBy::yield, e, d));
  CHECK(better_builds(RankBy::percentile, b, a));
  CHECK(better_builds(RankBy::percentile, a, e));  // one without a score comes last, …
  CHECK(better_builds(RankBy::percentile, e, d));  // … the better yield first
  for (const RankBy by : {RankBy::nominal, RankBy::yield, RankBy::percentile})
    CHECK_FALSE(better_builds(by, a, a));
  CHECK_FALSE(better_builds(RankBy::nominal, a, d));
}

TEST_CASE("over a perfect sink the recipe is that of two resistors with one current") {
  // Both sections carry the same signal current, whatever the tubes: outputs go as the loaded plate
  // resistors, balance = 100 (1 - R2' / R1') / mean, R' = R in parallel with the load. At R1 = R2: dB/dR2' =
  // -100 / R2'.
  Design d = pair_of(tube("6SN7GT"), BiasForm::negative_rail, TailForm::constant_current);
  d.plate_ohm = {33e3, 33e3};
  d.tail.current_a = 8e-3;
  d.tail.output_ohm = 1e12;
  const DesignField& plate_2 = *find_design_field("/plate_ohm/1");
  const BalanceRecipe r = balance_recipe(d, plate_2);
  REQUIRE(r.known);
  const double loaded = 33e3 * d.load_ohm / (33e3 + d.load_ohm), per_plate = loaded / 33e3 * (loaded / 33e3);
  // central differences over +-2 % of a nearly straight line: a few 1e-4; grid currents of the law: none here
  CHECK(within_ratio(r.change_per_pct, loaded / 100 / per_plate, 1e-3));
  // half the target, half of the difference at the joint, rms: S / 2 * 1 % / 2 / sqrt 2
  CHECK(within_ratio(r.reading_v_rms_per_pct, d.swing_peak_v * 0.0025 / std::sqrt(2.0), 1e-12));
  CHECK_FALSE(balance_recipe(d, *find_design_field("/grid_leak_ohm")).known);  // carries no signal here
}

TEST_CASE("select on test balances each build, and one step by the recipe most of the way") {
  const Design d = pair_6sl7();
  const BuildModel model(d, with_resistors(5));
  const engine::SobolPoints points(engine::SobolPoints::kMostDimensions, 2);
  const DesignField& part = *parts_to_select(d).front();
  CHECK(part.pointer == "/plate_ohm/1");
  const BalanceRecipe recipe = balance_recipe(d, part);
  const Demands demands = distortion_and_balance(1);
  std::vector<double> before, one_step;
  for (std::uint32_t k = 0; k < 60; ++k) {
    const SelectedBuild s = select_on_test(model, demands, points, k, part, recipe);
    REQUIRE(s.known);
    CHECK(s.balanced);
    CHECK(std::abs(s.after_pct) <= kBalanced_pct);
    // the set value really does it, in a build made anew
    std::vector<double> unit(model.varied().size());
    model.draw(points, k, unit);
    Design b = model.build(unit);
    CHECK(part.value(b) == s.as_built);
    part.at(b) = s.value;
    Evaluation e;
    evaluate(b, Depth::full, e);
    CHECK(within(e.at_target.balance_pct, s.after_pct, 1e-9));
    CHECK(s.kept == build_keeps(demands, b, e));
    before.push_back(std::abs(s.before_pct));
    REQUIRE(s.one_step_pct);
    one_step.push_back(std::abs(*s.one_step_pct));
  }
  const auto sum = [](const std::vector<double>& v) {
    double all = 0;
    for (double x : v) all += x;
    return all;
  };
  CHECK(sum(one_step) < 0.15 * sum(before));
}

TEST_CASE("what the plates tell is a straight line through the builds") {
  std::vector<SelectedBuild> builds(12);
  for (std::size_t k = 0; k < builds.size(); ++k) {
    SelectedBuild& b = builds[k];
    b.known = b.balanced = true;
    b.plate_difference_v = static_cast<double>(k);
    b.as_built = 100e3;
    b.value = 100e3 + 250 * static_cast<double>(k) + 40;
  }
  CHECK(within_ratio(plates_tell(builds).change_per_v, 250, 1e-9));
  CHECK(within_ratio(plates_tell(builds).share, 1, 1e-9));
  for (std::size_t k = 0; k < builds.size(); ++k)  // nothing but scatter that is even in the reading
    builds[k].value = 100e3 + (k % 2 == 0 ? 100 : -100) * (k < 6 ? 1 : -1);
  CHECK(plates_tell(builds).share < 0.2);
  builds.resize(9);
  CHECK(plates_tell(builds).share == 0);
}
