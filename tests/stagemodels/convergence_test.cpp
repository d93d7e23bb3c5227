// A hundred thousand designs from ranges ten times wider, each way, than a brief would allow: the solver
// always answers, in a bounded number of steps, and its answer is finite or says why there is none.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr int kDesigns = 10000;  // twenty times slower there
#else
constexpr int kDesigns = 100000;
#endif
constexpr int kEverythingEach = 100;  // so many of them get every figure there is

struct WideRanges {
  std::array<Tube, 6> tubes{tube_with(kKoren12AX7), tube_with(kKoren12AT7),
                            tube_with(kKoren12AU7), tube_with(kKoren6DJ8),
                            tube_with(kRsd2, -0.3), tube_with(ChildLangmuir{2e-3, 30, 0.5})};
  OutputValve valve;
  RandomNumbers random{std::mt19937_64(3)};

  WideRanges() {
    for (Tube& t : tubes) t.grid_diode = grid_diode(t.grid_conduction_v.value);
    tubes[0].grid_diode = {};  // a card may say that its grid draws nothing
    valve.grid = grid_diode(-1);
  }

  Design draw() {
    Design d = pair_of(tubes[random.below(6)], static_cast<BiasForm>(random.below(3)),
                       static_cast<TailForm>(random.below(2)));
    d.tube[1] = &tubes[random.below(6)];
    if (random.below(4) == 0) d.circuit = CircuitKind::common_cathode;
    d.supply_v = random.log_between(20, 2000);
    d.plate_ohm = {random.log_between(1e3, 2e6), random.log_between(1e3, 2e6)};
    d.bias.ohm = random.log_between(10, 1e5);
    d.bias.grid_v = random.between(0, 0.7) * d.supply_v;
    d.bias.rail_v = -random.log_between(3, 1000);
    d.tail.ohm = random.log_between(500, 1e6);
    d.tail.current_a = random.log_between(1e-5, 50e-3);
    d.tail.output_ohm = random.log_between(1e4, 1e9);
    d.cathode_ohm = random.log_between(20, 1e5);
    d.cathode_unbypassed_ohm = random.between(0, 1) * d.cathode_ohm;
    d.grid_leak_ohm = random.log_between(1e4, 1e7);
    d.load_ohm = random.log_between(5e3, 1e7);
    d.swing_peak_v = random.log_between(0.1, 300);
    if (random.below(3) == 0) d.source_ohm = random.log_between(10, 10e6);
    if (random.below(3) == 0) {
      d.main_supply_v = std::min(2000.0, d.supply_v * random.between(1.01, 2));
      d.dropping_ohm = random.log_between(10, 1e6);
      d.supply_v = 0;
    }
    d.coupling_f = random.log_between(1e-10, 1e-5);
    d.load_f = random.log_between(1e-12, 1e-9);
    if (random.below(2)) {
      d.output_valve = &valve;
      d.output_valve_bias_v = -random.log_between(1, 500);
    }
    return d;
  }
};

/// What somebody could mean: grids negative, sections that share the current, gain, a target they can swing.
bool meant(const Design& d, const Evaluation& e) {
  bool yes = e.clean.swing_peak_v > 0.3 * d.swing_peak_v;
  for (int i = 0; i < sections(d.circuit); ++i)
    yes = yes && e.operating_point.grid_to_cathode_v[i] < d.tube[i]->grid_conduction_v.value &&
          e.operating_point.plate_current_a[i] > 20e-6 && std::abs(e.small_signal.gain[i]) > 1;
  return yes;
}

bool finite(const Evaluation& e) {
  double sum = 0;  // NaN and infinity survive every addition
  const auto add = [&](const Pair& p) { sum += std::abs(p[0]) + std::abs(p[1]); };
  const OperatingPoint& o = e.operating_point;
  sum += std::abs(o.supply_v) + std::abs(o.cathode_v) + std::abs(o.tail_v) + std::abs(o.supply_current_a);
  for (const Pair& p : {o.plate_v, o.grid_v, o.plate_current_a, o.grid_current_a, o.gm_s, o.mu, o.rp_ohm})
    add(p);
  const SmallSignal& s = e.small_signal;
  for (const Pair& p : {s.gain, s.output_impedance_alone_ohm, s.output_impedance_differential_ohm}) add(p);
  sum += std::abs(s.balance_pct) + std::abs(s.input_ohm);
  const SteadyState& t = e.at_target;
  for (const Pair& p : {t.output_peak_v, t.thd_pct, t.grid_mean_v, t.plate_dissipation_w}) add(p);
  sum += std::abs(t.thd_differential_pct) + std::abs(t.input_peak_v) + std::abs(t.balance_pct) +
         std::abs(t.supply_v);
  sum += std::abs(e.clean.swing_peak_v) + std::abs(e.clean.headroom_db) + std::abs(e.clean.input_peak_v);
  return std::isfinite(sum);
}

