/// The figures of a fixed set of designs as one long list: what both ways of computing must agree on.
#pragma once

#include <cmath>
#include <vector>

#include "stagemodels/evaluate.h"
#include "tests/support/random_stages.h"

namespace antiphase::testing {

struct Figure {
  double value = 0;
  double scale = 0;  ///< what a difference is small against: its own size, or that of its kind
};

inline constexpr int kComparedDesigns = 300;

inline std::vector<Figure> figures_of_designs() {
  std::vector<Figure> all;
  const auto own = [&](double v) { all.push_back({v, std::abs(v)}); };
  const auto of = [&](double v, double scale) { all.push_back({v, scale}); };
  RandomStages stages(51);
  OutputValve valve;
  valve.grid = grid_diode(-1);
  for (int n = 0; n < kComparedDesigns; ++n) {
    Design d = stages.draw();
    d.output_valve = &valve;
    d.output_valve_bias_v = -d.swing_peak_v;
    d.coupling_f = 47e-9;
    d.load_f = 60e-12;
    Evaluation e;
    evaluate(d, Depth::everything, e);
    const int count = sections(d.circuit);
    const OperatingPoint& o = e.operating_point;
    const SmallSignal& small = e.small_signal;
    const SteadyState& s = e.at_target;
    for (const Solved solved : {o.solved, s.solved, e.clean.solved, e.intermodulation.solved,
                                e.level_curve.solved, e.overdrive.solved})
      of(static_cast<double>(solved), 1);
    own(o.supply_v);
    own(o.cathode_v);
    for (int i = 0; i < count; ++i) {
      for (double v : {o.plate_v[i], o.plate_current_a[i], o.gm_s[i], o.rp_ohm[i], small.gain[i],
                       small.output_impedance_alone_ohm[i], small.output_impedance_differential_ohm[i],
                       s.output_peak_v[i], s.plate_dissipation_w[i], s.cathode_current_peak_a[i]})
        own(v);
      of(o.grid_current_a[i], 1e-6);
      for (int h = 0; h <= kHarmonics; ++h) of(s.harmonic_v[i][h], s.output_peak_v[i]);
      of(s.thd_pct[i], 100);
      of(s.plate_current_low_a[i], s.cathode_current_peak_a[i]);
      of(s.grid_to_cathode_peak_v[i], 1);
      of(e.frequency.ripple_v_per_v[i], 1);
      own(e.frequency.low_corner_hz[i].value_or(0));
      own(e.frequency.high_corner_hz[i].value_or(0));
    }
    own(s.input_peak_v);
    own(e.clean.swing_peak_v);
    for (const auto& p : e.intermodulation.low_and_high) of(p.total_pct, 100);
    for (const auto& p : e.intermodulation.close_pair) of(p.total_pct, 100);
    of(e.level_curve.count, 1);
    for (int n_level = 0; n_level < e.level_curve.count; n_level += 4) {
      const LevelPoint& p = e.level_curve.point[static_cast<std::size_t>(n_level)];
      own(p.output_peak_v[0]);
      of(p.thd_pct[0], 100);
    }
    own(e.overdrive.clean_conducting.swing_peak_v);
    for (const OverdriveFigures::At& a : e.overdrive.at) {
      own(a.output_peak_v[0]);
      of(a.thd_pct[0], 100);
      of(a.output_grid_shift_v[0], 1);
    }
  }
  return all;
}

}  // namespace antiphase::testing
