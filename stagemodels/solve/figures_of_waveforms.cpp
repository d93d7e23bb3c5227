#include "stagemodels/solve/figures_of_waveforms.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/solve/rows.h"

namespace antiphase {
namespace {

double distortion_pct(const std::array<double, kHarmonics + 1>& c) {
  double squares = 0;
  for (int h = 2; h <= kHarmonics; ++h) squares += c[h] * c[h];
  return c[1] != 0 ? 100 * std::sqrt(squares) / std::abs(c[1]) : 0;
}

}  // namespace

void describe_rest(const Design& design, const Waveforms& still, OperatingPoint& out) {
  out.cathode_v = still.cathode_v[0];
  out.tail_v = still.tail_v[0];
  const int count = sections(design.circuit);
  for (int i = 0; i < count; ++i) {
    out.plate_v[i] = still.plate_v[i][0];
    out.plate_current_a[i] = still.plate_current_a[i][0];
    out.grid_current_a[i] = still.grid_current_a[i][0];
    out.grid_to_cathode_v[i] = still.grid_to_cathode_v[i][0];
    out.grid_v[i] = out.grid_to_cathode_v[i] + out.cathode_v;
    out.plate_to_cathode_v[i] = out.plate_v[i] - out.cathode_v;
    out.plate_dissipation_w[i] = out.plate_current_a[i] * out.plate_to_cathode_v[i];
    out.supply_current_a += (design.supply_v - out.plate_v[i]) / design.plate_ohm[i];
    // Grid current that comes through leaks on the leak node does not pass the tail twice.
    const bool leaks_to_tail = count == 2 && design.bias.form == BiasForm::self_biased;
    out.tail_current_a += out.plate_current_a[i] + (leaks_to_tail ? 0.0 : out.grid_current_a[i]);
  }
  const bool rail =
      design.circuit == CircuitKind::long_tailed_pair && design.bias.form == BiasForm::negative_rail;
  out.tail_fraction = out.tail_v / (rail ? design.supply_v - design.bias.rail_v : design.supply_v);
}

void describe_steady_state(const Design& design, const Instants& instants, const Waveforms& waves,
                           double input_peak_v, SteadyState& out) {
  const int n = instants.count, count = sections(design.circuit);
  out = SteadyState{};
  out.input_peak_v = input_peak_v;
  for (int i = 0; i < count; ++i) {
    for (int h = 0; h <= kHarmonics; ++h)
      out.harmonic_v[i][h] = rows::dot(instants.harmonic[h].data(), waves.output_v[i].data(), n);
    out.output_peak_v[i] = std::abs(out.harmonic_v[i][1]);
    out.thd_pct[i] = distortion_pct(out.harmonic_v[i]);

    const auto high = [n](const Row& row) { return *std::max_element(row.begin(), row.begin() + n); };
    const auto low = [n](const Row& row) { return *std::min_element(row.begin(), row.begin() + n); };
    out.grid_to_cathode_peak_v[i] = high(waves.grid_to_cathode_v[i]);
    out.plate_current_low_a[i] = low(waves.plate_current_a[i]);
    double dissipation = 0, cathode_mean = 0, cathode_peak = 0, plate_peak = -1e300, supply = 0;
    for (int k = 0; k < n; ++k) {
      const double across = waves.plate_v[i][k] - waves.cathode_v[k];
      const double cathode = waves.plate_current_a[i][k] + waves.grid_current_a[i][k];
      dissipation += instants.mean[k] * across * waves.plate_current_a[i][k];
      supply += instants.mean[k] * (design.supply_v - waves.plate_v[i][k]) / design.plate_ohm[i];
      cathode_mean += instants.mean[k] * cathode;
      cathode_peak = std::fmax(cathode_peak, cathode);
      plate_peak = std::fmax(plate_peak, across);
    }
    out.plate_dissipation_w[i] = dissipation;
    out.cathode_current_mean_a[i] = cathode_mean;
    out.cathode_current_peak_a[i] = cathode_peak;
    out.plate_to_cathode_peak_v[i] = plate_peak;
    out.supply_current_a += supply;
    out.cathode_low_v = low(waves.cathode_v);
    out.cathode_high_v = high(waves.cathode_v);
    out.tail_low_v = low(waves.tail_v);
  }
  if (count == 2) {
    for (int h = 0; h <= kHarmonics; ++h)
      out.harmonic_differential_v[h] = out.harmonic_v[0][h] - out.harmonic_v[1][h];
    out.thd_differential_pct = distortion_pct(out.harmonic_differential_v);
    const double a = out.output_peak_v[0], b = out.output_peak_v[1];
    out.balance_pct = a + b > 0 ? 200 * (a - b) / (a + b) : 0;
  } else {
    out.harmonic_differential_v = out.harmonic_v[0];
    out.thd_differential_pct = out.thd_pct[0];
  }
}

}  // namespace antiphase
