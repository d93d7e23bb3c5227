#include "results/describe/output_stage.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "configs/read_design.h"
#include "results/json/design_json.h"
#include "results/json/evaluation_json.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Design example() {
  auto read = read_design(ANTIPHASE_SOURCE "/configs/designs/whole_amplifier.json", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Design>(read);
}

Record record_of(const Design& d) {
  Record r;
  r.design = d;
  evaluate(d, Depth::everything, r.evaluation);
  return r;
}

const std::vector<std::string>& row(const ValueTable& t, const std::string& label) {
  for (const auto& cells : t.rows)
    if (cells.front() == label) return cells;
  FAIL("no row " << label);
  return t.rows.front();
}

bool says(const ValueTable& t, const std::string& words) {
  for (const std::string& note : t.notes)
    if (note.find(words) != std::string::npos) return true;
  return false;
}

}  // namespace

TEST_CASE("the block of an output stage tells watts, drive and whether the driver brings them") {
  const Record r = record_of(example());
  const ValueTable t = output_stage_table(r);
  CHECK(t.caption.find("a pair of 6L6GC at 360 V, screens at 270 V") != std::string::npos);
  CHECK(row(t, "power in the load")[1] == "20 W");
  REQUIRE(t.columns.size() == 4);
  for (const auto& cells : t.rows) CHECK(cells.size() == 4);
  CHECK(says(t, "This driver brings the pair to 20 W"));
  CHECK(says(t, "No valve is cut off before the grids conduct"));
  CHECK(says(t, "3 dB down at"));
  CHECK(says(t, "solved around the loop"));
  Design plain = example();
  plain.output_stage.given = false;
  CHECK(output_stage_table(record_of(plain)).empty());
  CHECK(full_power_in_words(record_of(plain)).empty());
}

TEST_CASE("a driver that cannot reach the swing is told not to bring the pair there") {
  Design d = example();
  d.swing_peak_v = 400;
  CHECK(full_power_in_words(record_of(d)).find("does not bring the pair to 20 W") != std::string::npos);
}

TEST_CASE("the figures of an output stage stand in JSON, and balance there") {
  const Record r = record_of(example());
  const auto json = nlohmann::json::parse(evaluation_json(r, DesignFactors{}));
  const auto& o = json.at("output_stage");
  CHECK(o.at("watts_wanted") == 20);
  const auto& at = o.at("at_watts");
  CHECK(within_ratio(at.at("power_w").get<double>(), 20, 1e-6));
  // What the supplies give is the load's, the valves' and the windings': 0.3 ohm in a row with 8, and 90 ohm
  // in each half of the primary, whose mean square current is between the square of the mean and pi^2 / 4 of
  // it (half sines).
  double taken = at.at("power_w").get<double>() * (1 + 0.3 / 8), least_w = 0;
  for (int j = 0; j < 2; ++j) {
    taken += at.at("plate_dissipation_w")[j].get<double>() + at.at("screen_dissipation_w")[j].get<double>();
    const double mean_a = at.at("plate_current_a")[j];
    least_w += 90 * mean_a * mean_a;
  }
  const double given = at.at("supply_power_w");
  CHECK(given > taken + least_w);
  CHECK(given < taken + 2.4675 * least_w);
  CHECK(o.at("with_feedback").at("thd_pct") > o.at("with_feedback").at("predicted_thd_pct"));
  CHECK(o.at("driven").at("harmonics_pct").size() == 9);
}

TEST_CASE("a design with an output stage is written as it was read") {
  const Design d = example();
  const std::string text = design_json(d);
  auto read = read_design_text(text, "again", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  const auto& again = std::get<Design>(read);
  CHECK(design_json(again) == text);
  CHECK(within_ratio(again.swing_peak_v, d.swing_peak_v, 1e-9));
  CHECK(again.feedback.output_gain == d.feedback.output_gain);
  CHECK(again.output_stage.pair.transformer.leakage_h == d.output_stage.pair.transformer.leakage_h);
}
