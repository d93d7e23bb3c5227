// What the resistors that drive grid 2 of a paraphase have to bear.
#include <doctest/doctest.h>

#include <algorithm>
#include <string_view>
#include <vector>

#include "results/describe/parts_list.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

Design splitter(CircuitKind kind) {
  Design d;
  d.circuit = kind;
  d.tube = {&sample::tube_12au7(), &sample::tube_12au7()};
  d.supply_v = 300;
  d.plate_ohm = {47e3, 47e3};
  d.cathode_ohm = 820;
  d.grid_leak_ohm = 1e6;
  d.divider_ohm = 470e3;
  d.balancing_ohm = 560e3;
  d.divider_foot_ohm = kind == CircuitKind::paraphase ? 39e3 : 390e3;
  d.load_ohm = 330e3;
  d.coupling_f = 100e-9;
  d.swing_peak_v = 15;
  return d;
}

const Burden& at_switch_on(const std::vector<PartLine>& parts, double ohm) {
  const auto part = std::find_if(parts.begin(), parts.end(), [&](const PartLine& p) {
    return p.kind == PartKind::resistor && p.value == ohm;
  });
  REQUIRE(part != parts.end());
  const Burden* b = burden_of(part->burdens, Cause::switch_on);
  REQUIRE(b);
  return *b;
}

}  // namespace

TEST_CASE("before the coupling capacitors are charged a paraphase's divider hangs on plate 1") {
  const Design d = splitter(CircuitKind::paraphase);
  const auto parts = parts_list(d, sample::record(d).evaluation, {});
  // Ohm's law: the supply through the plate resistor into load and divider.
  const double both = d.divider_ohm + d.divider_foot_ohm, into = both * d.load_ohm / (both + d.load_ohm);
  const double output_v = d.supply_v * into / (into + d.plate_ohm[0]);
  CHECK(within_ratio(*at_switch_on(parts, 470e3).voltage_v, output_v * 470e3 / both, 1e-9));
  CHECK(within_ratio(*at_switch_on(parts, 39e3).voltage_v, output_v * 39e3 / both, 1e-9));
  for (const PartLine& p : parts)
    if (p.kind == PartKind::resistor && p.value == 470e3) CHECK(*p.rating_v >= output_v * 470e3 / both);
}

TEST_CASE("of a floating paraphase grid 2 then hangs between both plates") {
  const Design d = splitter(CircuitKind::floating_paraphase);
  const auto parts = parts_list(d, sample::record(d).evaluation, {});
  // Node by node: outputs o1, o2 and grid g with conductances to supply, ground and each other.
  const double P = 1 / d.plate_ohm[0], L = 1 / d.load_ohm, D = 1 / d.divider_ohm, B = 1 / d.balancing_ohm,
               F = 1 / d.divider_foot_ohm;
  // o1 = (P V + D g) / (P + L + D), o2 alike with B; D (o1 - g) + B (o2 - g) = F g.
  const double a1 = P + L + D, a2 = P + L + B;
  const double g = (D * P / a1 + B * P / a2) * d.supply_v / (D + B + F - D * D / a1 - B * B / a2);
  const double o1 = (P * d.supply_v + D * g) / a1, o2 = (P * d.supply_v + B * g) / a2;
  CHECK(within_ratio(*at_switch_on(parts, 470e3).voltage_v, o1 - g, 1e-9));
  CHECK(within_ratio(*at_switch_on(parts, 560e3).voltage_v, o2 - g, 1e-9));
  CHECK(within_ratio(*at_switch_on(parts, 390e3).voltage_v, g, 1e-9));
}
