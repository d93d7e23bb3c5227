#include "results/describe/response.h"

#include <cmath>
#include <numbers>

#include "results/describe/values.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr double kTableLow_hz = 1, kMidBand_hz = 1000;

std::size_t nearest_point(const FrequencyFigures& f, double hz) {
  std::size_t best = 0;
  const auto far = [&](std::size_t k) { return std::abs(std::log(f.curve[k].frequency_hz / hz)); };
  for (std::size_t k = 1; k < f.curve.size(); ++k)
    if (far(k) < far(best)) best = k;
  return best;
}

std::string degrees(double deg) {
  return fixed_text(std::round(deg * 10) / 10, 1);
}

}  // namespace

bool has_response(const Record& r) {
  if (!r.evaluation.frequency_known) return false;
  for (const FrequencyPoint& p : r.evaluation.frequency.curve)
    for (int i = 0; i < outputs(r.design.circuit); ++i)
      if (!(p.frequency_hz > 0) || !(std::abs(p.gain[static_cast<std::size_t>(i)]) > 0)) return false;
  return true;
}

std::vector<double> phase_from_midband_deg(const FrequencyFigures& f, int output) {
  std::vector<double> phase;
  for (const FrequencyPoint& p : f.curve) {
    double deg = std::arg(p.gain[static_cast<std::size_t>(output)]) * 180 / std::numbers::pi;
    if (!phase.empty()) deg -= 360 * std::round((deg - phase.back()) / 360);
    phase.push_back(deg);
  }
  const double turn = 180 * std::round(phase[nearest_point(f, kMidBand_hz)] / 180);
  for (double& deg : phase) deg -= turn;
  return phase;
}

ValueTable response_table(const Record& r) {
  if (!has_response(r)) return {};
  const FrequencyFigures& f = r.evaluation.frequency;
  const bool pair = outputs(r.design.circuit) == 2;
  ValueTable table;
  table.caption = "Gain and phase against frequency";
  table.columns = pair ? std::vector<std::string>{"",           "gain 1, dB", "gain 2, dB",      "phase 1, °",
                                                  "phase 2, °", "balance, %", "off opposite, °", "input"}
                       : std::vector<std::string>{"", "gain, dB", "phase, °", "input"};
  const std::array<std::vector<double>, 2> phase{phase_from_midband_deg(f, 0),
                                                 phase_from_midband_deg(f, pair ? 1 : 0)};
  for (std::size_t k = 0; k < f.curve.size(); ++k) {
    const FrequencyPoint& p = f.curve[k];
    const auto in_decade = k % 10;  // ten points a decade: 10^0.3 = 2, 10^0.7 = 5
    if (p.frequency_hz < 0.99 * kTableLow_hz || (in_decade != 0 && in_decade != 3 && in_decade != 7))
      continue;
    std::vector<std::string> row{engineering_text(p.frequency_hz, "Hz", 2)};
    for (std::size_t i = 0; i < (pair ? 2 : 1); ++i) {
      row.push_back(fixed_text(20 * std::log10(std::abs(p.gain[i])), 2));
    }
    for (std::size_t i = 0; i < (pair ? 2 : 1); ++i) row.push_back(degrees(phase[i][k]));
    if (pair) {
      row.push_back(fixed_text(p.balance_pct, 2));
      row.push_back(fixed_text(p.opposite_deg, 2));
    }
    row.push_back(engineering_text(std::abs(p.input_ohm), "ohm"));
    table.rows.push_back(std::move(row));
  }
  table.notes = {"Phase is counted from mid-band."};
  return table;
}

}  // namespace antiphase
