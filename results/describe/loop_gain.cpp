#include "results/describe/loop_gain.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr double kMidBand_hz = 1000;

double degrees_of(std::complex<double> t) {
  return std::arg(t) * 180 / std::numbers::pi;
}

std::string tenths(double v) {
  return fixed_text(std::round(v * 10) / 10, 1);
}

}  // namespace

bool has_loop_gain(const Record& r) {
  const FeedbackFigures& f = r.evaluation.feedback;
  return has_feedback(r.design) && f.known && r.evaluation.frequency_known &&
         std::all_of(f.loop.begin(), f.loop.end(), [](std::complex<double> t) { return std::abs(t) > 0; }) &&
         std::all_of(r.evaluation.frequency.curve.begin(), r.evaluation.frequency.curve.end(),
                     [](const FrequencyPoint& p) { return p.frequency_hz > 0; });
}

std::vector<double> loop_gain_db(const Record& r) {
  std::vector<double> gain;
  for (const std::complex<double> t : r.evaluation.feedback.loop)
    gain.push_back(20 * std::log10(std::abs(t)));
  return gain;
}

std::vector<double> loop_phase_deg(const Record& r) {
  std::vector<double> phase;
  double at_mid_band = 0, nearest = INFINITY;
  for (std::size_t k = 0; k < r.evaluation.feedback.loop.size(); ++k) {
    double deg = degrees_of(r.evaluation.feedback.loop[k]);
    if (!phase.empty()) deg -= 360 * std::round((deg - phase.back()) / 360);
    phase.push_back(deg);
    const double far = std::abs(std::log(r.evaluation.frequency.curve[k].frequency_hz / kMidBand_hz));
    if (far < nearest) {
      nearest = far;
      at_mid_band = deg;
    }
  }
  const double turns = 360 * std::round(at_mid_band / 360);
  for (double& deg : phase) deg -= turns;
  return phase;
}

ValueTable loop_gain_table(const Record& r) {
  if (!has_loop_gain(r)) return {};
  ValueTable table;
  table.caption = "Loop gain against frequency";
  table.columns = {"", "loop gain, dB", "phase, °"};
  const std::vector<double> gain = loop_gain_db(r), phase = loop_phase_deg(r);
  for (std::size_t k = 0; k < gain.size(); ++k) {
    const auto in_decade = k % 10;  // ten points a decade: 10^0.3 = 2, 10^0.7 = 5
    if (in_decade != 0 && in_decade != 3 && in_decade != 7) continue;
    table.rows.push_back({engineering_text(r.evaluation.frequency.curve[k].frequency_hz, "Hz", 2),
                          fixed_text(gain[k], 2), tenths(phase[k])});
  }
  const LoopMargins& m = r.evaluation.feedback.margins;
  table.notes = {m.gain_margin_db && m.gain_margin_hz
                     ? "Gain margin: " + tenths(*m.gain_margin_db) + " dB at " +
                           engineering_text(*m.gain_margin_hz, "Hz") + ", where the phase has turned by 180°."
                     : "Gain margin: none is needed, the phase never turns by 180°.",
                 m.phase_margin_deg && m.phase_margin_hz
                     ? "Phase margin: " + tenths(*m.phase_margin_deg) + "° at " +
                           engineering_text(*m.phase_margin_hz, "Hz") + ", where the loop gain is 0 dB."
                     : "Phase margin: none is needed, the loop gain never passes 0 dB."};
  return table;
}

}  // namespace antiphase
