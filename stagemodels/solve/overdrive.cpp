#include "stagemodels/solve/overdrive.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/solve/analysis.h"

namespace antiphase {
namespace {

/// `named`: into the grids of the output valve that the design names.
void overdrive_of(const Design& design, const Evaluation& known, bool named, int instants,
                  OverdriveFigures& out) {
  out = OverdriveFigures{};
  out.solved = known.at_target.solved;
  if (out.solved != Solved::yes) return;
  struct Run {
    Run(const Design& design, int instants, bool output_grids)
        : analysis(design, Surroundings::real, instants, output_grids) {}
    Analysis analysis;
    OperatingPoint at;
    SmallSignal small;
    SteadyState target;
    Waveforms waves;
  };
  const auto start = [&](Run& run) {
    run.analysis.rest(run.at);
    if (run.at.solved != Solved::yes) return run.at.solved;
    run.analysis.small_signal(run.small);
    run.analysis.at_target(run.target, run.waves);  // may be out of reach into conducting grids
    return Solved::yes;
  };
  Run alone(design, instants, false);
  out.solved = start(alone);
  if (out.solved != Solved::yes) return;
  alone.analysis.clean_swing(alone.at, alone.target, true, out.clean_conducting);
  Run driving(design, instants, named);
  out.solved = start(driving);
  if (out.solved != Solved::yes) return;
  if (named) driving.analysis.clean_swing(driving.at, driving.target, true, out.clean_into_output_grids);

  const int output_count = outputs(design.circuit);
  const auto crest = [&](const Waveforms& w, int o) {
    return *std::max_element(w.output_v[o].begin(), w.output_v[o].begin() + w.instants);
  };
  const auto drive_at = [&](double db) { return known.at_target.input_peak_v * std::pow(10, db / 20); };
  Waveforms waves, waves_alone;
  SteadyState now, now_alone;
  if (named) {
    out.starved_solved = Solved::yes;
    constexpr double kStep_db = 1;
    double before_db = -OverdriveFigures::kMostDrive_db, before = 0;
    for (double db = before_db; db <= OverdriveFigures::kMostDrive_db; db += kStep_db) {
      if (!driving.analysis.follow(drive_at(db), now, waves) ||
          !alone.analysis.follow(drive_at(db), now_alone, waves_alone)) {
        out.starved_solved = Solved::no_convergence;
        break;
      }
      double lost = 0;
      for (int o = 0; o < output_count; ++o)
        lost = std::fmax(lost, 1 - crest(waves, o) / crest(waves_alone, o));
      if (lost >= OverdriveFigures::kStarvedShare) {
        const double share = lost > before ? (OverdriveFigures::kStarvedShare - before) / (lost - before) : 1;
        out.starved_db = before_db + share * (db - before_db);
        break;
      }
      before_db = db;
      before = lost;
    }
  }
  for (std::size_t n = 0; n < out.at.size(); ++n) {
    OverdriveFigures::At& a = out.at[n];
    a.drive_db = OverdriveFigures::kDrives_db[n];
    driving.analysis.follow(drive_at(a.drive_db), now, waves);
    a.solved = now.solved;
    if (a.solved != Solved::yes) continue;
    a.output_peak_v = now.output_peak_v;
    a.thd_pct = now.thd_pct;
    for (int o = 0; o < output_count; ++o) {
      a.grid_shift_v[o] = now.grid_mean_v[o] - driving.at.grid_v[o];
      a.output_grid_shift_v[o] = now.harmonic_v[o][0];
      a.output_grid_peak_a[o] =
          *std::max_element(waves.output_grid_a[o].begin(), waves.output_grid_a[o].begin() + waves.instants);
    }
    const Row& driven_grid_a = has_first_stage(design) ? waves.first.grid_current_a : waves.grid_current_a[0];
    a.input_peak_a = *std::max_element(driven_grid_a.begin(), driven_grid_a.begin() + waves.instants);
  }
  for (int o = 0; o < output_count; ++o)
    out.output_recovery_s[o] =
        design.coupling_f * (design.load_ohm + known.small_signal.output_impedance_alone_ohm[o]);
}

}  // namespace

void overdrive(const Design& design, const Evaluation& known, OverdriveFigures& out) {
  const bool named = design.output_valve != nullptr && outputs(design.circuit) == 2;  // push and pull
  overdrive_of(design, known, named, named ? kFineInstants : kInstants, out);
}

}  // namespace antiphase
