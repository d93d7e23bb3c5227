#include <doctest/doctest.h>

#include "results/describe/level_table.h"
#include "results/describe/missing_reason.h"
#include "results/describe/overdrive.h"
#include "results/describe/response.h"
#include "results/describe/two_tones.h"
#include "results/describe/values.h"
#include "tests/results/support/sample_figures.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

std::vector<std::string> row_of(const ValueTable& table, const std::string& label) {
  for (const auto& row : table.rows)
    if (row[0] == label) return row;
  return {};
}

std::string cell_of(const std::vector<ValueLine>& lines, const std::string& label) {
  for (const ValueLine& line : lines)
    if (line.label == label) return line.cells[0];
  return "missing";
}

bool rectangular(const ValueTable& table) {
  return std::all_of(table.rows.begin(), table.rows.end(),
                     [&](const auto& row) { return row.size() == table.columns.size(); });
}

}  // namespace

TEST_CASE("two tones: both methods, three orders, outputs and difference in their own columns") {
  const ValueTable table = two_tone_table(sample::whole_circuit());
  REQUIRE(table.rows.size() == 6);
  CHECK(rectangular(table));
  CHECK(table.rows[0] ==
        std::vector<std::string>{"4:1 (60 Hz, 7 kHz), second order", "1.00", "0.750", "0.0156"});
  CHECK(table.rows[5] == std::vector<std::string>{"1:1 (19 kHz, 20 kHz), total", "0.560", "0.470", "0.254"});
  CHECK(two_tone_table(sample::whole_circuit(sample::gain_stage())).columns.size() == 2);
}

TEST_CASE("the level curve is told at the nearest point to every 6 dB and at its end") {
  LevelCurve curve = sample::level_curve();
  std::vector<double> told;
  for (const LevelPoint* p : points_to_tell(curve)) told.push_back(p->level_db);
  CHECK(told == std::vector<double>{-30, -24, -18, -12, -6, 0, 6, 7.5});
  for (int k = 0; k < curve.count; ++k)
    curve.point[static_cast<std::size_t>(k)].level_db += 0.6;  // off the grid
  told.clear();
  for (const LevelPoint* p : points_to_tell(curve)) told.push_back(p->level_db);
  CHECK(told.size() == 8);
  CHECK(std::abs(told[5] - 0) <= 0.9);
  curve.count = 1;
  CHECK(points_to_tell(curve).size() == 1);
  curve.count = 0;
  CHECK(points_to_tell(curve).empty());

  const ValueTable table = level_table(sample::whole_circuit());
  CHECK(rectangular(table));
  CHECK(row_of(table, "0.0") == std::vector<std::string>{"0.0", "1.25", "0.500", "0.250", "0.0300"});
  CHECK_FALSE(row_of(table, "+7.5").empty());
}

TEST_CASE("clean swing: as defined, with own grids conducting, into the output valves' grids") {
  Record r = sample::whole_circuit();
  r.evaluation.clean = {Solved::yes, 50, CleanLimit::grid_conduction, 2, 3.88};
  const ValueTable table = clean_swing_table(r);
  REQUIRE(table.rows.size() == 3);
  CHECK(table.rows[0][1] == "50 V");
  CHECK(table.rows[1] == std::vector<std::string>{"own grids conducting", "64 V", "+6.02 dB", "distortion"});
  CHECK(table.rows[2][0] == "into the grids of EL34");
  r.design.output_valve = nullptr;
  CHECK(clean_swing_table(r).rows.size() == 2);
  r.evaluation.overdrive.clean_conducting.swing_peak_v = 0;
  CHECK(clean_swing_table(r).rows[1][1] == "none");
}

TEST_CASE("overdrive: shifts carry their sign, currents their prefix, starvation and recovery a sentence") {
  Record r = sample::whole_circuit();
  ValueTable table = overdrive_table(r);
  CHECK(rectangular(table));
  CHECK(table.columns ==
        std::vector<std::string>{"drive over that for the target", "0 dB", "+6 dB", "+12 dB"});
  CHECK(row_of(table, "mean shift of output grid 1") ==
        std::vector<std::string>{"mean shift of output grid 1", "0 V", "-6.5 V", "-13 V"});
  CHECK(row_of(table, "highest current into output grid 2")[3] == "2.5 mA");
  REQUIRE(table.notes.size() == 2);
  CHECK(table.notes[0].find("+4.5 dB") != std::string::npos);
  CHECK(table.notes[1] ==
        "A shifted output grid returns with a time constant of 25 ms (output 1) and 26 ms (output 2).");

  r.evaluation.overdrive.at[0].grid_shift_v[0] = 3e-17;  // a meter shows nothing
  CHECK(row_of(overdrive_table(r), "mean shift of grid 1")[1] == "0 V");

  r.evaluation.overdrive.starved_db.reset();
  r.evaluation.overdrive.output_recovery_s = {};
  table = overdrive_table(r);
  CHECK(table.notes[0].find("not starved within 20 dB") != std::string::npos);
  CHECK(table.notes[1].find("no coupling capacitor is given") != std::string::npos);

  r.design.output_valve = nullptr;
  table = overdrive_table(r);
  CHECK(row_of(table, "mean shift of output grid 1").empty());
  CHECK(table.notes[0].find("no output valve is named") != std::string::npos);

  r.evaluation.overdrive.at[2].solved = Solved::no_convergence;
  table = overdrive_table(r);
  CHECK(row_of(table, "mean shift of grid 1")[3] == "-");
  CHECK(table.notes[0].find("+12 dB: the solver did not settle") != std::string::npos);
}

