#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/builds/build_model.h"
#include "objectives/builds/faulty_parts.h"
#include "objectives/builds/readings.h"
#include "objectives/builds/sample.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Tolerances nothing_varies() {
  Tolerances t;
  t.resistor_pct = t.capacitor_pct = t.mains_pct = t.setting_pct = t.mu_pct = 0;
  t.plate_current_pct = 0;
  return t;
}

BuildSample sampled(const BuildModel& model, int builds, std::uint64_t seed) {
  const Demands demands;
  BuildSampler sampler(model, demands, builds, seed);
  for (int p = 0; p < sampler.pieces(); ++p) sampler.work(p);
  return sampler.finish();
}

const SpreadRow row_of(const BuildModel& model, const BuildSample& sample, std::string_view name) {
  Evaluation nominal;
  evaluate(model.nominal(), Depth::full, nominal);
  for (std::size_t c = 0; c < sample.column.size(); ++c)
    if (sample.column[c].figure->name == name) return spread_row(model, sample, c, nominal);
  FAIL(name);
  return {};
}

const Tube& tube(const char* name) {
  const Tube* t = shipped().find(name);
  REQUIRE(t);
  return *t;
}

Design shipped_pair(BiasForm bias = BiasForm::self_biased) {
  Design d = pair_of(tube("6SL7GT"), bias);
  d.plate_ohm = {150e3, 160e3};
  d.coupling_f = 100e-9;
  return d;
}

Design shipped_chain(BiasForm bias = BiasForm::self_biased) {
  Design d = shipped_pair(bias);
  d.circuit = CircuitKind::gain_and_splitter;
  d.tail.ohm = 27e3;
  d.first_stage.tube = &tube("12AX7");
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.cathode_ohm = 1500;
  return d;
}

Defect named(const Design& d, std::string_view name) {
  const auto found = defect_named(d, name);
  REQUIRE_MESSAGE(found, std::string(name));
  return *found;
}

std::string names(const Design& d) {
  std::string all;
  for (const Defect& defect : defects_of(d)) all += (all.empty() ? "" : " ") + defect.name;
  return all;
}

}  // namespace

TEST_CASE("with no tolerance every build is the design itself") {
  const Design d = shipped_pair();
  const BuildModel model(d, nothing_varies());
  CHECK(model.varied().empty());
  const Design same = model.build({});
  for (const DesignField& f : design_fields()) CHECK(f.value(same) == f.value(d));
  CHECK(same.spread == d.spread);
}

TEST_CASE("draws in the middle of every distribution give the design itself") {
  const Design d = shipped_pair();
  const BuildModel model(d, {});
  const std::vector<double> middle(model.varied().size(), 0.5);
  const Design same = model.build(middle);
  for (const DesignField& f : design_fields()) CHECK(within_ratio(f.value(same), f.value(d), 1e-12));
  for (std::size_t i = 0; i < 2; ++i) CHECK(within_ratio(same.spread[i].current, 1, 1e-9));
}

TEST_CASE("sampled builds agree with closed propagation where a figure is linear") {
  // Supply through the mains alone: supply_v is linear in one uniform draw. Uniform on +-w: 5 % and 95 % at
  // -+0.9 w, standard deviation w / sqrt 3 (rectangular distribution, JCGM 100 "GUM" 4.3.7).
  Tolerances t = nothing_varies();
  t.mains_pct = 10;
  t.mains = Scatter::uniform;
  const Design d = shipped_pair();
  const BuildModel model(d, t);
  REQUIRE(model.varied().size() == 1);
  const BuildSample s = sampled(model, 4096, 3);
  const SpreadRow row = row_of(model, s, "supply_v");
  CHECK(within(row.low, d.supply_v * 0.91, d.supply_v * 2e-4));
  CHECK(within(row.high, d.supply_v * 1.09, d.supply_v * 2e-4));
  CHECK(within_ratio(row.deviation, d.supply_v * 0.1 / std::sqrt(3.0), 2e-3));
  CHECK(row.index[0] > 0.995);
}

