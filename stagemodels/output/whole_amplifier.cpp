#include "stagemodels/output/whole_amplifier.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stagemodels/evaluate.h"
#include "stagemodels/output/pair_solver.h"

namespace antiphase {
namespace {

constexpr int kCount = PairSolver::kCycleInstants;

double parallel(double a, double b) {
  return a * b / (a + b);
}

/// The outputs as functions of the momentary drive, without their means: sum of c_h T_h(drive / most). Beyond
/// the cycle they go on as straight lines, since polynomials would run away.
class FrontEnd {
 public:
  explicit FrontEnd(const SteadyState& cycle) : most_(cycle.input_peak_v), harmonic_(cycle.harmonic_v) {}

  double output(std::size_t j, double drive) const {
    const double x = drive / most_, inside = std::clamp(x, -1.0, 1.0);
    return value(j, inside) + (x - inside) * slope(j, inside);
  }
  double most_v() const { return most_; }

 private:
  double value(std::size_t j, double x) const {
    double before = 1, now = x, sum = harmonic_[j][1] * x;
    for (std::size_t h = 2; h <= kHarmonics; ++h) {
      const double next = 2 * x * now - before;
      before = now;
      now = next;
      sum += harmonic_[j][h] * now;
    }
    return sum;
  }
  double slope(std::size_t j, double x) const {
    constexpr double kStep = 1e-6;
    const double from = x > 0 ? x - kStep : x;
    return (value(j, from + kStep) - value(j, from)) / kStep;
  }

  double most_;
  const std::array<std::array<double, kHarmonics + 1>, 2>& harmonic_;
};

OutputPair in_place(const Design& d, const SmallSignal& small) {
  OutputPair pair = d.output_stage.pair;
  const double alone = std::max(small.output_impedance_alone_ohm[0], small.output_impedance_alone_ohm[1]);
  pair.source_ohm = parallel(alone, d.load_ohm);
  pair.grid_leak_ohm = d.load_ohm;
  return pair;
}

/// One loop of front end and pair.
class Loop {
 public:
  Loop(const FrontEnd& front, PairSolver& pair, double back) : front_(front), pair_(pair), back_(back) {}

  /// The loop open at a drive of `peak_v`.
  Solved open(double peak_v, PairState& out) {
    for (std::size_t k = 0; k < kCount; ++k) drive_[k] = peak_v * PairSolver::instants().cosine[k];
    return pass(out);
  }
  /// Closed, from the drive that stands; the source has `peak_v`.
  Solved close(double peak_v, PairState& out) {
    constexpr int kMostPasses = 40;
    for (int n = 0; n < kMostPasses; ++n) {
      if (pass(out) != Solved::yes) return out.solved;
      double largest = 0;
      std::array<double, kCount> step{};
      for (std::size_t k = 0; k < kCount; ++k) {
        const double left = drive_[k] + back_ * pair_.load_v()[k] - peak_v * PairSolver::instants().cosine[k];
        step[k] = left / (1 + std::max(0.0, back_ * slope_at(k)));
        largest = std::max(largest, std::fabs(left));
      }
      if (largest < kSettled * peak_v) return Solved::yes;
      for (std::size_t k = 0; k < kCount; ++k) drive_[k] -= step[k];
    }
    return out.solved = Solved::no_convergence;
  }
  double drive_high_v() const { return *std::max_element(drive_.begin(), drive_.end()); }

 private:
  static constexpr double kSettled = 1e-8;

  Solved pass(PairState& out) {
    PairDrive wave;
    for (std::size_t k = 0; k < kCount; ++k)
      for (std::size_t j = 0; j < 2; ++j) wave.wave[j][k] = front_.output(j, drive_[k]);
    // Means stay behind the coupling capacitors, which would settle on them; taken off, Newton has less to
    // do.
    for (Row& row : wave.wave) {
      double mean = 0;
      for (std::size_t k = 0; k < kCount; ++k) mean += PairSolver::instants().mean[k] * row[k];
      for (std::size_t k = 0; k < kCount; ++k) row[k] -= mean;
    }
    pair_.change_drive(wave);
    return pair_.at(1, out);
  }
  /// Of the load's voltage over the drive, from the neighbours in the cycle.
  double slope_at(std::size_t k) const {
    const std::size_t low = k == 0 ? 0 : k - 1, high = std::min<std::size_t>(k + 1, kCount - 1);
    const double run = drive_[high] - drive_[low];
    return run == 0 ? 0 : (pair_.load_v()[high] - pair_.load_v()[low]) / run;
  }

