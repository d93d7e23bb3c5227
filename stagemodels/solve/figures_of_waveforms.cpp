#include "stagemodels/solve/figures_of_waveforms.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/circuits/places.h"
#include "stagemodels/solve/cycle.h"
#include "stagemodels/wide.h"

namespace antiphase {
namespace {

double distortion_pct(const std::array<double, kHarmonics + 1>& c) {
  double squares = 0;
  for (int h = 2; h <= kHarmonics; ++h) squares += c[h] * c[h];
  return c[1] != 0 ? 100 * std::sqrt(squares) / std::abs(c[1]) : 0;
}

/// Partial sums in a fixed order, whatever the width of vectors. N: a multiple of 8.
template <int N>
ANTIPHASE_INLINE double dot(const double* a, const double* b) {
  alignas(64) double part[8] = {};
  for (int first = 0; first < N; first += 8)
    for (int lane = 0; lane < 8; ++lane) part[lane] += a[first + lane] * b[first + lane];
  return ((part[0] + part[4]) + (part[2] + part[6])) + ((part[1] + part[5]) + (part[3] + part[7]));
}

struct Extremes {
  double low, high;
};
template <int N>
ANTIPHASE_INLINE Extremes extremes(const double* a) {
  alignas(64) double low[8], high[8];
  for (int lane = 0; lane < 8; ++lane) low[lane] = high[lane] = a[lane];
  for (int first = 8; first < N; first += 8)
    for (int lane = 0; lane < 8; ++lane) {
      const double v = a[first + lane];
      low[lane] = v < low[lane] ? v : low[lane];
      high[lane] = v > high[lane] ? v : high[lane];
    }
  for (int half = 4; half > 0; half /= 2)
    for (int lane = 0; lane < half; ++lane) {
      low[lane] = low[lane] < low[lane + half] ? low[lane] : low[lane + half];
      high[lane] = high[lane] > high[lane + half] ? high[lane] : high[lane + half];
    }
  return {low[0], high[0]};
}

/// The cosine sums of a wave; one row of weights per instant, so that all orders are summed side by side.
template <int N>
struct HarmonicWeights {
  static constexpr int kOrders = 16;  // of which kHarmonics + 1 count
  alignas(64) double by_instant[N][kOrders] = {};
  HarmonicWeights() {
    for (int k = 0; k < N; ++k)
      for (int h = 0; h <= kHarmonics; ++h) by_instant[k][h] = cycle_instants(N).harmonic[h][k];
  }
};
template <int N>
ANTIPHASE_INLINE void transform(const Row& wave, std::array<double, kHarmonics + 1>& out) {
  static const HarmonicWeights<N> weights;
  alignas(64) double sum[HarmonicWeights<N>::kOrders] = {};
  for (int k = 0; k < N; ++k)
    for (int h = 0; h < HarmonicWeights<N>::kOrders; ++h) sum[h] += wave[k] * weights.by_instant[k][h];
  for (int h = 0; h <= kHarmonics; ++h) out[h] = sum[h];
}

}  // namespace

void describe_own_rest(const TriodeSection& section, const SectionWaveforms& still, SectionRest& out) {
  out.plate_v = still.plate_v[0];
  out.cathode_v = still.cathode_v[0];
  out.plate_current_a = still.plate_current_a[0];
  out.grid_current_a = still.grid_current_a[0];
  out.grid_to_cathode_v = still.grid_to_cathode_v[0];
  out.grid_v = out.grid_to_cathode_v + out.cathode_v;
  out.plate_to_cathode_v = out.plate_v - out.cathode_v;
  out.plate_dissipation_w = out.plate_current_a * out.plate_to_cathode_v;
  if (section.pentode) {
    out.screen_to_cathode_v = still.screen_to_cathode_v[0];
    out.screen_v = out.screen_to_cathode_v + out.cathode_v;
    out.screen_current_a = still.screen_current_a[0];
    out.screen_dissipation_w = out.screen_current_a * out.screen_to_cathode_v;
  }
  const TriodeCurrents c =
      section.currents_at(out.grid_to_cathode_v, out.plate_to_cathode_v, out.screen_to_cathode_v);
  out.gm_s = c.plate_per_grid_s;
  if (c.plate_per_plate_s > 0) {
    out.rp_ohm = 1 / c.plate_per_plate_s;
    out.mu = c.plate_per_grid_s / c.plate_per_plate_s;
  }
}

/// What stands between the supply and the first stage's plate.
double first_plate_ohm(const Design& d) {
  return d.first_stage.plate_ohm + d.first_stage.decoupling_ohm;
}

void describe_rest(const Design& design, const Waveforms& still, OperatingPoint& out) {
  out.supply_v = still.supply_v;
  out.cathode_v = still.cathode_v[0];
  out.tail_v = still.tail_v[0];
  const Circuit& circuit = circuit_of(design);
  for (int i = 0; i < sections(design.circuit); ++i) {
    out.plate_v[i] = still.plate_v[i][0];
    out.plate_current_a[i] = still.plate_current_a[i][0];
    out.grid_current_a[i] = still.grid_current_a[i][0];
    out.grid_to_cathode_v[i] = still.grid_to_cathode_v[i][0];
    out.grid_v[i] = out.grid_to_cathode_v[i] + out.cathode_v;
    out.plate_to_cathode_v[i] = out.plate_v[i] - out.cathode_v;
    out.plate_dissipation_w[i] = out.plate_current_a[i] * out.plate_to_cathode_v[i];
    out.supply_current_a += (out.supply_v - out.plate_v[i]) / design.plate_ohm[i];
    // Grid current that comes through leaks on the tail's upper end does not pass the tail twice.
    const bool leaks_to_tail = circuit.leak_foot == circuit.tail_top;
    out.tail_current_a += out.plate_current_a[i] + (leaks_to_tail ? 0.0 : out.grid_current_a[i]);
  }
  if (has_first_stage(design)) {
    describe_own_rest(design.first_section(), still.first, out.first);
    if (has_second_section(design)) describe_own_rest(design.second_section(), still.second, out.second);
    out.supply_current_a += design.first_stage.form == GainForm::triode
                                ? (out.supply_v - out.first.plate_v) / first_plate_ohm(design)
                                : still.first_stage_a[0];
  }
  for (int i = 0; i < 2 && has_driver(design); ++i) {
    describe_own_rest(design.driver_section(i), still.driver[i], out.driver[i]);
    out.supply_current_a +=
        out.driver[i].plate_current_a;  // its plate load, or the supply itself, is in a row
  }
  const bool rail = circuit.tail_foot != kGround;
  out.tail_fraction = out.tail_v / (rail ? out.supply_v - design.bias.rail_v : out.supply_v);
}

template <int N>
ANTIPHASE_INLINE void describe_own(const SectionWaveforms& w, const double* mean, bool screen,
                                   SectionState& f) {
  transform<N>(w.plate_v, f.harmonic_v);
  f.thd_pct = distortion_pct(f.harmonic_v);
  alignas(64) std::array<double, N> across, cathode_a, used_w, grid_v;
  for (int k = 0; k < N; ++k) {
    across[k] = w.plate_v[k] - w.cathode_v[k];
    cathode_a[k] = w.plate_current_a[k] + w.grid_current_a[k];
    used_w[k] = across[k] * w.plate_current_a[k];
    grid_v[k] = w.grid_to_cathode_v[k] + w.cathode_v[k];
  }
  if (screen) {
    alignas(64) std::array<double, N> by_screen_w;
    for (int k = 0; k < N; ++k) {
      cathode_a[k] += w.screen_current_a[k];
      by_screen_w[k] = w.screen_to_cathode_v[k] * w.screen_current_a[k];
    }
    f.screen_dissipation_w = dot<N>(mean, by_screen_w.data());
  }
  f.grid_to_cathode_peak_v = extremes<N>(w.grid_to_cathode_v.data()).high;
  f.plate_current_low_a = extremes<N>(w.plate_current_a.data()).low;
  f.plate_dissipation_w = dot<N>(mean, used_w.data());
  f.cathode_current_mean_a = dot<N>(mean, cathode_a.data());
  f.cathode_current_peak_a = std::fmax(0.0, extremes<N>(cathode_a.data()).high);
  f.plate_to_cathode_peak_v = extremes<N>(across.data()).high;
  const Extremes cathode = extremes<N>(w.cathode_v.data());
  f.cathode_low_v = cathode.low;
  f.cathode_high_v = cathode.high;
  f.grid_mean_v = dot<N>(mean, grid_v.data());
}

/// The mean is what counts, which flows through all that stands in a row.
template <int N>
ANTIPHASE_INLINE double mean_from_supply_a(const Design& design, const Waveforms& waves, const double* mean) {
  alignas(64) std::array<double, N> from_supply_a;
  const double per_ohm = 1 / first_plate_ohm(design);
  for (int k = 0; k < N; ++k) from_supply_a[k] = (waves.supply_v - waves.first.plate_v[k]) * per_ohm;
  return dot<N>(mean, from_supply_a.data());
}

template <int N>
ANTIPHASE_INLINE void describe_of(const Design& design, const Waveforms& waves, double input_peak_v,
                                  SteadyState& out) {
  const int output_count = outputs(design.circuit);
  const Instants& instants = cycle_instants(N);
  out = SteadyState{};
  out.input_peak_v = input_peak_v;
  out.supply_v = waves.supply_v;
  const double* const mean = instants.mean.data();
  for (int o = 0; o < output_count; ++o) {
    transform<N>(waves.output_v[o], out.harmonic_v[o]);
    out.output_peak_v[o] = std::abs(out.harmonic_v[o][1]);
    out.thd_pct[o] = distortion_pct(out.harmonic_v[o]);
  }
  for (int i = 0; i < sections(design.circuit); ++i) {
    alignas(64) std::array<double, N> across, cathode_a, used_w, from_supply_a, grid_v;
    const double per_ohm = 1 / design.plate_ohm[i];
    for (int k = 0; k < N; ++k) {
      across[k] = waves.plate_v[i][k] - waves.cathode_v[k];
      cathode_a[k] = waves.plate_current_a[i][k] + waves.grid_current_a[i][k];
      used_w[k] = across[k] * waves.plate_current_a[i][k];
      from_supply_a[k] = (waves.supply_v - waves.plate_v[i][k]) * per_ohm;
      grid_v[k] = waves.grid_to_cathode_v[i][k] + waves.cathode_v[k];
    }
    out.grid_to_cathode_peak_v[i] = extremes<N>(waves.grid_to_cathode_v[i].data()).high;
    out.plate_current_low_a[i] = extremes<N>(waves.plate_current_a[i].data()).low;
    out.plate_dissipation_w[i] = dot<N>(mean, used_w.data());
    out.cathode_current_mean_a[i] = dot<N>(mean, cathode_a.data());
    out.cathode_current_peak_a[i] = std::fmax(0.0, extremes<N>(cathode_a.data()).high);
    out.plate_to_cathode_peak_v[i] = extremes<N>(across.data()).high;
    out.supply_current_a += dot<N>(mean, from_supply_a.data());
    out.grid_mean_v[i] = dot<N>(mean, grid_v.data());
  }
  if (has_first_stage(design)) {
    describe_own<N>(waves.first, mean, design.first_stage.form == GainForm::pentode, out.first);
    if (has_second_section(design)) describe_own<N>(waves.second, mean, false, out.second);
    out.supply_current_a += design.first_stage.form == GainForm::triode
                                ? mean_from_supply_a<N>(design, waves, mean)
                                : dot<N>(mean, waves.first_stage_a.data());
  }
  for (int i = 0; i < 2 && has_driver(design); ++i) {
    describe_own<N>(waves.driver[i], mean, false, out.driver[i]);
    out.supply_current_a += dot<N>(mean, waves.driver[i].plate_current_a.data());
  }
  const Extremes cathode = extremes<N>(waves.cathode_v.data());
  out.cathode_low_v = cathode.low;
  out.cathode_high_v = cathode.high;
  out.tail_low_v = extremes<N>(waves.tail_v.data()).low;
  if (output_count == 2) {
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

ANTIPHASE_WIDE
void describe_steady_state(const Design& design, const Waveforms& waves, double input_peak_v,
                           SteadyState& out) {
  if (waves.instants == kFineInstants)
    describe_of<kFineInstants>(design, waves, input_peak_v, out);
  else
    describe_of<kInstants>(design, waves, input_peak_v, out);
}

template <int N>
ANTIPHASE_INLINE void find_extremes_of(const Waveforms& waves, int outputs, const SectionsThere& has,
                                       CycleExtremes& out) {
  std::array<double, kHarmonics + 1> harmonic_v;
  for (int o = 0; o < outputs; ++o) {
    transform<N>(waves.output_v[o], harmonic_v);
    out.thd_pct[o] = distortion_pct(harmonic_v);
  }
  for (int number = 0; number < Circuit::kMostSections; ++number) {
    if (!has[number]) continue;
    const bool own = number >= kSplitterSections;
    const SectionWaveforms* w = own ? &own_waveforms(waves, number) : nullptr;
    out.grid_to_cathode_peak_v[number] =
        extremes<N>((own ? w->grid_to_cathode_v : waves.grid_to_cathode_v[number]).data()).high;
    out.plate_current_low_a[number] =
        extremes<N>((own ? w->plate_current_a : waves.plate_current_a[number]).data()).low;
  }
}

ANTIPHASE_WIDE
void find_extremes(const Waveforms& waves, int outputs, const SectionsThere& has, CycleExtremes& out) {
  if (waves.instants == kFineInstants)
    find_extremes_of<kFineInstants>(waves, outputs, has, out);
  else
    find_extremes_of<kInstants>(waves, outputs, has, out);
}

void copy_extremes(const SteadyState& state, const SectionsThere& has, CycleExtremes& out) {
  out.thd_pct = state.thd_pct;
  for (int number = 0; number < Circuit::kMostSections; ++number) {
    if (!has[number]) continue;
    const bool own = number >= kSplitterSections;
    out.grid_to_cathode_peak_v[number] =
        own ? own_state(state, number).grid_to_cathode_peak_v : state.grid_to_cathode_peak_v[number];
    out.plate_current_low_a[number] =
        own ? own_state(state, number).plate_current_low_a : state.plate_current_low_a[number];
  }
}

}  // namespace antiphase