TEST_CASE("small tolerances add by their squares, and each drives its share") {
  // Gain of a stage on small tolerances is linear: variance = sum of (slope x deviation)^2, slopes by central
  // differences of the evaluation itself (GUM 5.1.2), indices the shares of it.
  Tolerances t = nothing_varies();
  t.resistor_pct = 0.5;
  const Design d = shipped_pair();
  const BuildModel model(d, t);
  const std::size_t n = model.varied().size();
  REQUIRE(n == 6);  // two plate resistors, bias, tail, leak, load
  std::vector<double> part(n);
  double variance = 0;
  const auto balance = [&](std::size_t p, double z) {
    std::vector<double> at(n, 0.0);
    at[p] = z;
    Evaluation e;
    const Design b = model.build_at(at);
    evaluate(b, Depth::full, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    return e.at_target.balance_pct;
  };
  for (std::size_t p = 0; p < n; ++p) {
    const double slope = (balance(p, 1) - balance(p, -1)) / 2;  // per half width
    part[p] = slope * slope / 3;
    variance += part[p];
  }
  const BuildSample s = sampled(model, 8192, 9);
  const SpreadRow row = row_of(model, s, "balance_pct");
  CHECK(within_ratio(row.deviation, std::sqrt(variance), 0.01));
  for (std::size_t p = 0; p < n; ++p) CHECK(within(row.index[p], part[p] / variance, 0.015));
}

TEST_CASE("plate current at fixed voltages scatters as the card says, whatever mu does") {
  const Design d = shipped_pair();
  Tolerances t = nothing_varies();
  t.plate_current_pct.reset();  // the card's: 15 %
  t.mu_pct = 8;
  const BuildModel model(d, t);
  Evaluation e;
  evaluate(d, Depth::rest, e);
  const OperatingPoint& o = e.operating_point;
  const engine::SobolPoints points(static_cast<int>(model.varied().size()), 1);
  std::vector<double> unit(model.varied().size());
  double sum = 0, squares = 0, products = 0, mu_squares = 0, difference = 0;
  constexpr int kBuilds = 8192;
  for (std::uint32_t k = 0; k < kBuilds; ++k) {
    points.point(k, unit);
    const Design b = model.build(unit);
    std::array<double, 2> a{};
    for (int i = 0; i < 2; ++i) {
      const auto n = static_cast<std::size_t>(i);
      a[n] = b.section(i).currents_at(o.grid_to_cathode_v[n], o.plate_to_cathode_v[n]).plate_a /
                 o.plate_current_a[n] -
             1;
    }
    sum += a[0];
    squares += a[0] * a[0];
    difference += (a[0] - a[1]) * (a[0] - a[1]);
    const double m = b.spread[0].mu - 1;
    mu_squares += m * m;
    products += m * (b.spread[0].current - 1);
  }
  // A normal cut at c = 2.5 keeps 1 - 2 c phi(c) / (2 Phi(c) - 1) = 0.9113 of its variance.
  const double kept = std::sqrt(0.9113);
  CHECK(within_ratio(std::sqrt(squares / kBuilds), 0.15 / 2.5 * kept, 0.01));
  CHECK(within(sum / kBuilds, 0, 1e-3));
  CHECK(within_ratio(std::sqrt(mu_squares / kBuilds), 0.08 / 2.5 * kept, 0.01));
  // sections of a bottle: rms difference sqrt 2 x the section's own part
  CHECK(within_ratio(std::sqrt(difference / kBuilds), std::sqrt(2.0) * 0.34 * 0.15 / 2.5 * kept, 0.02));
  CHECK(products > 0);  // more mu goes with a larger scale
}

TEST_CASE("a part with half the tolerance: the weighted builds say what new builds say") {
  Tolerances wide = nothing_varies();
  wide.resistor_pct = 10;
  wide.parts = Scatter::truncated_normal;
  const Design d = shipped_pair();
  Demands demands;
  const Figure* balance = find_figure("balance_pct");
  demands.limits.push_back({balance, 3.0});
  const auto yields = [&](const Tolerances& t) {
    const BuildModel model(d, t);
    BuildSampler sampler(model, demands, 8192, 4);
    for (int p = 0; p < sampler.pieces(); ++p) sampler.work(p);
    return spread_summary(model, sampler.finish());
  };
  const SpreadSummary before = yields(wide);
  REQUIRE(before.yield > 0.05);
  REQUIRE(before.yield < 0.9);
  const BuildModel model(d, wide);
  for (std::size_t p = 0; p < model.varied().size(); ++p) {
    Tolerances tight = wide;
    tight.single.push_back({model.varied()[p].field, 5});
    CAPTURE(model.varied()[p].name);
    // both are samples of 8192; the weighted one counts as about a third of them: 3 sqrt(0.25 / 2700) = 0.029
    CHECK(within(before.tightened[p].yield, yields(tight).yield, 0.03));
  }
}

TEST_CASE("the corner of a rating is worse than any build that was seen") {
  const Design d = shipped_pair();
  const BuildModel model(d, {});
  const Demands demands;
  const std::vector<Corner> all = corners(model, demands);
  REQUIRE(!all.empty());
  BuildSampler sampler(model, demands, 2000, 8);
  for (int p = 0; p < sampler.pieces(); ++p) sampler.work(p);
  const BuildSample s = sampler.finish();
  const auto corner = std::find_if(all.begin(), all.end(), [](const Corner& c) {
    return c.nominal.name == "plate_dissipation_w" && c.nominal.section == 1;
  });
  REQUIRE(corner != all.end());
  CHECK(corner->solved);
  CHECK(corner->worst.value > corner->nominal.value);
  const SpreadRow row = row_of(model, s, "plate_dissipation_w");
  CHECK(row.most < corner->worst.value);
  CHECK(model.varied()[corner->at.front()].kind == BuildProperty::mains);  // it goes with the supply's square
}

TEST_CASE("a worn tube gives less current") {
  Tolerances t = nothing_varies();
  t.emission_left = 0.6;
  const BuildModel model(shipped_pair(), t);
  REQUIRE(model.varied().size() == 1);
  const std::vector<double> worn{-1.0}, fresh{1.0};
  CHECK(within_ratio(model.build_at(worn).spread[0].current, 0.6, 1e-12));
  CHECK(within_ratio(model.build_at(fresh).spread[0].current, 1, 1e-12));
}

TEST_CASE("without a defect the solver of broken parts stands where the stage rests") {
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
    CAPTURE(name_of(bias));
    const Design d = shipped_pair(bias);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    const DefectPoint f = solve_defect(d, named(d, "none"));
    REQUIRE(f.point.solved == Solved::yes);
    // both settle to nanovolts
    CHECK(within(f.point.cathode_v, e.operating_point.cathode_v, 1e-7));
    CHECK(within(f.point.leak_node_v, e.operating_point.leak_node_v, 1e-7));
    CHECK(within(f.point.tail_v, e.operating_point.tail_v, 1e-7));
    CHECK(within_ratio(f.point.tail_current_a, e.operating_point.tail_current_a, 1e-8));
    CHECK(within_ratio(f.point.supply_current_a, e.operating_point.supply_current_a, 1e-8));
    for (std::size_t i = 0; i < 2; ++i) {
      CHECK(within(f.point.plate_v[i], e.operating_point.plate_v[i], 1e-7));
      CHECK(within(f.point.grid_v[i], e.operating_point.grid_v[i], 1e-7));
      CHECK(within_ratio(f.point.plate_current_a[i], e.operating_point.plate_current_a[i], 1e-8));
    }
  }
}

