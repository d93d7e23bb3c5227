#include "tests/reference/real_stage.h"

#include <cmath>
#include <numbers>

namespace antiphase::reference {
namespace {

using Complex = std::complex<double>;

// NIST, CODATA 2018, both exact.
constexpr double kBoltzmann = 1.380649e-23, kElementaryCharge = 1.602176634e-19;
constexpr double kKelvin = 300;
/// Equivalent noise resistance of a triode: 2.5 / gm (B. J. Thompson, D. O. North, W. A. Harris,
/// "Fluctuations in space-charge-limited currents at moderately high frequencies", RCA Review, 1940; value
/// from memory).
constexpr double kTriodeNoise = 2.5;

/// The library holds one circuit: nothing else may be loaded between construction and last use.
class RealStage {
 public:
  RealStage(const Design& design, const Rest& rest) : design_(design) {
    DrawingExtras extras{.capacitor_v = rest.capacitor_v};
    for (std::size_t i = 0; i < outputs(); ++i) {
      if (!design.tube[i]) continue;  // a split load has two outputs of one section
      extras.noise_ohm[i] = kTriodeNoise / rest.point.gm_s[i];
      extras.noise_gm_s[i] = rest.point.gm_s[i];
      extras.grid_shot_s[i] = std::sqrt(2 * kElementaryCharge * std::max(rest.point.grid_current_a[i], 0.0) /
                                        (4 * kBoltzmann * kKelvin));
    }
    if (has_first_stage(design)) {
      extras.noise_ohm[2] = kTriodeNoise / rest.point.first.gm_s;
      extras.noise_gm_s[2] = rest.point.first.gm_s;
      extras.grid_shot_s[2] =
          std::sqrt(2 * kElementaryCharge * std::max(rest.point.first.grid_current_a, 0.0) /
                    (4 * kBoltzmann * kKelvin));
    }
    for (std::size_t i = 0; i < 2 && has_driver(design); ++i) {
      const SectionRest& own = rest.point.driver[i];
      extras.noise_ohm[3 + i] = kTriodeNoise / own.gm_s;
      extras.noise_gm_s[3 + i] = own.gm_s;
      extras.grid_shot_s[3 + i] =
          std::sqrt(2 * kElementaryCharge * std::max(own.grid_current_a, 0.0) / (4 * kBoltzmann * kKelvin));
    }
    library_.load(stage_netlist(design, Coupling::real, extras).lines);
  }

  std::size_t outputs() const { return design_.circuit != CircuitKind::common_cathode ? 2 : 1; }

  struct Response {
    std::array<Complex, 2> output{};
    Complex input_ohm;     ///< at the terminal in front of the input capacitor, source_f included
    Complex grid_siemens;  ///< into grid 1, per volt there
  };
  Response from_input(double frequency_hz) {
    Response r = at(frequency_hz);
    const Complex terminal = library_.complex("a").front(),
                  grid = library_.complex(driven_grid(design_)).front();
    const Complex taken = -library_.complex("vin#branch").front();
    r.input_ohm = terminal / taken;
    const Complex wiring(0, 2 * std::numbers::pi * frequency_hz * design_.source_f);
    r.grid_siemens = (taken - wiring * terminal) / grid;
    return r;
  }
  Response from_supply(double frequency_hz) {
    library_.alter("vin[acmag]", 0);
    library_.alter("vb[acmag]", 1);
    const Response r = at(frequency_hz);
    library_.alter("vin[acmag]", 1);
    library_.alter("vb[acmag]", 0);
    return r;
  }

  /// Size of each output's response at `count` frequencies from `low_hz` on, `step` decades apart.
  std::array<std::vector<double>, 2> sizes(double low_hz, double step, int count) {
    library_.analyse("ac dec " + exact(std::round(1 / step)) + " " + exact(low_hz) + " " +
                     exact(low_hz * std::pow(10, step * (count - 1)) * (1 + 1e-9)));
    std::array<std::vector<double>, 2> out;
    for (std::size_t i = 0; i < outputs(); ++i)
      for (const Complex& v : library_.complex(i == 0 ? "o1" : "o2")) out[i].push_back(std::abs(v));
    return out;
  }

  /// V rms of every resistor and tube, 20 Hz to 20 kHz.
  double noise_v_rms(const std::string& where) {
    library_.analyse("noise " + where + " vin dec 50 20 20000");
    return library_.real("onoise_total").front();
  }

 private:
  Response at(double frequency_hz) {
    library_.analyse("ac lin 1 " + exact(frequency_hz) + " " + exact(frequency_hz));
    Response r;
    r.output[0] = library_.complex("o1").front();
    if (outputs() == 2) r.output[1] = library_.complex("o2").front();
    return r;
  }

