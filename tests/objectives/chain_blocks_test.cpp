// Blocks of chains that are dropped unseen, against plain judging of what is in them.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/block_test.h"
#include "objectives/design_problem.h"
#include "optimize/engine/lattice/levels.h"
#include "tests/objectives/each_of_block.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// A drawn brief of chains of every bias form, tight or loose in its sizing inputs, some behind a dropping
/// resistor.
Brief drawn_chain_brief(RandomNumbers& random) {
  Brief brief = brief_named("chain_capacitor_coupled.json");
  DesignSpace& s = brief.space;
  const std::array pairs{"6SN7GT", "12AU7", "12AT7"}, firsts{"12AY7", "12AU7", "12AX7"};
  s.tubes = {shipped().find(pairs[static_cast<std::size_t>(random.below(3))])};
  s.first_tubes = {shipped().find(firsts[static_cast<std::size_t>(random.below(3))])};
  s.bias_forms = {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};
  s.tail_forms = {random.below(2) ? TailForm::resistor : TailForm::constant_current};
  const double supply = random.between(240, 330);
  s.supply_v = {supply, supply + 60, 20, {}};
  s.tail_fraction = {random.between(0.05, 0.25), random.between(0.25, 0.4), 0, {}};
  const double current = random.log_between(0.8e-3, 4e-3);
  s.plate_current_a = {0.75 * current, 1.3 * current, 0, {}};
  const double ohm = random.between(0.25, 0.5) * supply / current;
  s.plate_ohm = {0.7 * ohm, 1.5 * ohm, 0, {}};
  s.plate_ohm_ratio = {0.8, 1.6, 0, {}};
  const double first = random.log_between(0.4e-3, 3e-3),
               first_ohm = random.between(0.3, 0.6) * supply / first;
  s.first_plate_current_a = {0.8 * first, 1.25 * first, 0, {}};
  s.first_plate_ohm = {0.7 * first_ohm, 1.5 * first_ohm, 0, {}};
  s.given.first_stage.cathode_unbypassed_ohm = random.below(2) ? 100 : 0;
  s.given.heater_v = random.below(2) ? random.between(0, 80) : 0;
  s.given.swing_peak_v = random.between(5, 20);
  s.given.source_ohm = random.below(2) ? 10e3 : 0;
  if (random.below(2)) s.own_ranges.push_back({&member::first_stage_decoupling_ohm, {10e3, 33e3, 0, {}}});
  if (random.below(3) == 0)
    brief.demands.limits.push_back({find_figure("cathode_v"), random.between(20, 100)});
  return brief;
}

/// A chain at usual currents; its tubes are cards with ratings.
Design drawn_chain(RandomNumbers& random) {
  const std::array pairs{"6SN7GT", "12AU7", "12AT7"}, firsts{"12AY7", "12AU7", "12AX7"};
  const auto bias = static_cast<BiasForm>(random.below(3));
  Design d = pair_of(*shipped().find(pairs[static_cast<std::size_t>(random.below(3))]), bias,
                     static_cast<TailForm>(random.below(2)));
  d.circuit = CircuitKind::gain_and_splitter;
  d.supply_v = random.between(220, 380);
  FirstStage& f = d.first_stage;
  f.tube = shipped().find(firsts[static_cast<std::size_t>(random.below(3))]);
  f.plate_ohm = random.log_between(47e3, 220e3);
  f.cathode_ohm = random.log_between(300, 4e3);
  f.cathode_unbypassed_ohm = random.below(3) * 0.5 * f.cathode_ohm;
  d.plate_ohm = {random.log_between(22e3, 120e3), random.log_between(22e3, 120e3)};
  d.bias.grid_v = 0;  // of a chain a result
  d.bias.ohm = random.log_between(300, 5e3);
  d.bias.rail_v = bias == BiasForm::negative_rail ? -random.between(60, 200) : 0;
  d.bias.grid_clamp = bias == BiasForm::direct_coupled;
  d.tail.ohm = random.log_between(10e3, 100e3);
  d.tail.current_a = random.log_between(0.6e-3, 5e-3);
  if (random.below(3) == 0) {
    d.main_supply_v = d.supply_v;
    d.dropping_ohm = random.log_between(1e3, 15e3);
    d.supply_v = 0;
  }
  return d;
}