TEST_CASE("defects read as Ohm's law says where a closed answer exists") {
  const Design d = shipped_pair();
  const DefectPoint dead = solve_defect(d, named(d, "both_sections_dead"));
  REQUIRE(dead.point.solved == Solved::yes);
  for (std::size_t i = 0; i < 2; ++i) CHECK(within(dead.point.plate_v[i], d.supply_v, 1e-3));
  CHECK(within(dead.point.cathode_v, 0, 1e-3));
  const DefectPoint leak = solve_defect(d, named(d, "output_capacitor_1_leaks"));
  CHECK(
      within_ratio(leak.output_v[0], leak.point.plate_v[0] * d.load_ohm / (d.load_ohm + kLeakage_ohm), 1e-6));
  const DefectPoint open = solve_defect(d, named(d, "tail_open"));
  REQUIRE(open.point.solved == Solved::yes);
  CHECK(within(open.point.plate_v[0], d.supply_v, 0.5));  // hardly any current left
}

// Names stand in files that people keep.
TEST_CASE("a design's defects are those of its elements, by name and in order") {
  const std::string direct_voltages =
      "none plate_resistor_1_open plate_resistor_2_open tail_open tail_shorted bias_resistor_open "
      "bias_resistor_shorted section_1_dead section_2_dead both_sections_dead input_capacitor_leaks "
      "output_capacitor_1_leaks output_capacitor_2_leaks grid_2_to_ground";
  CHECK(names(shipped_pair()) ==
        direct_voltages + " output_capacitor_1_open output_capacitor_2_open grid_2_bypass_open");
  CHECK(names(shipped_chain()) ==
        direct_voltages +
            " first_plate_resistor_open first_cathode_resistor_open first_cathode_bypass_shorted "
            "first_section_dead capacitor_between_stages_leaks output_capacitor_1_open "
            "output_capacitor_2_open grid_2_bypass_open first_cathode_bypass_open "
            "capacitor_between_stages_open");
  CHECK(names(shipped_chain(BiasForm::direct_coupled)) ==
        "none plate_resistor_1_open plate_resistor_2_open tail_open tail_shorted section_1_dead "
        "section_2_dead both_sections_dead input_capacitor_leaks output_capacitor_1_leaks "
        "output_capacitor_2_leaks grid_2_to_ground first_plate_resistor_open first_cathode_resistor_open "
        "first_cathode_bypass_shorted first_section_dead output_capacitor_1_open output_capacitor_2_open "
        "grid_2_bypass_open first_cathode_bypass_open");
  Design sink = shipped_pair();
  sink.tail.form = TailForm::constant_current;
  CHECK(names(sink) ==
        "none plate_resistor_1_open plate_resistor_2_open tail_open bias_resistor_shorted section_1_dead "
        "section_2_dead both_sections_dead input_capacitor_leaks output_capacitor_1_leaks "
        "output_capacitor_2_leaks grid_2_to_ground output_capacitor_1_open output_capacitor_2_open "
        "grid_2_bypass_open");
  Design stage = shipped_pair();
  stage.circuit = CircuitKind::common_cathode;
  stage.cathode_ohm = 1500;
  CHECK(names(stage) ==
        "none plate_resistor_1_open cathode_resistor_open cathode_bypass_shorted section_1_dead "
        "input_capacitor_leaks output_capacitor_1_leaks output_capacitor_1_open cathode_bypass_open");
  stage.cathode_unbypassed_ohm = 1500;  // no capacitor, and the resistor is still there to be open
  CHECK(names(stage) ==
        "none plate_resistor_1_open cathode_resistor_open section_1_dead input_capacitor_leaks "
        "output_capacitor_1_leaks output_capacitor_1_open");
}