  const Design& design_;
  CircuitLibrary& library_ = CircuitLibrary::instance();
};

/// The designer's capacitors held as at rest, all others away: the gain from source to outputs at any
/// frequency.
Pair mid_band_gain(const Design& design, const Rest& rest) {
  Design d = design;
  std::array<Tube, 2> bare;
  Tube first_bare;
  if (d.first_stage.tube) {
    first_bare = *d.first_stage.tube;
    first_bare.capacitance = {};
    d.first_stage.tube = &first_bare;
  }
  Tube driver_bare;
  if (d.driver.tube) {
    driver_bare = *d.driver.tube;
    driver_bare.capacitance = {};
    d.driver.tube = &driver_bare;
  }
  d.first_stage.coupling_f = d.first_stage.cathode_bypass_f = d.driver.coupling_f = 0;
  for (std::size_t i = 0; i < 2; ++i) {
    if (!d.tube[i]) continue;
    bare[i] = *d.tube[i];
    bare[i].capacitance = {};
    d.tube[i] = &bare[i];
  }
  d.reservoir_f = d.coupling_f = d.grid_bypass_f = d.input_coupling_f = d.cathode_bypass_f = 0;
  d.load_f = d.source_f = 0;
  const auto output = RealStage(d, rest).from_input(1e3).output;
  return {output[0].real(), output[1].real()};
}

constexpr double kStep = 0.1;  // of a decade
constexpr int kLowest = -3, kHighest = 9;

/// Beside a grid of sizes, kStep decades apart from 10^kLowest on: where `wanted` is passed between two of
/// its points, by bisection in the logarithm.
double crossing_hz(RealStage& stage, std::size_t output, double wanted, double inside, double outside) {
  for (int n = 0; n < 14; ++n) {  // 0.1 decade / 2^14: 1e-5 of a frequency
    const double middle = 0.5 * (inside + outside);
    const bool above = std::abs(stage.from_input(std::pow(10, middle)).output[output]) > wanted;
    (above ? inside : outside) = middle;
  }
  return std::pow(10, 0.5 * (inside + outside));
}

void find_corners(RealStage& stage, const Pair& mid_band, FrequencyFigures& out) {
  const int per_decade = static_cast<int>(std::round(1 / kStep));
  const auto size = stage.sizes(std::pow(10, kLowest), kStep, (kHighest - kLowest) * per_decade + 1);
  for (std::size_t i = 0; i < stage.outputs(); ++i) {
    const double wanted = std::abs(mid_band[i]) / std::numbers::sqrt2;
    const auto in_band = [&](int n) { return size[i].at(static_cast<std::size_t>(n)) > wanted; };
    const auto decade = [&](int n) { return kLowest + n * kStep; };
    const int last = static_cast<int>(size[i].size()) - 1;
    int start = -1;  // at 1 kHz, or at the nearest decade that is in the band, lower first
    for (const int from : {0, -1, 1, -2, 2, -3, 3})
      if (start < 0 && in_band((3 + from - kLowest) * per_decade)) start = (3 + from - kLowest) * per_decade;
    if (start < 0) continue;
    for (int n = start; n > 0; --n)
      if (!in_band(n - 1)) {
        out.low_corner_hz[i] = crossing_hz(stage, i, wanted, decade(n), decade(n - 1));
        break;
      }
    for (int n = start; n < last; ++n)
      if (!in_band(n + 1)) {
        out.high_corner_hz[i] = crossing_hz(stage, i, wanted, decade(n), decade(n + 1));
        break;
      }
  }
}

void fill_balance(const RealStage::Response& r, std::size_t outputs, double& amplitude_pct,
                  double& phase_deg) {
  if (outputs < 2) return;
  const double a = std::abs(r.output[0]), b = std::abs(r.output[1]);
  amplitude_pct = 200 * (a - b) / (a + b);
  phase_deg = std::arg(-r.output[0] / r.output[1]) * 180 / std::numbers::pi;
}

}  // namespace

FrequencyFigures frequency_figures(const Design& design, const Rest& rest) {
  FrequencyFigures out;
  const Pair mid_band = mid_band_gain(design, rest);
  RealStage stage(design, rest);
  find_corners(stage, mid_band, out);
  const RealStage::Response ripple = stage.from_supply(FrequencyFigures::kRipple_hz);
  for (std::size_t i = 0; i < stage.outputs(); ++i) out.ripple_v_per_v[i] = std::abs(ripple.output[i]);
  out.ripple_difference_v_per_v = std::abs(ripple.output[0] - ripple.output[1]);
  const std::array balance_hz{20.0, 1e3, 20e3};
  for (std::size_t n = 0; n < balance_hz.size(); ++n) {
    const RealStage::Response r = stage.from_input(balance_hz[n]);
    out.balance[n].frequency_hz = balance_hz[n];
    fill_balance(r, stage.outputs(), out.balance[n].amplitude_pct, out.balance[n].phase_deg);
    if (n == 2) out.input_f = r.grid_siemens.imag() / (2 * std::numbers::pi * balance_hz[n]);
  }
  for (std::size_t n = 0; n < out.curve.size(); n += kCurveStep) {
    FrequencyPoint& p = out.curve[n];
    p.frequency_hz = FrequencyFigures::kCurveLow_hz * std::pow(10, static_cast<double>(n) / 10);
    const RealStage::Response r = stage.from_input(p.frequency_hz);
    p.gain = r.output;
    p.input_ohm = r.input_ohm;
    fill_balance(r, stage.outputs(), p.balance_pct, p.opposite_deg);
  }
  out.noise.output_v_rms[0] = stage.noise_v_rms("v(o1)");
  out.noise.difference_v_rms = out.noise.output_v_rms[0];
  if (stage.outputs() == 2) {
    out.noise.output_v_rms[1] = stage.noise_v_rms("v(o2)");
    out.noise.difference_v_rms = stage.noise_v_rms("v(o1,o2)");
  }
  return out;
}

}  // namespace antiphase::reference
