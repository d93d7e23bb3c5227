#include "results/describe/part_values.h"

#include <doctest/doctest.h>

#include "stagemodels/circuits/questions.h"
#include "stagemodels/evaluate.h"
#include "tests/results/support/part_line.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;
using sample::part;

TEST_CASE("with the capacitors that are proposed the outputs reach down to 10 Hz") {
  for (Design d :
       {sample::self_biased_pair(), sample::direct_pair(), sample::rail_pair(), sample::gain_stage()}) {
    d.coupling_f = 0;
    const Record r = sample::record(d);
    const PartValues values(d, r.evaluation);
    int filled = 0;
    for (const Element& e : circuit_of(d)) {
      if (e.kind != ElementKind::capacitor || !e.there(d)) continue;
      REQUIRE(values.proposed(e));
      CHECK(values.text(e).starts_with("\u2265 "));
      ++filled;
    }
    CHECK(filled >= 2);
    for (const Element& e : circuit_of(r.design))
      if (e.kind == ElementKind::capacitor && e.there(d)) e.member->at(d) = *values.proposed(e);
    Evaluation with;
    evaluate(d, Depth::with_frequency, with);
    REQUIRE(with.operating_point.solved == Solved::yes);
    for (int i = 0; i < outputs(d.circuit); ++i) {
      // Empty: flat down to the lowest frequency that is looked at.
      CHECK(with.frequency.low_corner_hz[static_cast<std::size_t>(i)].value_or(0) <=
            kProposedDownTo_hz * 1.001);
    }
  }
}

TEST_CASE("a value that no series has is told with its neighbours") {
  const Record r = sample::record(sample::gain_stage());  // 1800 less 220: 1580 ohm
  const PartLine bypassed = part(parts_list(r.design, r.evaluation, {}), "cathode resistor, bypassed");
  CHECK(bypassed.series == "E96");  // 1.58 k is one of E96
  Design odd = sample::gain_stage();
  odd.cathode_ohm = 1500;  // 1280 ohm: E24 has 1.3 k, E96 1.27 k (IEC 60063)
  const PartLine line =
      part(parts_list(odd, sample::record(odd).evaluation, {}), "cathode resistor, bypassed");
  CHECK(line.series.empty());
  CHECK(line.note.find("1.3 k\u03a9 in E24 and 1.27 k\u03a9 in E96") != std::string::npos);
}