TEST_CASE("a cathode resistor of two parts keeps the part that no capacitor bridges when that one shorts") {
  Design d = shipped_pair();
  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 2200;
  d.cathode_unbypassed_ohm = 700;
  Design left = d;  // what is left is a resistor of 700 ohms
  left.cathode_ohm = 700;
  const DefectPoint shorted = solve_defect(d, named(d, "cathode_bypass_shorted"));
  Evaluation e;
  evaluate(left, Depth::rest, e);
  // a short of a milliohm against 700 ohms
  CHECK(within_ratio(shorted.point.cathode_v, e.operating_point.cathode_v, 2e-6));
  CHECK(within_ratio(shorted.point.plate_v[0], e.operating_point.plate_v[0], 2e-6));
  // Open, it leaves an insulator in series with the other part, and next to no current.
  const DefectPoint open = solve_defect(d, named(d, "cathode_resistor_open"));
  CHECK(within_ratio(open.point.plate_current_a[0], open.point.cathode_v / (kInsulation_ohm + 700), 1e-6));
}

TEST_CASE(
    "a capacitor that passes nothing leaves its output without a signal, and the other one's own gain") {
  const Design d = shipped_pair();
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  const Pair sound = *gain_with_defect(d, named(d, "none"));
  CHECK(sound == e.small_signal.gain);
  const Pair open = *gain_with_defect(d, named(d, "output_capacitor_1_open"));
  CHECK(within(open[0], 0, 1e-12));
  // Section 1 now has its plate resistor alone for a load, so it passes less signal current to the other one.
  CHECK(std::abs(open[1]) < std::abs(sound[1]));
  CHECK(std::abs(open[1]) > 0.5 * std::abs(sound[1]));
  // Without the bypass grid 2 hangs on its leak alone, at the leak node, which moves with the cathodes.
  const Pair grid_2 = *gain_with_defect(d, named(d, "grid_2_bypass_open"));
  CHECK(std::abs(grid_2[1]) < 0.5 * std::abs(sound[1]));
  CHECK(named(d, "grid_2_bypass_open").seen_in_ac_only);
  CHECK_FALSE(named(d, "grid_2_to_ground").seen_in_ac_only);
}