TEST_CASE("what was not asked for is not mentioned, what failed is, with its first cause") {
  Record r = sample::record(sample::self_biased_pair());  // not so deep
  for (const ValueTable& table :
       {two_tone_table(r), level_table(r), overdrive_table(r), clean_swing_table(r)})
    CHECK(table.empty());
  r = sample::whole_circuit();
  r.evaluation.at_target.solved = Solved::target_out_of_reach;
  r.evaluation.intermodulation = {};
  r.evaluation.level_curve = {};
  r.evaluation.overdrive = {};
  for (const ValueTable& table : {two_tone_table(r), level_table(r), overdrive_table(r)}) {
    CHECK(table.rows.empty());
    REQUIRE(table.notes.size() == 1);
    CHECK(table.notes[0].find("saturate below the target swing") != std::string::npos);
  }
  r.evaluation.level_curve.solved = Solved::no_convergence;  // its own end comes before that of others
  CHECK(missing_reason(r.evaluation.level_curve.solved, r.evaluation) == Solved::no_convergence);
}

TEST_CASE("phase counts from mid-band, the inverting output too, and does not jump") {
  const FrequencyFigures f = sample::frequency();
  for (int output : {0, 1}) {
    const auto phase = phase_from_midband_deg(f, output);
    REQUIRE(phase.size() == f.curve.size());
    // A pole pair's phase: atan(low/f) - atan(f/high).
    const double high = output == 0 ? 200e3 : 100e3;
    for (std::size_t k = 0; k < phase.size(); ++k) {
      const double hz = f.curve[k].frequency_hz;
      CHECK(within(phase[k], (std::atan(10 / hz) - std::atan(hz / high)) * 180 / 3.141592653589793, 1e-6));
    }
  }
}

TEST_CASE("the response in numbers stands at 1, 2 and 5 times the powers of ten") {
  const ValueTable table = response_table(sample::whole_circuit());
  CHECK(rectangular(table));
  REQUIRE(table.rows.size() == 19);  // 1 Hz … 1 MHz
  CHECK(table.rows[0][0] == "1 Hz");
  CHECK(table.rows[1][0] == "2 Hz");
  CHECK(table.rows[2][0] == "5 Hz");
  CHECK(table.rows.back()[0] == "1 MHz");
  CHECK(row_of(table, "1 kHz")[1] == "26.02");  // 20 lg 20
  Record none = sample::whole_circuit();
  none.evaluation.frequency.curve[7].gain[1] = 0;
  CHECK_FALSE(has_response(none));
  CHECK(response_table(none).empty());
  const ValueTable one = response_table(sample::whole_circuit(sample::gain_stage()));
  CHECK(one.columns.size() == 4);
  CHECK(rectangular(one));
}

TEST_CASE("noise, input capacitance, the dropped supply and the sink's least voltage have their lines") {
  Record r = sample::whole_circuit(sample::rail_pair());
  r.evaluation.at_target.tail_low_v = 12.3;
  CHECK(cell_of(target_values(r), "least left for the sink (it needs 3 V)") == "12.3 V");
  CHECK(cell_of(rest_values(r), "supply behind the dropping resistor") == "missing");
  r.design.main_supply_v = 400;
  r.design.dropping_ohm = 22e3;
  r.evaluation.operating_point.supply_v = 311;
  CHECK(cell_of(rest_values(r), "supply behind the dropping resistor") == "311 V");
  CHECK(design_in_words(r.design).find("12AX7 on a main supply of 400 V: dropping resistor 22 kΩ,") == 0);
  const auto lines = frequency_values(r);
  CHECK(cell_of(lines, "input capacitance") == "123 pF");
  CHECK(cell_of(lines, "noise, 20 Hz to 20 kHz") == "40 µV");
  CHECK(cell_of(lines, "noise between the outputs") == "62.5 µV");
  CHECK(cell_of(lines, "its distance below the target") == "117 dB");
  r = sample::whole_circuit();  // a resistor as tail
  CHECK(cell_of(target_values(r), "least left for the sink (it needs 3 V)") == "missing");
}
