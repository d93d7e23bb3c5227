#include "results/describe/parts_list.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <random>

#include "results/describe/node_voltages.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/designators.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/solve/instants.h"
#include "tests/results/support/part_line.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;
using sample::part;

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
  d.tube = {&sample::tube_without_current(),
            &sample::tube_without_current()};  // no fault of a part adds to it
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

namespace {

/// A gain stage and the pair that it drives, with every optional part.
Design chain(BiasForm bias) {
  Design d = sample::self_biased_pair();
  d.circuit = CircuitKind::gain_and_splitter;
  d.bias.form = bias;
  d.supply_v = 0;
  d.main_supply_v = 380;
  d.dropping_ohm = 10e3;
  d.reservoir_f = 22e-6;
  d.grid_bypass_f = 220e-9;
  if (bias == BiasForm::direct_coupled) d.tail.ohm = 47e3;
  d.first_stage.tube = &sample::tube_12au7();
  d.first_stage.plate_ohm = 68e3;
  d.first_stage.cathode_ohm = 2200;
  d.first_stage.cathode_unbypassed_ohm = 220;
  d.first_stage.cathode_bypass_f = 100e-6;
  d.first_stage.coupling_f = 47e-9;
  d.input_coupling_f = 100e-9;
  d.swing_peak_v = 20;
  return d;
}

std::vector<std::string> split(const std::string& designators) {
  std::vector<std::string> all;
  for (std::size_t from = 0; from < designators.size();) {
    const std::size_t comma = std::min(designators.find(", ", from), designators.size());
    all.push_back(designators.substr(from, comma - from));
    from = comma + 2;
  }
  return all;
}

/// Designs of every circuit in all its forms, with drawn values; some parts are left out, some joined.
std::vector<Design> drawn_designs() {
  static const Tube single = [] {
    Tube t = sample::tube_12au7();
    t.sections = 1;
    return t;
  }();
  const std::array<const Tube*, 3> types{&sample::tube_12ax7(), &sample::tube_12au7(), &single};
  std::mt19937 random(20260701);
  const auto pick = [&](std::size_t of) {
    return std::uniform_int_distribution<std::size_t>(0, of - 1)(random);
  };
  const auto log_uniform = [&](double low, double high) {
    return low * std::pow(high / low, std::uniform_real_distribution<>(0, 1)(random));
  };
  std::vector<Design> designs;
  for (int k = 0; k < 60; ++k)
    for (const CircuitEntry& circuit : circuits()) {
      Design d;
      d.circuit = circuit.kind;
      if (!circuit.bias_forms.empty()) d.bias.form = circuit.bias_forms[pick(circuit.bias_forms.size())];
      if (!circuit.tail_forms.empty()) d.tail.form = circuit.tail_forms[pick(circuit.tail_forms.size())];
      d.bias.grid_clamp = pick(2) == 0;
      d.feedback.given = pick(2) == 0;
      for (const Tube*& tube : d.tube) tube = types[pick(types.size())];
      d.first_stage.tube = types[pick(types.size())];
      (pick(2) == 0 ? d.supply_v : d.main_supply_v) = 300;
      for (const DesignField& field : design_fields()) {
        if (field.role != FieldRole::resistor && field.role != FieldRole::capacitor) continue;
        const bool left_out = field.low == 0 && pick(3) == 0;
        field.at(d) = left_out ? 0 : field.role == FieldRole::resistor ? log_uniform(1e3, 1e5) : 1e-7;
      }
      // A part of the cathode resistor is no larger than the whole.
      d.cathode_unbypassed_ohm = std::min(d.cathode_unbypassed_ohm, d.cathode_ohm);
      d.first_stage.cathode_unbypassed_ohm =
          std::min(d.first_stage.cathode_unbypassed_ohm, d.first_stage.cathode_ohm);
      designs.push_back(d);
    }
  return designs;
}

}  // namespace

TEST_CASE("every part of drawn designs stands in one line of the list, with its value") {
  for (const Design& d : drawn_designs()) {
    const Designators names(d);
    std::map<std::string, double> wanted;  // by designator; a bottle has no value
    for (const Element& e : names.circuit())
      if (bought(e, d))
        wanted[std::string(e.kind == ElementKind::triode ? names.bottle_of(e) : names.of(e))] =
            e.kind == ElementKind::triode || e.kind == ElementKind::clamp ? 0 : e.value(d);
    CHECK(wanted.size() >= 4);
    std::map<std::string, double> listed;
    for (const PartLine& p : parts_list(d, {}, {})) {
      CAPTURE(p.label);
      const auto designators = split(p.designators);
      CHECK(designators.size() == static_cast<std::size_t>(p.count));
      for (const std::string& one : designators) {
        CHECK(listed.count(one) == 0);
        listed[one] = p.value;
      }
    }
    CHECK(listed == wanted);
  }
}