bool finite_beyond(const Evaluation& e) {
  double sum = 0;
  for (const auto& products : {e.intermodulation.low_and_high, e.intermodulation.close_pair})
    for (const auto& p : products) sum += p.second_pct + p.third_pct + p.total_pct;
  for (int n = 0; n < e.level_curve.count; ++n) {
    const LevelPoint& p = e.level_curve.point[static_cast<std::size_t>(n)];
    sum += std::abs(p.level_db) + p.thd_pct[0] + p.thd_pct[1] + p.thd_differential_pct;
  }
  sum += e.overdrive.clean_conducting.swing_peak_v + e.overdrive.clean_into_output_grids.swing_peak_v;
  for (const OverdriveFigures::At& a : e.overdrive.at)
    sum += a.thd_pct[0] + a.thd_pct[1] + std::abs(a.grid_shift_v[0]) + std::abs(a.output_grid_shift_v[0]);
  return std::isfinite(sum);
}

}  // namespace

TEST_CASE("a hundred thousand designs from ten times too wide ranges each settle or say why not" *
          doctest::test_suite("long")) {
  WideRanges ranges;
  int rest = 0, no_rest = 0, rest_lost = 0, target = 0, out_of_reach = 0, no_signal = 0, target_lost = 0;
  int sensible = 0, sensible_lost = 0, clean_lost = 0, most_rest = 0, most_target = 0, every_figure = 0;
  for (int n = 0; n < kDesigns; ++n) {
    const Design d = ranges.draw();
    Evaluation e;
    const bool everything = n % kEverythingEach == 0;
    evaluate(d, everything ? Depth::everything : Depth::full, e);
    CAPTURE(n);
    REQUIRE(finite(e));
    const Solved at_rest = e.operating_point.solved, at_target = e.at_target.solved;
    most_rest = std::max(most_rest, e.operating_point.newton_steps);
    if (at_rest != Solved::yes) {
      ++(at_rest == Solved::no_rest_point ? no_rest : rest_lost);
      REQUIRE_FALSE(reason(at_rest).empty());
      continue;
    }
    ++rest;
    most_target = std::max(most_target, e.at_target.newton_steps);
    REQUIRE(at_target != Solved::not_run);
    if (at_target == Solved::yes)
      ++target;
    else
      REQUIRE_FALSE(reason(at_target).empty());
    out_of_reach += at_target == Solved::target_out_of_reach;
    no_signal += at_target == Solved::no_signal;
    target_lost += at_target == Solved::no_convergence;
    clean_lost += e.clean.solved == Solved::no_convergence;
    if (meant(d, e)) {
      ++sensible;
      if (at_target == Solved::no_convergence) {
        ++sensible_lost;
        MESSAGE("sensible but not settled: no. ", n, ", circuit ", static_cast<int>(d.circuit), ", bias ",
                static_cast<int>(d.bias.form), ", tail ", static_cast<int>(d.tail.form), ", clean swing ",
                e.clean.swing_peak_v, " V of ", d.swing_peak_v, " V");
      }
    }
    if (everything) {
      ++every_figure;
      REQUIRE(finite_beyond(e));
    }
  }
  const int told = no_rest + out_of_reach + no_signal, settled = target + told;
  MESSAGE("of ", kDesigns, ": at the target ", target, ", out of reach ", out_of_reach, ", no signal ",
          no_signal, ", no rest point ", no_rest, "; not settled: rest ", rest_lost, ", target ", target_lost,
          ". Settled with an answer: ", 100.0 * settled / kDesigns,
          " %. Clean swing not settled: ", clean_lost, ". Of ", sensible,
          " sensible ones not settled: ", sensible_lost, ". Most Newton steps: rest ", most_rest, ", target ",
          most_target, ". Every figure of ", every_figure);
  CHECK(settled > 0.97 * kDesigns);
  CHECK(sensible > 0.15 * kDesigns);
  CHECK(sensible_lost == 0);
  CHECK(every_figure > 0.8 * kDesigns / kEverythingEach);
  CHECK(most_rest <= 100);
  CHECK(most_target <= 20000);  // some ten milliseconds: the slow road in its smallest steps
}
