// Sections of one very tube: closed formulas where there are any, tubes made up whose truth is known, and the
// readings of the shipped curves.
#include "objectives/diagnosis/own_tube.h"

#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <random>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "objectives/diagnosis/bench_model.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

const Tube& tube(std::string_view name) {
  const Tube* found = shipped().find(name);
  REQUIRE(found);
  return *found;
}

double current_a(const Tube& type, const SectionSpread& spread, double plate_v, double grid_v) {
  return TriodeSection{&type, &type.law(), spread}.currents_at(grid_v, plate_v).plate_a;
}

std::vector<TubeReading> readings_of(const Tube& type, const SectionSpread& truth, int section) {
  std::vector<TubeReading> out;
  for (const auto& [plate_v, grid_v] : {std::pair{100.0, -0.5}, {150.0, -1.0}, {200.0, -1.0}, {250.0, -2.0}})
    out.push_back({section, plate_v, grid_v, current_a(type, truth, plate_v, grid_v), 2});
  return out;
}

}  // namespace

TEST_CASE("one reading moves the current as far as its error and the type's scatter say") {
  // Normal before and normal error, mu held: the mean of the logarithm is that of the two weighted by their
  // precisions. The error is one of the current, so for a small one the logarithm is as good as straight.
  const Tube& type = tube("12AX7");
  Tolerances t;
  t.mu_pct = 0;
  t.plate_current_pct = 20;
  const double type_a = current_a(type, {}, 250, -2), read = 1.3;
  const OwnTube own = own_tube(type, type.law(), true, t, {{0, 250, -2, read * type_a, 2}});
  const double before = std::pow(0.2 / kNormalCut, 2) + kLawOff * kLawOff,
               error = 0.01 * 0.01 + kLawShapeOff * kLawShapeOff;
  // The tolerance: the square of the error, by which mean and middle part where the posterior is not
  // straight.
  const double crooked = 2 * error;
  CHECK(within(std::log(own.section[0].current.middle), std::log(read) * before / (before + error), crooked));
  CHECK(within(own.section[0].current.deviation, std::sqrt(before * error / (before + error)), crooked));
  CHECK(within(own.section[0].spread.current, own.section[0].current.middle, 1e-4));
  // The other section of the bottle follows by what they share.
  const double shared =
      std::pow(0.2 / kNormalCut, 2) * (1 - std::pow(kSectionShareOfCurrent, 2)) + kLawOff * kLawOff;
  CHECK(own.section[1].readings == 0);
  CHECK(within(std::log(own.section[1].current.middle), std::log(read) * shared / (before + error), crooked));
}

TEST_CASE("sections that were read at the same voltages are told apart as sharply as the meter reads") {
  // What the law is off there is the same for both, so that their ratio does not hang on it: 2 % of either
  // current as two deviations are 1.4 % of the ratio, against sections that scatter by 0.34 of the type's.
  const Tube& type = tube("12AX7");
  std::vector<TubeReading> readings = readings_of(type, {1.1, 1}, 0);
  for (const TubeReading& r : readings_of(type, {0.9, 1}, 1)) readings.push_back(r);
  const OwnTube own = own_tube(type, type.law(), true, {}, readings);
  CHECK(within_ratio(own.section[0].current.middle / own.section[1].current.middle, 1.1 / 0.9, 0.03));
  CHECK(within_ratio(own.section[0].current.middle, 1.1, 0.03));
}

TEST_CASE("many readings decide, one in a poor meter hardly moves the type") {
  const Tube& type = tube("12AX7");
  const SectionSpread truth{1.25, 0.96};
  std::vector<TubeReading> many;
  for (const double plate_v : {100.0, 130.0, 160.0, 190.0, 220.0, 250.0, 280.0})
    for (const double grid_v : {-0.3, -0.6, -0.9, -1.2, -1.5})
      many.push_back({0, plate_v, grid_v, current_a(type, truth, plate_v, grid_v), 2});
  const OwnTube own = own_tube(type, type.law(), true, {}, many);
  // What is left of the prior's pull lies within what the posterior says itself; noise there is none.
  const OwnSection& told = own.section[0];
  CHECK(within(std::log(told.mu.middle / truth.mu), 0, told.mu.deviation));
  const double truth_a = current_a(type, truth, own.middle.plate_v, own.middle.grid_v),
               type_a = current_a(type, {}, own.middle.plate_v, own.middle.grid_v);
  CHECK(within(std::log(told.current.middle / (truth_a / type_a)), 0, told.current.deviation));
  CHECK(told.current.decided > 0.95);
  CHECK(told.mu.decided > 0.5);
  CHECK(told.left_pct < 2);
  const OwnTube poor =
      own_tube(type, type.law(), true, {}, {{0, 250, -2, 3 * current_a(type, {}, 250, -2), 300}});
  CHECK(poor.section[0].current.middle < 1.15);
  CHECK(poor.section[0].current.decided < 0.2);
}

