#include "stagemodels/linear/loop_margins.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

constexpr int kSteps = 10;  // a decade; no simple poles turn a phase by more than a few degrees between
constexpr double kTolerance = 1e-9;  // in ln f
constexpr double kPi = std::numbers::pi, kDegree = kPi / 180;

/// The loop gain at one frequency, its phase followed from mid-band on.
struct Place {
  double ln_hz = 0, ln_size = 0, phase = 0;
};

class Walk {
 public:
  Walk(const LoopGain& loop_gain, const LeastMargins& least, LoopMargins& out)
      : loop_gain_(loop_gain), least_(least), out_(out) {}

  void go(double mid_hz, double end_hz) {
    Place from = at(std::log(mid_hz), 0);
    const double step = std::log(10.0) / kSteps * (end_hz > mid_hz ? 1 : -1);
    const auto count = static_cast<std::size_t>(std::floor(std::log(end_hz / mid_hz) / step));
    constexpr std::size_t kTogether = 8;
    for (std::size_t n = 0; n < count; n += kTogether) {
      const std::size_t some = std::min(kTogether, count - n);
      std::array<double, kTogether> ln_hz, hz;
      std::array<std::complex<double>, kTogether> t;
      for (std::size_t i = 0; i < some; ++i) {
        ln_hz[i] = (i == 0 ? from.ln_hz : ln_hz[i - 1]) + step;
        hz[i] = std::exp(ln_hz[i]);
      }
      loop_gain_({hz.data(), some}, {t.data(), some});
      for (std::size_t i = 0; i < some; ++i) {
        const Place to = place(ln_hz[i], t[i], from.phase);
        if (!std::isfinite(to.ln_size)) return;  // nothing comes back any more
        between(from, to);
        from = to;
      }
    }
  }

 private:
  Place at(double ln_hz, double near_phase) const {
    const double hz = std::exp(ln_hz);
    std::complex<double> t;
    loop_gain_({&hz, 1}, {&t, 1});
    return place(ln_hz, t, near_phase);
  }
  static Place place(double ln_hz, std::complex<double> t, double near_phase) {
    const double turns = std::round((near_phase - std::arg(t)) / (2 * kPi));
    return {ln_hz, std::log(std::abs(t)), std::arg(t) + 2 * kPi * turns};
  }
  /// Where a value of the place passes zero.
  template <class Of>
  bool crossing(const Place& a, const Place& b, Of of, Place& found) const {
    const double at_a = of(a), at_b = of(b);
    if (!(at_a * at_b < 0)) return false;
    const auto value = [&](double x) {
      return x == a.ln_hz ? at_a : x == b.ln_hz ? at_b : of(at(x, a.phase));
    };
    found = at(find_root(value, a.ln_hz, b.ln_hz, kTolerance).x, a.phase);
    return true;
  }
  void keep_room(double room) {
    if (!out_.room || room < *out_.room) out_.room = room;
  }
  void between(const Place& a, const Place& b) {
    Place p;
    if (crossing(
            a, b, [](const Place& q) { return q.ln_size; }, p)) {
      const double margin = (kPi - std::fabs(p.phase)) / kDegree;
      if (!out_.phase_margin_deg || margin < *out_.phase_margin_deg) {
        out_.phase_margin_deg = margin;
        out_.phase_margin_hz = std::exp(p.ln_hz);
      }
    }
    if (crossing(
            a, b, [](const Place& q) { return std::fabs(q.phase) - kPi; }, p)) {
      const double margin = -p.ln_size * 20 / std::log(10.0);
      if (!out_.gain_margin_db || margin < *out_.gain_margin_db) {
        out_.gain_margin_db = margin;
        out_.gain_margin_hz = std::exp(p.ln_hz);
      }
      keep_room(std::pow(10, (margin - least_.gain_db) / 20));
    }
    // Grown by `room`, the loop gain is 1 where the phase leaves just the margin that is asked for.
    const double turned = kPi - least_.phase_deg * kDegree;
    if (crossing(
            a, b, [turned](const Place& q) { return std::fabs(q.phase) - turned; }, p))
      keep_room(std::exp(-p.ln_size));
  }

  const LoopGain& loop_gain_;
  const LeastMargins& least_;
  LoopMargins& out_;
};

}  // namespace

LoopMargins loop_margins(const LoopGain& loop_gain, double mid_hz, const LeastMargins& least) {
  LoopMargins out;
  Walk walk(loop_gain, least, out);
  walk.go(mid_hz, FrequencyFigures::kLowest_hz);
  walk.go(mid_hz, FrequencyFigures::kHighest_hz);
  return out;
}

}  // namespace antiphase
