#include "results/describe/values.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/results/support/sample_report.h"

using namespace antiphase;

TEST_CASE("a design in one line names what has to be set, and nothing else") {
  CHECK(design_in_words(sample::self_biased_pair()) ==
        "12AX7 at 320 V: plate resistors 100 kΩ and 110 kΩ, bias resistor 820 Ω, tail resistor 39 kΩ");
  CHECK(design_in_words(sample::rail_pair()) ==
        "12AX7 at 320 V: plate resistors 100 kΩ and 110 kΩ, negative rail -100 V, tail current 2 mA");
  Design matched = sample::rail_pair();
  matched.spread = {SectionSpread{1.1, 0.95}, SectionSpread{}};
  CHECK(design_in_words(matched) == design_in_words(sample::rail_pair()) +
                                        ", section 1 with 110 % of its type's current and 95 % of its "
                                        "amplification factor");
  CHECK(design_in_words(sample::gain_stage()) ==
        "12AX7 at 300 V: plate resistor 100 kΩ, cathode resistor 1.58 kΩ + 220 Ω, the 220 Ω not bypassed");
  Record two;
  two.design = sample::self_biased_pair();
  two.plate_2_of = engine::TwoPart{100e3, 10e3, false, 110e3, 0};
  CHECK(design_in_words(two) ==
        "12AX7 at 320 V: plate resistors 100 kΩ and 100 kΩ + 10 kΩ in series, bias resistor 820 Ω, tail "
        "resistor 39 kΩ");
}

TEST_CASE("the clean swing is told with what stops it") {
  Record r;
  r.design = sample::self_biased_pair();
  r.evaluation.clean = {Solved::yes, 50, CleanLimit::cutoff, 2, 3.9};
  CHECK(clean_swing_in_words(r) ==
        "Clean up to 50 V peak per output (+3.9 dB against the target); then stopped by a section that cuts "
        "off. The clean limit is 3 % distortion.");
  r.evaluation.clean.swing_peak_v = 0;
  CHECK(clean_swing_in_words(r).find("No clean swing") == 0);
}

TEST_CASE("what was not solved is said once, by its first cause") {
  Evaluation e;
  e.operating_point.solved = Solved::no_rest_point;
  CHECK(missing_in_words(e).size() == 1);
  e.operating_point.solved = Solved::yes;
  e.at_target.solved = Solved::target_out_of_reach;
  e.clean.solved = Solved::yes;
  REQUIRE(missing_in_words(e).size() == 1);
  CHECK(missing_in_words(e)[0].find("saturate") != std::string::npos);
  e.at_target.solved = Solved::yes;
  CHECK(missing_in_words(e).empty());
}

TEST_CASE("harmonics below what a bench shows are not spelled out") {
  Record r;
  r.design = sample::self_biased_pair();
  r.evaluation.at_target.solved = Solved::yes;
  r.evaluation.at_target.harmonic_v[0] = {0, 10, 0.1, 1e-9, 0, 0, 0, 0, 0, 0, 0};
  r.evaluation.at_target.harmonic_v[1] = r.evaluation.at_target.harmonic_v[0];
  const auto lines = harmonic_values(r);
  REQUIRE(lines.size() == 9);
  CHECK(lines[0].cells[0] == "1.00");
  CHECK(lines[1].cells[0] == "< 0.0001");
}

namespace {

bool has_line(const std::vector<ValueLine>& lines, const std::string& label) {
  return std::any_of(lines.begin(), lines.end(), [&](const ValueLine& l) { return l.label == label; });
}

}  // namespace

TEST_CASE("the output impedance with the load's leaks stands beside the other where it differs") {
  Design d = sample::self_biased_pair();
  d.load_ohm = 220e3;  // beside some 70 kOhm
  CHECK(has_line(small_signal_values(sample::record(d)), "with both leaks of the load in place"));
  d.load_ohm = 100e6;  // less than a thousandth
  CHECK_FALSE(has_line(small_signal_values(sample::record(d)), "with both leaks of the load in place"));
  CHECK(has_line(small_signal_values(sample::record(sample::gain_stage())), "with the load's leak in place"));
}