/// `high` becomes up to `most` above `low` in every part, `inside` anywhere between.
void span_block(RandomNumbers& random, double most, const Design& low, Design& high, Design& inside) {
  high = inside = low;
  const auto span = [&](auto&& member) {
    const double at_low = member(low), at_high = at_low + std::fabs(at_low) * random.between(0, most);
    member(high) = at_high;
    member(inside) = random.between(at_low, at_high);
  };
  span([](auto& d) -> auto& { return d.supply_v; });
  span([](auto& d) -> auto& { return d.dropping_ohm; });
  span([](auto& d) -> auto& { return d.plate_ohm[0]; });
  span([](auto& d) -> auto& { return d.plate_ohm[1]; });
  span([](auto& d) -> auto& { return d.bias.ohm; });
  span([](auto& d) -> auto& { return d.bias.rail_v; });
  span([](auto& d) -> auto& { return d.tail.ohm; });
  span([](auto& d) -> auto& { return d.tail.current_a; });
  span([](auto& d) -> auto& { return d.first_stage.plate_ohm; });
  span([](auto& d) -> auto& { return d.first_stage.cathode_ohm; });
}

constexpr std::array kBoundedFigures{"first_plate_current_a", "plate_current_a", "supply_current_a",
                                     "tail_fraction", "cathode_v"};

Demands demand(std::string_view figure, bool most, double value) {
  Demands demands;
  FigureLimit limit{find_figure(figure)};
  (most ? limit.at_most : limit.at_least) = value;
  demands.limits = {limit};
  return demands;
}

/// The design keeps every limit at rest; a demand that it just keeps breaks none.
bool keeps_all_at_rest(const Design& d, const Evaluation& e, const DesignFactors& factors) {
  const std::vector<LimitResult> all = check_limits(d, e, factors);
  return std::all_of(all.begin(), all.end(), [](const LimitResult& r) { return r.kept || !r.known; });
}

}  // namespace

TEST_CASE("a block of chains that is dropped holds no feasible design") {
  RandomNumbers random{std::mt19937_64(8)};
  int by_parts_only = 0, by_corners_only = 0, asked = 0, feasible = 0;
  std::array<int, 3> dropped{};  // by corners, for each bias form
  for (int n = 0; n < 24; ++n) {
    const Brief brief = drawn_chain_brief(random);
    const DesignProblem problem(brief.space, brief.demands);
    Evaluation scratch;
    for (std::size_t f = 0; f < problem.families().size(); ++f) {
      const int family = static_cast<int>(f);
      const engine::Problem& lattice = problem.families()[f].parts;
      for (int m = 0; m < 22; ++m) {
        engine::Levels low, high;
        std::vector<double> low_x(lattice.axes.size()), high_x(low_x.size()), x(low_x.size());
        for (const engine::Axis& axis : lattice.axes) {
          const int all = static_cast<int>(axis.levels.size());
          low.push_back(random.below(all));
          high.push_back(std::min(all - 1, low.back() + (random.below(3) == 0 ? 1 : 0)));
        }
        engine::values_of(lattice, low, low_x);
        engine::values_of(lattice, high, high_x);
        ++asked;
        const bool by_parts = problem.none_feasible(family, low_x, high_x, 1, scratch);
        const bool by_corners = problem.none_feasible(family, low_x, high_x, 1e6, scratch);
        CHECK((!by_parts || by_corners));
        by_parts_only += by_parts;
        by_corners_only += by_corners && !by_parts;
        dropped[static_cast<std::size_t>(problem.design_at(family, low_x).bias.form)] +=
            by_corners && !by_parts;
        testing::each_of_block(low, high, [&](const engine::Levels& at) {
          engine::values_of(lattice, at, x);
          const bool good = problem.judge(problem.design_at(family, x), scratch).feasible();
          feasible += good;
          if (good) CHECK(!by_corners);
        });
      }
    }
  }
  MESSAGE(asked, " blocks: ", by_parts_only, " dropped by their parts alone, ", by_corners_only,
          " by their corners (", dropped[0], ", ", dropped[1], ", ", dropped[2], "); ", feasible,
          " feasible designs in the rest");
  for (const int n : dropped) CHECK(n > 30);
  CHECK(feasible > 100);
}

