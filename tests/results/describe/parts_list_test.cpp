#include "results/describe/parts_list.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

const PartLine& part(const std::vector<PartLine>& parts, const std::string& label) {
  const auto it =
      std::find_if(parts.begin(), parts.end(), [&](const PartLine& p) { return p.label == label; });
  REQUIRE_MESSAGE(it != parts.end(), label);
  return *it;
}

}  // namespace

TEST_CASE("resistors at rest dissipate current squared times resistance") {
  const Record r = sample::record(sample::self_biased_pair());
  const auto parts = parts_list(r.design, r.evaluation, {});
  const OperatingPoint& op = r.evaluation.operating_point;
  const double i1 = op.plate_current_a[0], i2 = op.plate_current_a[1];
  CHECK(within_ratio(*part(parts, "plate resistor 1").power_rest_w, i1 * i1 * 100e3, 1e-6));
  CHECK(within_ratio(*part(parts, "plate resistor 2").power_rest_w, i2 * i2 * 110e3, 1e-6));
  CHECK(within_ratio(*part(parts, "bias resistor").power_rest_w, (i1 + i2) * (i1 + i2) * 820, 1e-6));
  CHECK(within_ratio(*part(parts, "tail resistor").power_rest_w, (i1 + i2) * (i1 + i2) * 39e3, 1e-6));
}

TEST_CASE("the power under drive is that of the mean and of every harmonic") {
  // Parseval's theorem: mean square = mean^2 + sum of c_h^2 / 2; the plate moves as its output does.
  const Record r = sample::record(sample::self_biased_pair());
  const auto& s = r.evaluation.at_target;
  REQUIRE(s.solved == Solved::yes);
  const Waveforms& w = r.evaluation.waveforms;
  const auto last = static_cast<std::size_t>(w.instants) - 1;
  double mean_v = 0;  // trapezoids over the half cycle, which are exact for cosines
  for (std::size_t k = 0; k < last; ++k)
    mean_v += r.design.supply_v - (w.plate_v[0][k] + w.plate_v[0][k + 1]) / 2;
  mean_v /= static_cast<double>(last);
  double mean_square = mean_v * mean_v;
  for (int h = 1; h <= kHarmonics; ++h) {
    const double c = s.harmonic_v[0][static_cast<std::size_t>(h)];
    mean_square += c * c / 2;
  }
  const PartLine plate = part(parts_list(r.design, r.evaluation, {}), "plate resistor 1");
  CHECK(within_ratio(*plate.power_worst_w, mean_square / r.design.plate_ohm[0], 1e-6));
  CHECK(*plate.voltage_worst_v > *plate.voltage_rest_v + 0.9 * s.output_peak_v[0]);
}

TEST_CASE("the rating is the smallest that stays within the derating") {
  Evaluation e;
  e.operating_point.solved = Solved::yes;
  Design d = sample::direct_pair();
  e.operating_point.supply_v = d.supply_v;
  const auto rated = [&](double watt) {
    e.operating_point.plate_v[0] = d.supply_v - std::sqrt(watt * d.plate_ohm[0]);
    return part(parts_list(d, e, {.resistor_power = 0.5}), "plate resistor 1").rating_w;
  };
  CHECK(rated(0.12) == 0.25);
  CHECK(rated(0.13) == 0.5);
  CHECK(rated(4.9) == 10);
  CHECK_FALSE(rated(5.1).has_value());
}

TEST_CASE("a partly bypassed cathode resistor is two parts that add up") {
  const Record r = sample::record(sample::gain_stage());
  const auto parts = parts_list(r.design, r.evaluation, {});
  const PartLine& bypassed = part(parts, "cathode resistor, bypassed");
  const PartLine& bare = part(parts, "cathode resistor, unbypassed");
  CHECK(bypassed.value + bare.value == r.design.cathode_ohm);
  CHECK(within_ratio(*bypassed.voltage_rest_v + *bare.voltage_rest_v, r.evaluation.operating_point.cathode_v,
                     1e-9));
  CHECK(*bare.voltage_worst_v > 1.05 * *bare.voltage_rest_v);          // the signal stands across it
  CHECK(*bypassed.voltage_worst_v < 1.01 * *bypassed.voltage_rest_v);  // and not across this one
}