TEST_CASE("bands of nine in ten hold the truth of nine tubes in ten") {
  // Tubes and readings are drawn from what is stated: scatter of the type, law, shape and meter.
  const Tube& type = tube("12AU7");
  const Tolerances t;
  const double scatter = type.plate_current_spread_pct / 100 / kNormalCut,
               mu_scatter = t.mu_pct / 100 / kNormalCut;
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  constexpr int kTubes = 1000;
  int current_in = 0, mu_in = 0, other_in = 0;
  for (int n = 0; n < kTubes; ++n) {
    const double law = kLawOff * normal(random),
                 bottle = scatter * std::sqrt(1 - std::pow(kSectionShareOfCurrent, 2)) * normal(random),
                 mu_bottle = mu_scatter * std::sqrt(1 - std::pow(kSectionShareOfMu, 2)) * normal(random);
    std::array<double, 2> log_current{}, mu{};
    for (std::size_t s = 0; s < 2; ++s) {
      log_current[s] = law + bottle + scatter * kSectionShareOfCurrent * normal(random);
      mu[s] = std::exp(mu_bottle + mu_scatter * kSectionShareOfMu * normal(random));
    }
    // The current is told at the middle of three readings; which of them that is does not hang on the truth.
    const double middle_v = 250, middle_grid_v = -8.5;
    const double scale = std::exp(log_current[0]) * current_a(type, {}, middle_v, middle_grid_v) /
                         current_a(type, {1, mu[0]}, middle_v, middle_grid_v);
    std::vector<TubeReading> readings;
    double largest_a = 0;
    std::vector<std::array<double, 2>> at{{100, -4}, {250, -8.5}, {200, -2}};
    for (const auto& [plate_v, grid_v] : at)
      largest_a = std::max(largest_a, current_a(type, {scale, mu[0]}, plate_v, grid_v));
    for (const auto& [plate_v, grid_v] : at) {
      const double a = current_a(type, {scale, mu[0]}, plate_v, grid_v);
      const double read =
          a + normal(random) * std::hypot(kLawShapeOff * std::max(a, 0.1 * largest_a), 0.01 * a);
      readings.push_back({0, plate_v, grid_v, read, 2});
    }
    const OwnTube own = own_tube(type, type.law(), true, t, readings);
    const double told_at_middle =
        std::log(current_a(type, {scale, mu[0]}, own.middle.plate_v, own.middle.grid_v) /
                 current_a(type, {}, own.middle.plate_v, own.middle.grid_v));
    const auto holds = [](const FactorTold& f, double truth) { return f.low <= truth && truth <= f.high; };
    current_in += holds(own.section[0].current, std::exp(told_at_middle));
    mu_in += holds(own.section[0].mu, mu[0]);
    other_in += holds(own.section[1].mu, mu[1]);
  }
  // Binomial, three standard deviations: 2.8 of 100.
  MESSAGE("held by bands of nine in ten, of ", kTubes, ": current ", current_in, ", mu ", mu_in,
          ", mu of the section that was not read ", other_in);
  for (const int in : {current_in, mu_in, other_in}) CHECK(std::abs(in - 900) < 29);
}

TEST_CASE("the shipped curves lie from their laws as far as is stated of the shape, current and mu fitted") {
  double squares = 0, worst = 0;
  int sheets = 0;
  for (const Tube& type : shipped().tubes())
    for (const std::string& file : type.curve_files) {
      const std::filesystem::path path = std::filesystem::path(ANTIPHASE_SOURCE "/configs/tubes") / file;
      const auto read = read_curve_points(path.string());
      REQUIRE(std::holds_alternative<CurveFile>(read));
      std::vector<TubeReading> readings;
      for (const CurvePoint& p : std::get<CurveFile>(read).points) {
        const bool in_use =
            type.ratings.plate_w_max && p.plate_v * p.plate_current_a < type.ratings.plate_w_max->value;
        if (in_use && p.grid_v < 0 && p.plate_current_a > 0)
          readings.push_back({0, p.plate_v, p.grid_v, p.plate_current_a, 2});
      }
      double largest_a = 0;
      for (const TubeReading& r : readings) largest_a = std::max(largest_a, r.plate_a);
      std::erase_if(readings, [&](const TubeReading& r) { return r.plate_a < 0.1 * largest_a; });
      if (readings.size() < 10) continue;
      const OwnTube own = own_tube(type, type.law(), true, {}, readings);
      MESSAGE(type.name, " ", file, ": ", own.section[0].left_pct, " % of ", readings.size(), " readings");
      squares += own.section[0].left_pct * own.section[0].left_pct;
      worst = std::max(worst, own.section[0].left_pct);
      ++sheets;
    }
  REQUIRE(sheets > 5);
  const double rms = std::sqrt(squares / sheets);
  MESSAGE("rms over ", sheets, " sheets: ", rms, " %, worst ", worst, " %");
  CHECK(rms < 100 * kLawShapeOff);
  CHECK(rms > 100 * kLawShapeOff / 2);
}
