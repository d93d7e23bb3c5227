#include "results/describe/hand_comparison.h"

#include <doctest/doctest.h>

#include "tests/results/support/sample_report.h"

using namespace antiphase;

TEST_CASE("the worse output stands beside both ways by hand") {
  Record r;
  r.design = sample::self_biased_pair();
  r.evaluation.at_target.solved = Solved::yes;
  r.evaluation.at_target.thd_pct = {0.2, 0.6};
  r.evaluation.at_target.input_peak_v = 2.4;
  r.evaluation.hand_at_rest_point.valid = true;
  r.evaluation.hand_at_rest_point.thd_pct = 3.1;
  r.evaluation.hand_at_rest_point.grid_drive_peak_v = 1.2;
  r.evaluation.hand_at_rest_point.ac_load_ohm = 68.75e3;
  const auto rows = hand_rows(r);
  REQUIRE(rows.size() == 3);
  CHECK(rows[0].thd == "0.6 %");
  CHECK(rows[0].drive == "2.4 V");
  CHECK(rows[1].thd == "3.1 %");
  CHECK(rows[1].load == "68.8 kΩ");
  CHECK(rows[2].thd == "no such point");  // that line was not valid
}

TEST_CASE("nothing is compared where the target was not solved") {
  Record r;
  r.design = sample::self_biased_pair();
  CHECK(hand_rows(r).empty());
}

TEST_CASE("only the pair speaks of a common cathode") {
  CHECK(hand_sentences(sample::self_biased_pair())[0].find("common cathode") != std::string::npos);
  CHECK(hand_sentences(sample::gain_stage())[0].find("common cathode") == std::string::npos);
  Design paraphase = sample::self_biased_pair();
  paraphase.circuit = CircuitKind::paraphase;
  CHECK(hand_sentences(paraphase)[0].find("common cathode") == std::string::npos);
}