TEST_CASE("corners bound every chain of a block, at rest") {
  // A demand at a design's own figure, or a rating at what it takes, is never called out of reach.
  RandomNumbers random{std::mt19937_64(9)};
  std::array<int, 3> asked{};
  int behind_resistor = 0;
  for (int n = 0; n < 500; ++n) {
    const Design low = drawn_chain(random);
    Design high, inside;
    span_block(random, 0.4, low, high, inside);
    Evaluation e, scratch;
    evaluate(inside, Depth::rest, e);
    if (e.operating_point.solved != Solved::yes || !keeps_all_at_rest(inside, e, {})) continue;
    ++asked[static_cast<std::size_t>(low.bias.form)];
    behind_resistor += low.main_supply_v > 0;
    for (const std::string_view figure : kBoundedFigures) {
      const double value = *find_figure(figure)->measure(inside, e);
      for (const bool most : {false, true}) {
        CAPTURE(figure);
        CAPTURE(most);
        const Demands demands = demand(figure, most, value);
        CHECK(!BlockTest(demands).none_feasible(low, high, BlockTest::Corners::solved, scratch));
      }
    }
    // Design factors that bring each rating down to what the design takes.
    Demands tight;
    DesignFactors& f = tight.factors;
    f.plate_dissipation = f.plate_voltage = f.cathode_current = f.heater_cathode = 0;
    for (const LimitResult& r : check_limits(inside, e, {})) {
      const double used = r.value / (r.limit / r.design_factor);
      const auto raise = [&](std::string_view name, double& factor) {
        if (r.name.starts_with(name)) factor = std::max(factor, used);
      };
      raise("plate_dissipation", f.plate_dissipation);
      raise("plates_total", f.plate_dissipation);
      raise("plate_to_cathode", f.plate_voltage);
      raise("plate_cold", f.plate_voltage);
      raise("cathode_current", f.cathode_current);
      raise("cathode_above", f.heater_cathode);
      raise("cathode_below", f.heater_cathode);
    }
    CHECK(!BlockTest(tight).none_feasible(low, high, BlockTest::Corners::solved, scratch));
  }
  MESSAGE(asked[0], ", ", asked[1], " and ", asked[2], " designs inside blocks, by bias form; ",
          behind_resistor, " behind a dropping resistor");
  for (const int count : asked) CHECK(count > 20);
  CHECK(behind_resistor > 20);
}

