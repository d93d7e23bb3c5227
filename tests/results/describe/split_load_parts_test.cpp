// What to buy for a split-load splitter, and its netlist: both of its equal resistors are there.
#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>
#include <vector>

#include "results/describe/parts_list.h"
#include "results/writers/netlist.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

Design splitter(BiasForm bias) {
  Design d;
  d.circuit = CircuitKind::split_load;
  d.tube = {&sample::tube_12au7(), &sample::tube_12au7()};
  d.supply_v = 300;
  d.plate_ohm = {22e3, 22e3};
  d.bias.form = bias;
  d.bias.ohm = 1.8e3;
  d.bias.grid_v = 75;
  d.grid_leak_ohm = 470e3;
  d.load_ohm = 220e3;
  d.coupling_f = 100e-9;
  d.swing_peak_v = 15;
  return d;
}

int pieces(const std::vector<PartLine>& parts, PartKind kind, double value) {
  int count = 0;
  for (const PartLine& p : parts)
    if (p.kind == kind && p.value == value) count += p.count;
  return count;
}

bool has(const Record& r, const std::string& wanted) {
  std::istringstream text(netlist(r));
  for (std::string line; std::getline(text, line);)
    if (line == wanted) return true;
  return false;
}

}  // namespace

TEST_CASE("a split load needs two equal load resistors, two coupling capacitors and one tube") {
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled}) {
    const bool self = bias == BiasForm::self_biased;
    const Record r = sample::record(splitter(bias));
    const auto parts = parts_list(r.design, r.evaluation, {});
    CHECK(pieces(parts, PartKind::resistor, 22e3) == 2);
    CHECK(pieces(parts, PartKind::resistor, 1.8e3) == (self ? 1 : 0));
    CHECK(pieces(parts, PartKind::resistor, 470e3) == (self ? 1 : 0));
    CHECK(pieces(parts, PartKind::capacitor, 100e-9) == 2);
    CHECK(std::count_if(parts.begin(), parts.end(), [](const auto& p) { return p.kind == PartKind::tube; }) ==
          1);
    // The same current at rest through both (Kirchhoff), so the same power: its square times the resistance.
    const double current_a = r.evaluation.operating_point.plate_current_a[0];
    for (const PartLine& p : parts)
      if (p.value == 22e3) CHECK(within_ratio(*p.power_rest_w, current_a * current_a * 22e3, 1e-6));
  }
}

TEST_CASE("the netlist of a split load has a resistor on either side of the tube") {
  const Record self = sample::record(splitter(BiasForm::self_biased));
  CHECK(has(self, "R1 B P1 22000"));
  CHECK(has(self, "R2 K LOAD2 1800"));
  CHECK(has(self, "R3 LOAD2 0 22000"));
  CHECK(has(self, "R4 GIN LOAD2 470000"));
  CHECK(has(self, "C2 P1 OUT1 1e-07"));
  CHECK(has(self, "C3 LOAD2 OUT2 1e-07"));
  const Record direct = sample::record(splitter(BiasForm::direct_coupled));
  CHECK(has(direct, "R1 B P1 22000"));
  CHECK(has(direct, "R2 K 0 22000"));
  CHECK(has(direct, "C2 K OUT2 1e-07"));
}
