#include "results/plots/curve_data.h"
#include "results/plots/nice_steps.h"

#include <doctest/doctest.h>

#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;

TEST_CASE("a load line's ends are those of Ohm's law") {
  const Record r = sample::record(sample::self_biased_pair());
  REQUIRE(r.evaluation.operating_point.solved == Solved::yes);
  const SectionPicture p = section_picture(r.design, r.evaluation, 0);
  const auto& op = r.evaluation.operating_point;
  // Plate resistor alone, cathodes at rest: no current at supply - cathode, and that over the resistor at 0
  // V.
  const double open_v = r.design.supply_v - op.cathode_v;
  CHECK(within_ratio(p.dc_line[0].plate_v, open_v, 1e-9));
  CHECK(within_ratio(p.dc_line[1].current_a, open_v / r.design.plate_ohm[0], 1e-9));
  // AC: plate resistor and load in parallel, through the rest point.
  const double ac_ohm = 1 / (1 / r.design.plate_ohm[0] + 1 / r.design.load_ohm);
  CHECK(within_ratio(p.ac_line[0].plate_v, op.plate_to_cathode_v[0] + op.plate_current_a[0] * ac_ohm, 1e-12));
}

TEST_CASE("a gain stage's DC line begins at the whole supply and has both resistors in it") {
  const Record r = sample::record(sample::gain_stage());
  const SectionPicture p = section_picture(r.design, r.evaluation, 0);
  CHECK(within_ratio(p.dc_line[0].plate_v, r.design.supply_v, 1e-9));
  CHECK(within_ratio(p.dc_line[1].current_a,
                     r.design.supply_v / (r.design.plate_ohm[0] + r.design.cathode_ohm), 1e-9));
}

TEST_CASE("the path passes the rest grid voltage's neighbourhood and runs downhill") {
  const Record r = sample::record(sample::rail_pair());
  for (int section : {0, 1}) {
    const SectionPicture p = section_picture(r.design, r.evaluation, section);
    REQUIRE(p.path.size() == static_cast<std::size_t>(r.evaluation.waveforms.instants));
    for (const PicturePoint& point : p.path) {
      CHECK(point.plate_v <= p.plate_v_end);
      CHECK(point.current_a <= p.current_a_end);
    }
    CHECK((p.path.front().plate_v - p.path.back().plate_v) *
              (p.path.front().current_a - p.path.back().current_a) <
          0);
  }
}

TEST_CASE("the curves are the tube's law and fill the picture") {
  const Record r = sample::record(sample::self_biased_pair());
  const SectionPicture p = section_picture(r.design, r.evaluation, 1);
  CHECK(p.grid_v.front() >= 0);
  CHECK(p.grid_v.size() >= 5);
  CHECK(p.grid_v.size() <= 17);
  for (std::size_t n = 0; n < p.grid_v.size(); ++n) {
    const auto& curve = p.curve_a[n];
    const auto k = curve.size() - 1;
    const double v = p.plate_v_end * static_cast<double>(k) / kCurveSteps;
    CHECK(curve[k] == currents_at(r.design.tube[1]->law(), p.grid_v[n], v).plate_a);
    CHECK((k == kCurveSteps || curve[k] > p.current_a_end));
  }
}

TEST_CASE("nice steps are 1, 2 or 5 times a power of ten") {
  CHECK(within_ratio(nice_above(0.13), 0.2, 1e-12));
  CHECK(within_ratio(nice_above(0.2), 0.2, 1e-12));
  CHECK(within_ratio(nice_above(3), 5, 1e-12));
  CHECK(within_ratio(nice_above(70), 100, 1e-12));
}