  const FrontEnd& front_;
  PairSolver& pair_;
  double back_;  ///< volts at the drive per volt at the load
  std::array<double, kCount> drive_{};
};

/// Scales what `solve` is given until the load has `watts`: powers go with the square.
template <class Solve>
Solved until_watts(double watts, double& peak_v, Solve solve, PairState& out) {
  constexpr int kMostRounds = 60;
  constexpr double kClose = 1e-7;  // what the loop's own tolerance leaves
  double before_v = 0, before = 0;
  for (int n = 0; n < kMostRounds; ++n) {
    if (solve(peak_v, out) != Solved::yes) return out.solved;
    const double now = std::sqrt(out.power_w / watts);
    if (std::fabs(now - 1) < kClose) return Solved::yes;
    // The secant, from nothing at first; never more than by half at once.
    const double slope = (now - before) / (peak_v - before_v);
    const double next = slope > 0 ? peak_v + (1 - now) / slope : 1.2 * peak_v;
    before_v = peak_v;
    before = now;
    peak_v = std::clamp(next, 0.5 * peak_v, 1.5 * peak_v);
  }
  return out.solved = Solved::target_out_of_reach;
}

void close_loop(const Design& d, const Evaluation& e, OutputStageFigures::Closed& out) {
  constexpr double kRoom = 1.2;  // the front end's cycle beyond the drive that the target takes
  if (!e.feedback.known || e.at_target.solved != Solved::yes) return;
  PairSolver pair(in_place(d, e.small_signal));
  PairRest rest;
  if ((out.solved = pair.rest(rest)) != Solved::yes) return;
  SteadyState cycle = steady_state_at_drive(d, kRoom * e.at_target.input_peak_v, nullptr);
  if (cycle.solved != Solved::yes) cycle = e.at_target;
  const FrontEnd front(cycle);
  const double pushed = 0.5 * (e.small_signal.gain[0] - e.small_signal.gain[1]);
  const double t = e.feedback.loop_gain;
  pair.drive_with({});
  Loop loop(front, pair, t / (pushed * rest.gain));

  PairState state;
  double peak_v = e.at_target.input_peak_v;
  const auto open = [&](double v, PairState& s) { return loop.open(v, s); };
  if ((out.solved = until_watts(d.output_stage.watts, peak_v, open, state)) != Solved::yes) return;
  out.open_thd_pct = state.thd_pct;
  out.predicted_thd_pct = state.thd_pct / (1 + t);

  peak_v *= 1 + t;
  const auto closed = [&](double v, PairState& s) { return loop.close(v, s); };
  if ((out.solved = until_watts(d.output_stage.watts, peak_v, closed, state)) != Solved::yes) return;
  out.power_w = state.power_w;
  out.thd_pct = state.thd_pct;
  out.load_v = state.load_v;
  // The source works against the gain with the feedback resistor in place.
  out.source_v_rms = peak_v / std::numbers::sqrt2 * std::fabs(pushed) / e.feedback.gain_had;
}

}  // namespace

Solved follow_output_stage(Design& d, PairFigures& figures) {
  const OutputPair& pair = d.output_stage.pair;
  figures = PairFigures{};
  figures.watts_wanted = d.output_stage.watts;
  d.output_valve = pair.valve[0];
  d.output_valve_bias = pair.bias;
  PairSolver solver(pair);
  if (solver.rest(figures.rest) != Solved::yes) return figures.rest.solved;
  d.output_valve_bias_v = pair.bias == OutputBias::fixed ? pair.bias_v : -figures.rest.cathode_v;
  if (d.feedback.given) {
    d.feedback.output_gain = figures.rest.gain;
    d.feedback.output_impedance_ohm = figures.rest.output_impedance_ohm;
    d.feedback.load_ohm = pair.transformer.load_ohm;
  }
  solver.drive_with_cosine();
  if (solver.at_power(d.output_stage.watts, figures.at_watts) == Solved::yes) {
    d.swing_peak_v = figures.at_watts.drive_peak_v[0];
    return Solved::yes;
  }
  solver.where_grids_conduct(figures.before_grids_conduct);
  return figures.at_watts.solved;
}

void output_stage_figures(const Design& d, const Evaluation& e, OutputStageFigures& out) {
  out = OutputStageFigures{};
  out.pair = pair_figures(d.output_stage.pair, d.output_stage.watts);
  if (out.pair.rest.solved != Solved::yes) return;
  if (e.at_target.solved == Solved::yes) {
    PairSolver pair(in_place(d, e.small_signal));
    PairRest rest;
    if (pair.rest(rest) == Solved::yes) {
      pair.drive_with({});
      const FrontEnd front(e.at_target);
      Loop(front, pair, 0).open(e.at_target.input_peak_v, out.driven);
    }
  }
  if (has_feedback(d)) close_loop(d, e, out.closed);
}

}  // namespace antiphase