TEST_CASE("an open divider of a paraphase leaves grid 2 without a signal, or with all of output 1's") {
  Design d = shipped_pair();
  d.circuit = CircuitKind::paraphase;
  d.cathode_ohm = 820;  // its capacitor bridges all of it, so that each section is alone
  d.divider_ohm = 470e3;
  d.divider_foot_ohm = 15e3;
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  // A section on a load Z has a gain of -mu Z / (rp + Z) (any textbook); Z is plate resistor and leak.
  const auto gain = [&](std::size_t i) {
    const double z = 1 / (1 / d.plate_ohm[i] + 1 / d.load_ohm);
    const double mu = e.operating_point.mu[i], rp = e.operating_point.rp_ohm[i];
    return -mu * z / (rp + z);
  };
  const Defect above = named(d, "divider_resistor_open"), foot = named(d, "divider_foot_open");
  CHECK(above.seen_in_ac_only);
  const Pair silent = *gain_with_defect(d, above);
  CHECK(within_ratio(silent[0], gain(0), 1e-9));
  CHECK(within(silent[1], 0, 1e-9));
  const Pair all = *gain_with_defect(d, foot);
  // Grid 2 conducts a little, some nS behind 470 k, even far below its onset.
  CHECK(within_ratio(all[0], gain(0), 1e-4));
  CHECK(within_ratio(all[1], gain(0) * gain(1), 1e-4));
}

