// A section that differs from its type is a section of the type that it differs to.
#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Everything that depends on the sections, of two designs that must be the same circuit.
void same(const Design& got, const Design& want) {
  Evaluation a, b;
  evaluate(got, Depth::full, a);
  evaluate(want, Depth::full, b);
  REQUIRE(a.at_target.solved == Solved::yes);
  REQUIRE(b.at_target.solved == Solved::yes);
  for (int i = 0; i < sections(got.circuit); ++i) {
    CHECK(within_ratio(a.operating_point.plate_current_a[i], b.operating_point.plate_current_a[i], 1e-9));
    CHECK(within_ratio(a.operating_point.mu[i], b.operating_point.mu[i], 1e-9));
    CHECK(within_ratio(a.small_signal.gain[i], b.small_signal.gain[i], 1e-9));
    CHECK(within(a.at_target.thd_pct[i], b.at_target.thd_pct[i], 1e-8));
  }
  CHECK(within_ratio(a.clean.swing_peak_v, b.clean.swing_peak_v, 1e-6));
}

constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};

}  // namespace

TEST_CASE("more current is a smaller kg1 of Koren's law, in either section") {
  Koren1996 stronger = kKoren12AX7;
  stronger.kg1 /= 1.15;
  const Tube type = tube_with(kKoren12AX7), strong = tube_with(stronger);
  for (double source_ohm : {0.0, 47e3})
    for (BiasForm bias : kBiasForms)
      for (std::size_t i = 0; i < 2; ++i) {
        Design got = pair_of(type, bias), want = got;
        got.source_ohm = want.source_ohm = source_ohm;
        got.spread[i].current = 1.15;
        want.tube[i] = &strong;
        same(got, want);
      }
}

TEST_CASE("a greater amplification factor is that of the three-halves law") {
  // k (vg + va / mu + offset)^1.5: only mu stands beside the plate voltage
  const Tube type = tube_with(ChildLangmuir{1.5e-3, 60, 0.5}),
             other = tube_with(ChildLangmuir{1.5e-3, 66, 0.5});
  for (CircuitKind kind : {CircuitKind::long_tailed_pair, CircuitKind::common_cathode}) {
    Design got = pair_of(type), want = got;
    got.circuit = want.circuit = kind;
    got.cathode_ohm = want.cathode_ohm = 1500;
    got.swing_peak_v = want.swing_peak_v = 10;
    got.spread[0].mu = got.spread[1].mu = 1.1;
    want.tube = {&other, &other};
    same(got, want);
  }
}