TEST_CASE("what the supplies give at rest, resistors, sink and plates turn into heat") {
  // Conservation of energy; these tubes' grids draw nothing, and a plate that feeds a grid gives no current.
  Design dropped = sample::self_biased_pair();
  dropped.supply_v = 0;
  dropped.main_supply_v = 400;
  dropped.dropping_ohm = 22e3;
  for (const Design& d :
       {sample::self_biased_pair(), sample::direct_pair(), sample::rail_pair(), sample::gain_stage(), dropped,
        chain(BiasForm::self_biased), chain(BiasForm::direct_coupled)}) {
    const Record r = sample::record(d);
    const OperatingPoint& o = r.evaluation.operating_point;
    REQUIRE(o.solved == Solved::yes);
    double heat_w = o.plate_dissipation_w[0] + o.plate_dissipation_w[1] + o.first.plate_dissipation_w;
    for (const PartLine& p : parts_list(d, r.evaluation, {})) heat_w += p.count * p.power_rest_w.value_or(0);
    const double rail_v = d.bias.form == BiasForm::negative_rail ? d.bias.rail_v : 0;
    const double supply_v = d.main_supply_v > 0 ? d.main_supply_v : d.supply_v;
    CHECK(within_ratio(heat_w, supply_v * o.supply_current_a - rail_v * o.tail_current_a, 1e-7));
  }
}

TEST_CASE("over the cycle the supply gives what becomes heat and what the source and the load have") {
  // Conservation over the cycle at the target, all capacitors ideal: power of the supply = heat in the parts,
  // the plates and the load. The source gives none where no grid draws current but for the small power in the
  // leak of grid 1, which then is on both sides, and is left out of both.
  const Record r = sample::record(sample::gain_stage());
  const Evaluation& e = r.evaluation;
  REQUIRE(e.at_target.solved == Solved::yes);
  double heat_w = e.at_target.plate_dissipation_w[0];
  const NodeVoltages nodes(r.design, e);
  const Circuit& c = circuit_of(r.design);
  const Instants& instants = cycle_instants(e.waveforms.instants);
  for (const Element& part : c) {
    if (part.kind != ElementKind::resistor || !part.stands(r.design) || part.role == Role::grid_leak)
      continue;
    for (std::size_t k = 0; k < nodes.cycle().size(); ++k) {
      const double v = nodes.cycle()[k][static_cast<std::size_t>(part.a)] -
                       nodes.cycle()[k][static_cast<std::size_t>(part.b)];
      heat_w += instants.mean[k] * v * v / part.value(r.design);
    }
  }
  CHECK(within_ratio(heat_w, r.design.supply_v * e.at_target.supply_current_a, 1e-6));
}

TEST_CASE("what a builder needs beyond the stage's own resistors is in the list") {
  Design d = chain(BiasForm::self_biased);
  d.feedback.given = true;
  d.feedback.output_gain = 0.4;
  Evaluation e;
  const auto value = [&] { return part(parts_list(d, e, {}), "feedback resistor").value; };
  CHECK(value() == 0);
  CHECK(part(parts_list(d, e, {}), "feedback resistor").what == "not given");
  e.feedback.resistor_ohm = 1800;  // what the feedback asked for takes
  CHECK(value() == 1800);
  d.feedback.resistor_ohm = 2000;  // a value of the design's own counts first
  CHECK(value() == 2000);

  const auto parts = parts_list(sample::rail_pair(), sample::record(sample::rail_pair()).evaluation, {});
  const PartLine& sink = part(parts, "constant-current sink");
  CHECK(sink.designators == "I1");
  CHECK(sink.what == "2 mA");
  CHECK(*sink.voltage_worst_v >= 100);  // the rail, and the cathode above ground
  CHECK(sink.note.find("set to 2 mA") != std::string::npos);
  CHECK(part(parts, "grid leak").designators == "R3, R4");
}

TEST_CASE("at the target a feedback resistor has the load's voltage across it") {
  // The load follows the grids: 20 V at each, 0.4 V a volt, so 8 V peak; injection: a few tenths of a volt.
  Design d = chain(BiasForm::self_biased);
  d.feedback.given = true;
  d.feedback.output_gain = 0.4;
  d.feedback.resistor_ohm = 2000;
  const Record r = sample::record(d);
  REQUIRE(r.evaluation.at_target.solved == Solved::yes);
  const PartLine line = part(parts_list(d, r.evaluation, {}), "feedback resistor");
  CHECK(within(*line.voltage_worst_v, 8, 1));
  CHECK(within_ratio(*line.power_worst_w, 8.0 * 8 / 2 / 2000, 0.2));
}

