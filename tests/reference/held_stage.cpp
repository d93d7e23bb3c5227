#include "tests/reference/held_stage.h"

#include <Eigen/Dense>
#include <array>
#include <cmath>
#include <numbers>

namespace antiphase::reference {
namespace {

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
using Vector = Eigen::VectorXd;

Vector vector_of(const std::vector<double>& v) {
  return Vector::Map(v.data(), static_cast<Eigen::Index>(v.size()));
}
std::vector<double> list_of(const Vector& v) {
  return {v.begin(), v.end()};
}

std::vector<double> trapezoidal(int steps) {
  std::vector<double> w(static_cast<std::size_t>(steps) + 1, 1.0 / steps);
  w.front() = w.back() = 0.5 / steps;
  return w;
}

}  // namespace

Sweep half_cycle(int steps) {
  return {"dc vphase 0 " + std::to_string(steps) + " 1", trapezoidal(steps)};
}

Sweep two_half_cycles(int steps) {
  const std::string range = " 0 " + std::to_string(steps) + " 1";
  const std::vector<double> one = trapezoidal(steps);
  Sweep sweep{"dc vphase" + range + " vphase2" + range, {}};
  for (const double second : one)
    for (const double first : one) sweep.weights.push_back(first * second);
  return sweep;
}

HeldStage::HeldStage(const StageNetlist& netlist, std::vector<double> capacitor_v)
    : capacitors_(netlist.capacitors), held_(std::move(capacitor_v)) {
  CircuitLibrary::instance().load(netlist.lines);
}

void HeldStage::set(const std::array<double, 2>& peaks, int steps) {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.alter("vamp[dc]", peaks[0]);
  library.alter("vamp2[dc]", peaks[1]);
  library.alter("vstep[dc]", std::numbers::pi / steps);
}

/// False if the library found no solution at some point of the sweep.
bool HeldStage::mean_currents(const Sweep& sweep, const std::vector<double>& volts,
                              std::vector<double>& means) {
  CircuitLibrary& library = CircuitLibrary::instance();
  for (std::size_t c = 0; c < capacitors_.size(); ++c)
    library.alter(capacitors_[c].source + "[dc]", volts[c]);
  ++sweeps_;
  try {
    library.analyse(sweep.command);
  } catch (const CircuitError&) {
    return false;
  }
  means.assign(capacitors_.size(), 0);
  for (std::size_t c = 0; c < capacitors_.size(); ++c) {
    const std::vector<double> a = library.real(capacitors_[c].source + "#branch");
    if (a.size() != sweep.weights.size()) return false;  // the sweep broke off
    for (std::size_t k = 0; k < a.size(); ++k) means[c] += sweep.weights[k] * a[k];
  }
  return true;
}

bool HeldStage::probe_slopes(const Sweep& sweep) {
  constexpr double kProbeV = 0.01;  // small against the swings, large against solver noise
  const std::size_t n = held_.size();
  slopes_.assign(n * n, 0);
  std::vector<double> there;
  for (std::size_t c = 0; c < n; ++c) {
    std::vector<double> probe = held_;
    probe[c] += kProbeV;
    if (!mean_currents(sweep, probe, there)) return false;
    for (std::size_t r = 0; r < n; ++r) slopes_[r * n + c] = (there[r] - means_[r]) / kProbeV;
  }
  return true;
}

/// Newton's method on the held voltages. Broyden's update keeps the slopes; where it does not help enough (a
/// grid begins to conduct) they are probed anew, and steps that make it worse are halved.
bool HeldStage::settled_at(const std::array<double, 2>& peaks, int steps, const Sweep& sweep) {
  constexpr double kSettledV = 1e-7;  // far below every tolerance of the comparisons
  constexpr double kGoodFall = 0.1, kToleratedRise = 2;
  constexpr int kMostSteps = 40, kMostHalvings = 5;
  set(peaks, steps);
  const auto n = static_cast<Eigen::Index>(held_.size());
  if (!mean_currents(sweep, held_, means_)) return false;
  bool fresh = slopes_.empty();
  if (fresh && !probe_slopes(sweep)) return false;
  for (int step = 0; step < kMostSteps; ++step) {
    const Matrix slopes = Matrix::Map(slopes_.data(), n, n);
    const Vector before = vector_of(means_), from = vector_of(held_);
    Vector change = -slopes.partialPivLu().solve(before);
    if (!change.allFinite()) return false;
    const bool settled = change.lpNorm<Eigen::Infinity>() < kSettledV;
    std::vector<double> after;
    bool ok = false;
    for (int h = 0; h <= kMostHalvings; ++h, change *= 0.5) {
      held_ = list_of(from + change);
      ok = mean_currents(sweep, held_, after) &&
           (settled || vector_of(after).norm() <= kToleratedRise * before.norm());
      if (ok) break;
      if (!fresh) break;  // old slopes are the likelier reason
    }
    if (!ok) {
      if (fresh) return false;
      held_ = list_of(from);
      slopes_.clear();
      if (!mean_currents(sweep, held_, means_) || !probe_slopes(sweep)) return false;
      fresh = true;
      continue;
    }
    const bool fell = vector_of(after).norm() < kGoodFall * before.norm();
    if (!settled && fell) {
      const Vector missed = vector_of(after) - before - slopes * change;
      const Matrix better = slopes + missed * change.transpose() / change.squaredNorm();
      Matrix::Map(slopes_.data(), n, n) = better;
    }
    means_ = after;
    if (settled) {
      mean_left_a_ = vector_of(means_).lpNorm<Eigen::Infinity>();
      last_ = peaks;
      return true;
    }
    fresh = false;
    if (!fell) {
      if (!probe_slopes(sweep)) return false;
      fresh = true;
    }
  }
  return false;
}

void HeldStage::go(const std::array<double, 2>& peaks, int steps, const Sweep& sweep, int depth) {
  const std::vector<double> start = held_;
  const std::array<double, 2> from = last_;
  if (settled_at(peaks, steps, sweep)) return;
  held_ = start;
  slopes_.clear();
  if (settled_at(peaks, steps, sweep)) return;
  constexpr int kDeepest = 6;
  if (depth == kDeepest) throw CircuitError("the capacitor voltages did not settle");
  held_ = start;
  slopes_.clear();
  go({0.5 * (from[0] + peaks[0]), 0.5 * (from[1] + peaks[1])}, steps, sweep, depth + 1);
  go(peaks, steps, sweep, depth + 1);
}

void HeldStage::settle(double input_peak_v, int steps) {
  go({input_peak_v, 0}, steps, half_cycle(steps), 0);
}

void HeldStage::settle_two_tones(double first_peak_v, double second_peak_v, int steps) {
  go({first_peak_v, second_peak_v}, steps, two_half_cycles(steps), 0);
}

}  // namespace antiphase::reference
