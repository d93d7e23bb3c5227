// Two triodes in a row against a published table, solved from end to end: gain within 10 % a stage (of both
// together its square), distortion at the printed output within a factor of 1.6, as single stages are held
// in resistance_coupled_test.cpp. Where a row is known to miss, its reason stands with it and nothing is
// held of it.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <string>

#include "configs/tube_library.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Brimar application report on the 12AX7, 1950-52: both halves of one tube alike, each with its leak behind
/// it, at 250 V; output in V rms at 5 % distortion.
struct Cascade {
  double plate_ohm, leak_ohm, cathode_ohm, output_v_rms, gain;
  bool gain_held, distortion_held;
  const char* why;  ///< what is not held
};
constexpr const char* kGain220k =
    "the report's stage alone has 54 with this plate and leak, a tenth under the General Electric table";
constexpr const char* kGain470k =
    "the report's stages alone with 470 k have 57 and 61, and 66 in its own worked example";
constexpr Cascade kBrimar12AX7[] = {
    {100e3, 220e3, 1.5e3, 27, 2080, true, true, ""},
    {100e3, 470e3, 1.5e3, 31, 2420, true, true, ""},
    {220e3, 470e3, 3.3e3, 25, 2940, false, true, kGain220k},
    {220e3, 1e6, 3.3e3, 32, 3370, false, true, kGain220k},
    {470e3, 1e6, 6.8e3, 28, 3420, false, true, kGain470k},
    {470e3, 2.2e6, 6.8e3, 32, 3590, false, false, kGain470k},
};

/// The leak of the pair behind is that of the second stage; the pair's grids draw nothing, so that whatever
/// it does itself is not seen.
Design cascade(const Cascade& row, const Tube& of, const Tube& behind) {
  Design d = pair_of(behind);
  d.circuit = CircuitKind::gain_and_splitter;
  d.bias.form = BiasForm::negative_rail;
  d.bias.rail_v = -100;
  d.tail.ohm = 22e3;
  d.supply_v = 250;
  d.grid_leak_ohm = row.leak_ohm;
  FirstStage& f = d.first_stage;
  f.form = GainForm::two_triodes;
  f.tube = f.second_tube = &of;
  f.plate_ohm = f.second_plate_ohm = row.plate_ohm;
  f.cathode_ohm = f.second_cathode_ohm = row.cathode_ohm;
  f.second_grid_leak_ohm = row.leak_ohm;
  return d;
}

}  // namespace

TEST_CASE("two triodes in a row have the gain and the distortion of a published table") {
  const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  const Tube* tube = std::get<TubeLibrary>(read).find("12AX7");
  REQUIRE(tube);
  const Tube behind = tube_with(kKoren12AU7);
  std::string table;
  int gains = 0, distortions = 0, rows = 0;
  for (const Cascade& row : kBrimar12AX7) {
    const Design d = cascade(row, *tube, behind);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    const double gain = std::abs(e.small_signal.first_stage_gain);
    // The drive at which the second plate has the printed output, by secants.
    const double wanted_v = row.output_v_rms * std::sqrt(2.0);
    double drive = wanted_v / gain;
    SteadyState now;
    for (int n = 0; n < 30; ++n) {
      now = steady_state_at_drive(d, drive, nullptr);
      REQUIRE(now.solved == Solved::yes);
      const double level = std::abs(now.second.harmonic_v[1]);
      if (std::abs(level / wanted_v - 1) < 1e-6) break;
      drive *= wanted_v / level;
    }
    REQUIRE(within_ratio(std::abs(now.second.harmonic_v[1]), wanted_v, 1e-5));
    const double thd = now.second.thd_pct;
    const double printed_pct = 5;
    const bool gain_in = within_ratio(std::sqrt(gain), std::sqrt(row.gain), 0.10);
    const bool thd_in = thd < 1.6 * printed_pct && thd > printed_pct / 1.6;
    CAPTURE(row.plate_ohm);
    CAPTURE(row.leak_ohm);
    if (row.gain_held) CHECK(gain_in);
    if (row.distortion_held) CHECK(thd_in);
    ++rows;
    gains += gain_in;
    distortions += thd_in;
    char line[300];
    std::snprintf(line, sizeof line,
                  "Ra %.0fk, Rg %.0fk: gain %g, solved %.0f; THD at %g V 5 %%, solved %.2f%s%s\n",
                  row.plate_ohm / 1e3, row.leak_ohm / 1e3, row.gain, gain, row.output_v_rms, thd,
                  gain_in && thd_in ? "" : " OUTSIDE: ", row.why);
    table += line;
  }
  MESSAGE(table, "inside: gain a stage ", gains, " of ", rows, ", distortion ", distortions, " of ", rows);
}
