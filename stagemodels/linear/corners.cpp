#include "stagemodels/linear/corners.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

constexpr double kAtCorner = 1;       // loss at -3 dB
constexpr double kStillFlat = 0.01;   // a single pole is a decade away or more
constexpr double kMostLoss = 1e12;    // a dead output: far beyond any corner
constexpr double kLeastLoss = 1e-6;   // flat, or above mid-band
constexpr double kTolerance = 1e-10;  // in ln f: the page and the program agree to 1e-9
/// Of the logarithm of a loss: nothing below is more than rounding, and a search that goes on bisects.
constexpr double kRounding = 1e-12;
constexpr double kMiddle_hz = 1e3;

/// mid-band power over power, less one. A single pole at f_c loses (f / f_c)^2 or (f_c / f)^2, which is a
/// straight line in logarithms: the root is found in three or four steps.
double loss_of(const std::complex<double>& gain, double mid_band) {
  const double power = std::norm(gain), flat = mid_band * mid_band;
  return flat < (1 + kMostLoss) * power ? flat / power - 1 : kMostLoss;
}

using Losses = std::array<double, 2>;

class Search {
 public:
  Search(const LinearNetwork& network, const Pair& mid_band) : network_(network), mid_band_(mid_band) {}

  /// The crossing between the start, where the output is in its band, and one end of the range.
  std::optional<double> crossing(int output, int start, int direction) {
    const int end = direction < 0 ? kFirst : kLast;
    for (int from = start; from != end;) {
      const double here = at_step(from)[output];
      const int stride = here < kStillFlat && here >= 0 ? 2 : 1;
      const int to = direction < 0 ? std::max(from - stride, end) : std::min(from + stride, end);
      if (at_step(to)[output] > kAtCorner) return root(output, from, to);
      from = to;
    }
    return std::nullopt;
  }

  /// A place where the output is in its band, 1 kHz if it is there; empty if there is none.
  std::optional<int> inside(int output) {
    for (const int step :
         {kMiddle, kMiddle - 2, kMiddle + 2, kMiddle - 4, kMiddle + 4, kMiddle - 6, kMiddle + 6})
      if (at_step(step)[output] <= kAtCorner) return step;
    return std::nullopt;
  }

  int solutions() const { return solutions_; }

 private:
  // steps of half a decade, from kLowest_hz to kHighest_hz
  static constexpr int kFirst = 0, kLast = 24, kMiddle = 12;
  static_assert(FrequencyFigures::kLowest_hz == 1e-3 && FrequencyFigures::kHighest_hz == 1e9);

  static double hertz(double step) { return kMiddle_hz * std::pow(10, 0.5 * (step - kMiddle)); }

  Losses at(double frequency_hz) {
    ++solutions_;
    const LinearResponse r = network_.from_input(frequency_hz);
    Losses out{};
    for (int i = 0; i < network_.outputs(); ++i) out[i] = loss_of(r.output[i], mid_band_[i]);
    return out;
  }
  const Losses& at_step(int step) {
    std::optional<Losses>& known = steps_[step];
    if (!known) known = at(hertz(step));
    return *known;
  }
  double root(int output, int inside, int outside) {
    const auto height = [&](const Losses& l) {
      const double ln_loss = std::log(std::clamp(l[output], kLeastLoss, kMostLoss));
      return std::fabs(ln_loss) < kRounding ? 0 : ln_loss;
    };
    const double a = std::log(hertz(inside)), b = std::log(hertz(outside));
    const double at_a = height(at_step(inside)), at_b = height(at_step(outside));
    const auto excess = [&](double x) { return x == a ? at_a : x == b ? at_b : height(at(std::exp(x))); };
    return std::exp(find_root(excess, a, b, kTolerance).x);
  }

  const LinearNetwork& network_;
  const Pair& mid_band_;
  std::array<std::optional<Losses>, kLast + 1> steps_{};
  int solutions_ = 0;
};

}  // namespace

Pair mid_band_gain(const Design& design, const OperatingPoint& rest) {
  const LinearResponse r =
      LinearNetwork(design, rest, LinearNetwork::Capacitances::mid_band).from_input(kMiddle_hz);
  return {r.output[0].real(), r.output[1].real()};
}

Corners find_corners(const LinearNetwork& network, const Pair& mid_band, CornersAsked asked) {
  Search search(network, mid_band);
  Corners out;
  out.has_band = true;
  for (int i = 0; i < network.outputs(); ++i) {
    const std::optional<int> start = search.inside(i);
    if (!start) {
      out.has_band = false;
      continue;
    }
    if (asked.low) out.low_hz[i] = search.crossing(i, *start, -1);
    if (asked.high) out.high_hz[i] = search.crossing(i, *start, +1);
  }
  out.solutions = search.solutions();
  return out;
}

double greatest_loss(double frequency_hz, const LinearNetwork& network, const Pair& mid_band) {
  const LinearResponse r = network.from_input(frequency_hz);
  double worst = loss_of(r.output[0], mid_band[0]);
  for (int i = 1; i < network.outputs(); ++i) worst = std::max(worst, loss_of(r.output[i], mid_band[i]));
  return worst;
}

bool holds_down_to(double lowest_hz, const LinearNetwork& network, const Pair& mid_band) {
  const double step = std::sqrt(10.0);
  for (double hz = lowest_hz; hz < kMiddle_hz;) {
    const double loss = greatest_loss(hz, network, mid_band);
    if (loss > kAtCorner) return false;
    hz *= loss >= 0 && loss < kStillFlat ? 10 : step;
  }
  return greatest_loss(kMiddle_hz, network, mid_band) <= kAtCorner;
}

}  // namespace antiphase