TEST_CASE("a phase lead capacitor is a part of the loop, and none where there is no value") {
  Design d = chain(BiasForm::self_biased);
  d.feedback.given = true;
  d.feedback.output_gain = 0.4;
  d.feedback.resistor_ohm = 2000;
  const auto has_lead = [](const std::vector<PartLine>& parts) {
    return std::any_of(parts.begin(), parts.end(),
                       [](const PartLine& p) { return p.label == "phase lead capacitor"; });
  };
  CHECK_FALSE(has_lead(parts_list(d, sample::record(d).evaluation, {})));
  d.feedback.lead_f = 2.2e-9;
  const Record r = sample::record(d);
  REQUIRE(r.evaluation.at_target.solved == Solved::yes);
  const auto parts = parts_list(d, r.evaluation, {});
  const PartLine& line = part(parts, "phase lead capacitor");
  CHECK(line.value == 2.2e-9);
  CHECK(line.designators.front() == 'C');
  CHECK(line.count == 1);
  CHECK(within(*line.voltage_worst_v, *part(parts, "feedback resistor").voltage_worst_v, 1e-9));
}

TEST_CASE("what decouples a first stage stands the supply before the tubes conduct") {
  // Without current nothing is dropped, so that the capacitor stands all of the main supply; empty, it leaves
  // the supply to the resistor, which divides it with the dropping resistor.
  Design d = chain(BiasForm::self_biased);
  d.main_supply_v = 380;
  d.dropping_ohm = 10e3;
  d.first_stage.decoupling_ohm = 22e3;
  d.first_stage.decoupling_f = 22e-6;
  const Record r = sample::record(d);
  REQUIRE(r.evaluation.operating_point.solved == Solved::yes);
  const auto parts = parts_list(d, r.evaluation, {});
  const PartLine &capacitor = part(parts, "decoupling capacitor"),
                 &resistor = part(parts, "decoupling resistor");
  CHECK(*capacitor.voltage_worst_v == 380.0);
  const double rest_a = r.evaluation.operating_point.first.plate_current_a;
  CHECK(within_ratio(*resistor.voltage_rest_v, rest_a * 22e3, 1e-6));
  CHECK(within_ratio(*resistor.power_rest_w, rest_a * rest_a * 22e3, 1e-6));
  CHECK(within_ratio(*resistor.voltage_worst_v, 380.0 * 22 / 32, 1e-9));
  CHECK(resistor.note.find("until the capacitor behind it is charged") != std::string::npos);
}

TEST_CASE("the leak of a directly coupled pair stands the supply while its bypass is charged") {
  // The empty bypass, the leak, the first plate resistor and the dropping resistor divide the main supply.
  const Design d = chain(BiasForm::direct_coupled);
  const auto parts = parts_list(d, sample::record(d).evaluation, {});
  const PartLine& leak = part(parts, "grid leak");
  CHECK(within_ratio(*leak.voltage_worst_v, 380 * 1e6 / (1e6 + 68e3 + 10e3), 1e-12));
  CHECK(leak.rating_v == 500.0);  // 353 V is more than 80 % of 350 V
  CHECK(*leak.power_worst_w < 1e-3);
  CHECK(leak.note.find("until the capacitor behind it is charged") != std::string::npos);
  // The reservoir is charged through the dropping resistor alone: plates follow it.
  CHECK(part(parts, "dropping resistor").voltage_worst_v == 380.0);
  CHECK(*part(parts, "plate resistor 1").voltage_worst_v < 300);
  CHECK(part(parts, "plate resistor 1").note.empty());
}

TEST_CASE("a capacitor that the design leaves open is listed, and no voltage of it is made up") {
  Design d = sample::gain_stage();
  const PartLine bypass = part(parts_list(d, {}, {}), "cathode bypass capacitor");
  CHECK(bypass.what == "not given");
  CHECK_FALSE(bypass.voltage_worst_v.has_value());
  CHECK_FALSE(bypass.rating_v.has_value());
  CHECK(bypass.series.empty());
}

TEST_CASE("the two resistors of plate resistor 2 have its designator with a letter") {
  const Record r = sample::record(sample::self_biased_pair());
  engine::TwoPart two;
  two.first = 100e3;
  two.second = 10e3;
  two.value = 110e3;
  const auto parts = parts_list(r.design, r.evaluation, {}, two);
  const PartLine& first = part(parts, "plate resistor 2, first part");
  const PartLine& second = part(parts, "plate resistor 2, second part");
  CHECK(first.designators == "R2a");
  CHECK(second.designators == "R2b");
  // in series: one current, so the powers are as the resistances, and add up to that of one resistor
  CHECK(within_ratio(*first.power_rest_w, 10 * *second.power_rest_w, 1e-12));
  CHECK(within_ratio(*first.power_rest_w + *second.power_rest_w,
                     *part(parts_list(r.design, r.evaluation, {}), "plate resistor 2").power_rest_w, 1e-9));
}