TEST_CASE("the corners of a block of one chain are that chain") {
  // Nothing is given away: with no part free, a demand a hundredth beyond a figure is out of reach. (Grids
  // that hang on the first plate may draw a microampere, and that much is left open.)
  RandomNumbers random{std::mt19937_64(10)};
  int asked = 0;
  std::array<int, 4> rated{};  // by what the first stage alone breaks
  for (int n = 0; n < 300; ++n) {
    Design d = drawn_chain(random);
    if (d.main_supply_v > 0) continue;  // there one side of each bound is open
    Evaluation e, scratch;
    evaluate(d, Depth::rest, e);
    if (e.operating_point.solved != Solved::yes || !keeps_all_at_rest(d, e, {})) continue;
    ++asked;
    for (const std::string_view figure : kBoundedFigures) {
      const double value = *find_figure(figure)->measure(d, e);
      CAPTURE(figure);
      CHECK(BlockTest(demand(figure, true, 0.99 * value))
                .none_feasible(d, d, BlockTest::Corners::solved, scratch));
      CHECK(BlockTest(demand(figure, false, 1.01 * value))
                .none_feasible(d, d, BlockTest::Corners::solved, scratch));
    }
    // The first stage's own ratings, where they and not the pair's are the tighter ones.
    const std::array names{"plate_dissipation_w", "plate_to_cathode_v", "cathode_current_a",
                           "cathode_above_heater_v"};
    for (std::size_t k = 0; k < names.size(); ++k) {
      double first = 0, pair = 0;
      for (const LimitResult& r : check_limits(d, e, {}))
        if (r.name == names[k]) {
          double& most = r.section == kFirstStageSection ? first : pair;
          most = std::max(most, r.value / (r.limit / r.design_factor));
        }
      if (!(first > 0)) continue;
      Demands demands;
      DesignFactors& f = demands.factors;
      f = {.plate_dissipation = 9, .plate_voltage = 9, .cathode_current = 9, .heater_cathode = 9};
      std::array factors{&f.plate_dissipation, &f.plate_voltage, &f.cathode_current, &f.heater_cathode};
      if (first <= pair) continue;
      *factors[k] = 0.99 * first;
      CAPTURE(names[k]);
      CHECK(BlockTest(demands).none_feasible(d, d, BlockTest::Corners::solved, scratch));
      ++rated[k];
    }
  }
  MESSAGE(asked, " chains; by the first stage's dissipation ", rated[0], ", plate voltage ", rated[1],
          ", current ", rated[2], ", heater ", rated[3]);
  CHECK(asked > 60);
  CHECK(rated[0] > 5);
  CHECK(rated[1] > 5);
}

TEST_CASE("what the pair's grids draw from the first plate is left room for") {
  // Directly coupled, grids a little below where they conduct take some tenths of a microampere through the
  // first plate resistor: the first stage then does not rest where it would alone, and no bound may say so.
  RandomNumbers random{std::mt19937_64(11)};
  int asked = 0;
  double most_off = 0;
  for (int n = 0; n < 200; ++n) {
    Design d = drawn_chain(random);
    if (d.bias.form != BiasForm::direct_coupled || d.main_supply_v > 0 || d.tail.form != TailForm::resistor)
      continue;
    d.first_stage.plate_ohm = 470e3;
    d.first_stage.cathode_ohm = 4.7e3;
    d.source_ohm =
        random.below(2) ? 1e6 : 0;  // feeds the first grid alone: the pair's draw nothing through it
    Evaluation e, scratch;
    const auto room_v = [&] {  // to where the first of the pair's grids conducts
      evaluate(d, Depth::rest, e);
      const Pair& grid = e.operating_point.grid_to_cathode_v;
      return e.operating_point.solved == Solved::yes
                 ? d.tube[0]->grid_conduction_v.value - std::max(grid[0], grid[1])
                 : -1;
    };
    double low_ohm = 100, high_ohm = 1e6;  // a larger tail has more room
    for (int k = 0; k < 50; ++k) {
      d.tail.ohm = std::sqrt(low_ohm * high_ohm);
      (room_v() > 0.01 ? high_ohm : low_ohm) = d.tail.ohm;
    }
    d.tail.ohm = high_ohm;
    if (!(room_v() > 0) || room_v() > 0.05) continue;
    ++asked;
    const OperatingPoint& at = e.operating_point;
    const double drawn_a = at.grid_current_a[0] + at.grid_current_a[1];
    most_off = std::max(most_off, drawn_a / at.first.plate_current_a);
    for (const std::string_view figure : kBoundedFigures) {
      const double value = *find_figure(figure)->measure(d, e);
      for (const bool most : {false, true}) {
        CAPTURE(figure);
        CAPTURE(most);
        Demands demands = demand(figure, most, value);
        demands.factors = {
            .plate_dissipation = 9, .plate_voltage = 9, .cathode_current = 9, .heater_cathode = 9};
        CHECK(!BlockTest(demands).none_feasible(d, d, BlockTest::Corners::solved, scratch));
      }
    }
  }
  MESSAGE(asked, " chains; the grids draw up to ", most_off, " of the first stage's current");
  CHECK(asked > 5);
  CHECK(most_off > 1e-5);  // well above what rest points are solved to
}