TEST_CASE("pieces are counted: bulbs, grid leaks, coupling capacitors") {
  const auto count = [](const Design& d, const char* label) {
    return part(parts_list(d, {}, {}), label).count;
  };
  CHECK(count(sample::self_biased_pair(), "tube") == 1);
  CHECK(count(sample::self_biased_pair(), "grid leak") == 2);
  CHECK(count(sample::direct_pair(), "grid leak") == 1);
  CHECK(count(sample::self_biased_pair(), "coupling capacitor") == 2);
  Design mixed = sample::self_biased_pair();
  mixed.tube[1] = &sample::tube_12au7();
  CHECK(part(parts_list(mixed, {}, {}), "tube of section 2").what == "12AU7");
}

TEST_CASE("without a rest point no power is made up") {
  const auto parts = parts_list(sample::self_biased_pair(), {}, {});
  CHECK_FALSE(part(parts, "plate resistor 1").power_rest_w.has_value());
  CHECK_FALSE(part(parts, "plate resistor 1").rating_w.has_value());
}

TEST_CASE(
    "the dropping resistor dissipates its own drop and stands the main supply until the reservoir is full") {
  Evaluation e;
  e.operating_point.solved = Solved::yes;
  e.operating_point.supply_v = 300;
  Design d = sample::self_biased_pair();
  d.supply_v = 0;
  d.main_supply_v = 400;
  d.dropping_ohm = 33e3;
  d.reservoir_f = 22e-6;
  const auto parts = parts_list(d, e, {});
  const PartLine& dropper = part(parts, "dropping resistor");
  CHECK(within_ratio(*dropper.power_rest_w, 100.0 * 100 / 33e3, 1e-12));  // V^2 / R = 0.30 W
  CHECK(dropper.rating_w == 1);                                           // at half its power
  CHECK(dropper.voltage_rest_v == 100.0);
  CHECK(dropper.voltage_worst_v == 400.0);
  CHECK_FALSE(dropper.note.empty());
  const PartLine& reservoir = part(parts, "reservoir capacitor");
  CHECK(reservoir.voltage_worst_v == 400.0);
  CHECK(reservoir.note.find("whole main supply") != std::string::npos);
  CHECK(part(parts, "coupling capacitor").voltage_worst_v == 400.0);
}

TEST_CASE("a coupling capacitor has the output valve's bias on its far side") {
  Design d = sample::self_biased_pair();
  OutputValve valve;
  d.output_valve = &valve;
  d.output_valve_bias_v = -38;
  CHECK(part(parts_list(d, {}, {}), "coupling capacitor").voltage_worst_v == 358.0);
}

TEST_CASE("a cathode bypass has its part of the cathode voltage only") {
  Design d = sample::gain_stage();
  d.cathode_bypass_f = 100e-6;
  Evaluation e;
  e.operating_point.solved = Solved::yes;
  e.operating_point.cathode_v = 1.8;  // over 1800 ohm, of which 220 are not bypassed
  CHECK(within(*part(parts_list(d, e, {}), "cathode bypass capacitor").voltage_worst_v, 1.58, 1e-12));
}

TEST_CASE("clamp diodes are listed with their reverse voltage and their reason") {
  Design d = sample::direct_pair();
  d.bias.grid_clamp = false;
  const auto none = parts_list(d, {}, {});
  CHECK(std::none_of(none.begin(), none.end(),
                     [](const PartLine& p) { return p.label.find("diode") != std::string::npos; }));
  d.bias.grid_clamp = true;
  const Record r = sample::record(d);
  REQUIRE(r.evaluation.at_target.solved == Solved::yes);
  const auto parts = parts_list(r.design, r.evaluation, {});
  const PartLine& diode = part(parts, "clamp diode, grid to cathode");
  CHECK(diode.count == 2);
  CHECK(diode.what == "silicon");
  CHECK(diode.note.find("anode at the grid") != std::string::npos);
  double lowest = 0;
  for (int i = 0; i < 2; ++i)
    for (int k = 0; k < r.evaluation.waveforms.instants; ++k)
      lowest = std::min(lowest, r.evaluation.waveforms.grid_to_cathode_v[i][static_cast<std::size_t>(k)]);
  CHECK(within(*diode.voltage_worst_v, -lowest, 1e-12));
  CHECK(*diode.voltage_worst_v > -r.evaluation.operating_point.grid_to_cathode_v[0]);
  CHECK(diode.note.find("while the tubes are cold") != std::string::npos);
}