TEST_CASE(
    "in a chain a dead first section leaves its plate at the supply, and a leak lifts the pair's grid") {
  const Design d = shipped_chain();
  Evaluation e;
  evaluate(d, Depth::rest, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const DefectPoint none = solve_defect(d, named(d, "none"));
  CHECK(within(none.point.first.plate_v, e.operating_point.first.plate_v, 1e-3));
  CHECK(within(none.point.first.cathode_v, e.operating_point.first.cathode_v, 1e-3));
  CHECK(within(none.point.plate_v[0], e.operating_point.plate_v[0], 1e-3));
  const DefectPoint dead = solve_defect(d, named(d, "first_section_dead"));
  CHECK(within(dead.point.first.plate_v, d.supply_v, 1e-3));
  CHECK(within(dead.point.first.cathode_v, 0, 1e-3));
  CHECK(within(dead.point.plate_v[0], none.point.plate_v[0], 1e-3));  // the capacitor keeps DC apart
  const DefectPoint leak = solve_defect(d, named(d, "capacitor_between_stages_leaks"));
  CHECK(leak.point.grid_v[0] > none.point.grid_v[0] + 1);
  CHECK(leak.point.plate_v[0] < none.point.plate_v[0] - 1);
}

TEST_CASE("a first stage varies with tube and parts of its own, and its cathode resistors stay in order") {
  Design d = shipped_pair();
  d.circuit = CircuitKind::gain_and_splitter;
  d.tail.ohm = 27e3;
  d.first_stage.tube = &tube("12AX7");
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.cathode_ohm = d.first_stage.cathode_unbypassed_ohm = 1500;
  const BuildModel model(d, {});
  const auto varies = [&](std::string_view name) {
    return std::any_of(model.varied().begin(), model.varied().end(),
                       [&](const Varied& v) { return v.name == name; });
  };
  CHECK(varies("first_stage/mu"));
  CHECK(varies("first_stage/plate_current"));
  CHECK(varies("/first_stage/plate_ohm"));
  CHECK(!varies("/first_stage/cathode_ohm"));  // one resistor, not two
  CHECK(varies("/first_stage/cathode_unbypassed_ohm"));
  for (const double z : {-1.0, 1.0}) {
    const std::vector<double> all(model.varied().size(), z);
    const Design b = model.build_at(all);
    CHECK(within_ratio(b.first_stage.cathode_ohm, 1500 * (1 + 0.01 * z), 1e-12));
    CHECK(b.first_stage.cathode_unbypassed_ohm == b.first_stage.cathode_ohm);
    CHECK(b.first_stage.spread.mu != 1);
    Evaluation e;
    evaluate(b, Depth::full, e);
    CHECK(e.operating_point.solved == Solved::yes);
  }
  CHECK(defects_of(d).size() > 20);
}

TEST_CASE("the pieces of the work hold every build once") {
  const BuildModel model(shipped_pair(), {});
  const Demands demands;
  CHECK(BuildSampler(model, demands, 250, 1).pieces() == 1);
  CHECK(BuildSampler(model, demands, 251, 1).pieces() == 2);
  BuildSampler sampler(model, demands, 600, 1);
  REQUIRE(sampler.pieces() == 3);  // of 250
  for (const int piece : {2, 0, 1}) sampler.work(piece);
  const BuildSample in_any_order = sampler.finish(), in_order = sampled(model, 600, 1);
  REQUIRE(in_any_order.column.size() == in_order.column.size());
  for (std::size_t c = 0; c < in_order.column.size(); ++c)
    CHECK(in_any_order.column[c].value == in_order.column[c].value);
}

TEST_CASE("of a figure that some builds do not have, the others are summed up") {
  const BuildModel model(shipped_pair(), {});
  BuildSample sample = sampled(model, 600, 3);
  Evaluation nominal;
  evaluate(model.nominal(), Depth::full, nominal);
  BuildColumn& column = sample.column.front();
  std::vector<double> left;
  std::vector<std::vector<double>> left_units(sample.unit.size());
  for (std::size_t k = 0; k < column.value.size(); ++k)
    if (k % 3 == 0) {
      column.known[k] = 0;
      column.value[k] = 0;
    } else {
      left.push_back(column.value[k]);
      for (std::size_t p = 0; p < left_units.size(); ++p) left_units[p].push_back(sample.unit[p][k]);
    }
  const SpreadRow row = spread_row(model, sample, 0, nominal);
  CHECK(row.known == 400);
  CHECK(row.least == *std::min_element(left.begin(), left.end()));
  CHECK(row.most == *std::max_element(left.begin(), left.end()));
  REQUIRE(row.index.size() == left_units.size());
  for (std::size_t p = 0; p < left_units.size(); ++p) {
    CHECK(within(row.index[p], engine::first_order_index(left_units[p], left), 1e-12));
  }
}
