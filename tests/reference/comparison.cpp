#include "tests/reference/comparison.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "tests/reference/real_stage.h"

namespace antiphase::reference {
namespace {

using Numbers = std::vector<double>;

template <auto Part, auto Member>
Numbers per_section(const Figures& f, std::size_t sections) {
  const Pair& both = (f.*Part).*Member;
  return {both.begin(), both.begin() + static_cast<std::ptrdiff_t>(sections)};
}
template <auto Part, auto Member>
Numbers single(const Figures& f, std::size_t) {
  return {(f.*Part).*Member};
}

template <auto Member>
constexpr auto rest_pair = per_section<&Figures::rest, Member>;
template <auto Member>
constexpr auto rest_one = single<&Figures::rest, Member>;
template <auto Member>
constexpr auto signal_pair = per_section<&Figures::small_signal, Member>;
template <auto Member>
constexpr auto signal_one = single<&Figures::small_signal, Member>;
template <auto Member>
constexpr auto state_pair = per_section<&Figures::state, Member>;
template <auto Member>
constexpr auto state_one = single<&Figures::state, Member>;

/// Signed, in percent of the fundamental: a harmonic of the wrong sign is not the same harmonic.
void push_harmonics(const std::array<double, kHarmonics + 1>& c, Numbers& out) {
  for (std::size_t h = 2; h <= kHarmonics; ++h) out.push_back(100 * c[h] / std::abs(c[1]));
}
Numbers harmonics(const Figures& f, std::size_t sections) {
  Numbers out;
  for (std::size_t i = 0; i < sections; ++i) push_harmonics(f.state.harmonic_v[i], out);
  return out;
}
Numbers harmonics_differential(const Figures& f, std::size_t) {
  Numbers out;
  push_harmonics(f.state.harmonic_differential_v, out);
  return out;
}
Numbers fundamentals(const Figures& f, std::size_t sections) {
  Numbers out;
  for (std::size_t i = 0; i < sections; ++i) out.push_back(f.state.harmonic_v[i][1]);
  return out;
}

/// A direct-coupled grid 1 has no leak: no current, and nothing that 1 / input_ohm could be but 0.
Numbers input_siemens(const Figures& f, std::size_t) {
  const double input_ohm = f.small_signal.input_ohm;
  return {input_ohm == 0 || std::isinf(input_ohm) ? 0.0 : 1 / input_ohm};
}

Numbers corners(const std::array<std::optional<double>, 2>& found, std::size_t sections) {
  Numbers out;
  for (std::size_t i = 0; i < sections; ++i)
    out.push_back(found[i].value_or(0));  // one that is missing is no match
  return out;
}
Numbers low_corners(const Figures& f, std::size_t sections) {
  return corners(f.frequency.low_corner_hz, sections);
}
Numbers high_corners(const Figures& f, std::size_t sections) {
  return corners(f.frequency.high_corner_hz, sections);
}

/// Of the points of the curve that both sides have.
template <class Of>
Numbers over_curve(const Figures& f, std::size_t sections, Of of) {
  Numbers out;
  for (std::size_t n = 0; n < f.frequency.curve.size(); n += kCurveStep)
    for (std::size_t i = 0; i < sections; ++i) of(f.frequency.curve[n].gain[i], out);
  return out;
}
Numbers curve_db(const Figures& f, std::size_t sections) {
  return over_curve(f, sections,
                    [](const auto& g, Numbers& out) { out.push_back(20 * std::log10(std::abs(g))); });
}
/// As a unit vector, which has no jump at 180 degrees.
Numbers curve_direction(const Figures& f, std::size_t sections) {
  return over_curve(f, sections, [](const auto& g, Numbers& out) {
    const double size = std::abs(g) > 0 ? std::abs(g) : 1;
    out.push_back(g.real() / size);
    out.push_back(g.imag() / size);
  });
}
Numbers input_impedance_db(const Figures& f, std::size_t) {
  Numbers out;
  for (std::size_t n = 0; n < f.frequency.curve.size(); n += kCurveStep) {
    const double ohm = std::abs(f.frequency.curve[n].input_ohm);
    out.push_back(ohm > 0 && std::isfinite(ohm) && ohm < 1e15 ? 20 * std::log10(ohm)
                                                              : 0.0);  // 0: takes no current
  }
  return out;
}
template <auto Member>
Numbers balance_at(const Figures& f, std::size_t) {
  Numbers out;
  for (const FrequencyFigures::Balance& b : f.frequency.balance) out.push_back(b.*Member);
  return out;
}
Numbers noise(const Figures& f, std::size_t sections) {
  const NoiseFigures& n = f.frequency.noise;
  Numbers out{n.difference_v_rms};
  for (std::size_t i = 0; i < sections; ++i) out.push_back(n.output_v_rms[i]);
  return out;
}

/// Of a chain's first stage; zero on both sides elsewhere.
template <double SectionRest::*... Member>
Numbers first_rest(const Figures& f, std::size_t) {
  return {f.rest.first.*Member...};
}
template <double SectionState::*... Member>
Numbers first_state(const Figures& f, std::size_t) {
  return {f.state.first.*Member...};
}
Numbers first_harmonics(const Figures& f, std::size_t) {
  Numbers out;
  if (f.state.first.harmonic_v[1] != 0) push_harmonics(f.state.first.harmonic_v, out);
  return out;
}
Numbers first_fundamental(const Figures& f, std::size_t) {
  return {f.state.first.harmonic_v[1]};
}

/// The same of both sections of a driver.
template <double SectionRest::*... Member>
Numbers driver_rest(const Figures& f, std::size_t) {
  Numbers out;
  for (const SectionRest& own : f.rest.driver)
    for (const double v : {own.*Member...}) out.push_back(v);
  return out;
}
template <double SectionState::*... Member>
Numbers driver_state(const Figures& f, std::size_t) {
  Numbers out;
  for (const SectionState& own : f.state.driver)
    for (const double v : {own.*Member...}) out.push_back(v);
  return out;
}

using F = SectionRest;
using G = SectionState;
using R = FrequencyFigures;
using P = OperatingPoint;
using S = SmallSignal;
using C = SteadyState;

std::vector<Quantity> make() {
  // Promised: what a designer could notice, divided by ten or more.
  const Tolerance volt{1e-3, 0}, ampere{1e-9, 1e-4}, watt{1e-9, 1e-4}, gain{0, 5e-4}, ohm{0, 1e-3};
  const Tolerance distortion{0.003, 0.005}, balance{0.02, 0}, peak_volt{1e-2, 1e-4}, mean{1e-9, 1e-3};
  const Tolerance corner{0, 1e-2}, ripple{1e-9, 5e-3};
  const double db = 20 * std::log10(1 + 5e-4);  // the gain's tolerance
  // Same equations: far below that, and above the rounding and settling errors of both sides.
  const Tolerance volt_same{1e-6, 0}, same{1e-12, 1e-6}, pct_same{1e-5, 1e-6}, slope_same{0, 1e-5};
  return {
      {"rest: supply_v", volt, volt_same, false, rest_one<&P::supply_v>},
      {"rest: cathode_v", volt, volt_same, false, rest_one<&P::cathode_v>},
      {"rest: leak_node_v", volt, volt_same, true, rest_one<&P::leak_node_v>},
      {"rest: plate_v", volt, volt_same, false, rest_pair<&P::plate_v>},
      {"rest: grid_v", volt, volt_same, false, rest_pair<&P::grid_v>},
      {"rest: grid_to_cathode_v", volt, volt_same, false, rest_pair<&P::grid_to_cathode_v>},
      {"rest: plate_to_cathode_v", volt, volt_same, false, rest_pair<&P::plate_to_cathode_v>},
      {"rest: tail_v", volt, volt_same, true, rest_one<&P::tail_v>},
      {"rest: tail_fraction", {0, 1e-4}, {0, 1e-6}, true, rest_one<&P::tail_fraction>},
      {"rest: tail_current_a", ampere, same, true, rest_one<&P::tail_current_a>},
      {"rest: plate_current_a", ampere, same, false, rest_pair<&P::plate_current_a>},
      {"rest: grid_current_a", ampere, same, false, rest_pair<&P::grid_current_a>},
      {"rest: plate_dissipation_w", watt, same, false, rest_pair<&P::plate_dissipation_w>},
      {"rest: supply_current_a", ampere, same, false, rest_one<&P::supply_current_a>},
      {"rest: gm_s", {0, 1e-4}, slope_same, false, rest_pair<&P::gm_s>},
      {"rest: mu", {0, 1e-4}, slope_same, false, rest_pair<&P::mu>},
      {"rest: rp_ohm", {0, 1e-4}, slope_same, false, rest_pair<&P::rp_ohm>},
      {"rest: first stage, V", volt, volt_same, false,
       first_rest<&F::plate_v, &F::cathode_v, &F::grid_v, &F::grid_to_cathode_v, &F::plate_to_cathode_v>},
      {"rest: first stage, A and W", ampere, same, false,
       first_rest<&F::plate_current_a, &F::grid_current_a, &F::plate_dissipation_w>},
      {"rest: driver, V", volt, volt_same, false,
       driver_rest<&F::plate_v, &F::cathode_v, &F::grid_v, &F::grid_to_cathode_v, &F::plate_to_cathode_v>},
      {"rest: driver, A and W", ampere, same, false,
       driver_rest<&F::plate_current_a, &F::grid_current_a, &F::plate_dissipation_w>},
      {"steady state: driver, grid_to_cathode_peak_v", peak_volt, volt_same, false,
       driver_state<&G::grid_to_cathode_peak_v>},
      {"steady state: driver, plate_current_low_a",
       {1e-8, 1e-3},
       same,
       false,
       driver_state<&G::plate_current_low_a>},
      {"rest: first stage, gm_s, mu, rp_ohm",
       {0, 1e-4},
       slope_same,
       false,
       first_rest<&F::gm_s, &F::mu, &F::rp_ohm>},
      {"small signal: first_stage_gain", gain, same, false, signal_one<&S::first_stage_gain>},
      {"small signal: gain", gain, same, false, signal_pair<&S::gain>},
      {"small signal: balance_pct", balance, pct_same, true, signal_one<&S::balance_pct>},
      {"small signal: output_impedance_alone_ohm", ohm, same, false,
       signal_pair<&S::output_impedance_alone_ohm>},
      {"small signal: output_impedance_differential_ohm", ohm, same, false,
       signal_pair<&S::output_impedance_differential_ohm>},
      {"small signal: cathode_gain", {1e-6, 5e-4}, same, false, signal_one<&S::cathode_gain>},
      {"small signal: 1 / input_ohm", {1e-12, 1e-3}, same, false, input_siemens},
      {"frequency: low corners, Hz", corner, Tolerance{0, 1e-4}, false, low_corners},
      {"frequency: high corners, Hz", corner, Tolerance{0, 1e-4}, false, high_corners},
      {"frequency: response, dB", {db, 0}, {db, 0}, false, curve_db},
      {"frequency: direction of response", {1e-3, 0}, {1e-3, 0}, false, curve_direction},
      {"frequency: input impedance, dB", {2 * db, 0}, {2 * db, 0}, false, input_impedance_db},
      {"frequency: input_f", {1e-15, 1e-2}, {1e-15, 1e-2}, false, single<&Figures::frequency, &R::input_f>},
      {"frequency: balance, %", balance, balance, true, balance_at<&R::Balance::amplitude_pct>},
      {"frequency: balance, degrees", {0.05, 0}, {0.05, 0}, true, balance_at<&R::Balance::phase_deg>},
      {"frequency: ripple_v_per_v", ripple, ripple, false,
       per_section<&Figures::frequency, &R::ripple_v_per_v>},
      {"frequency: ripple_difference_v_per_v", ripple, ripple, true,
       single<&Figures::frequency, &R::ripple_difference_v_per_v>},
      {"frequency: noise, V", {0, 1e-2}, {0, 1e-2}, false, noise},
      {"steady state: fundamentals, V", gain, same, false, fundamentals},
      {"steady state: output_peak_v", gain, same, false, state_pair<&C::output_peak_v>},
      {"steady state: thd_pct", distortion, pct_same, false, state_pair<&C::thd_pct>},
      {"steady state: thd_differential_pct", distortion, pct_same, true, state_one<&C::thd_differential_pct>},
      {"steady state: harmonics 2-10, signed, %", distortion, pct_same, false, harmonics},
      {"steady state: harmonics of the difference, %", distortion, pct_same, true, harmonics_differential},
      {"steady state: balance_pct", balance, pct_same, true, state_one<&C::balance_pct>},
      {"steady state: grid_to_cathode_peak_v", peak_volt, volt_same, false,
       state_pair<&C::grid_to_cathode_peak_v>},
      {"steady state: supply_v", volt, volt_same, false, state_one<&C::supply_v>},
      {"steady state: grid_mean_v", peak_volt, volt_same, false, state_pair<&C::grid_mean_v>},
      {"steady state: plate_current_low_a", {1e-8, 1e-3}, same, false, state_pair<&C::plate_current_low_a>},
      {"steady state: plate_dissipation_w", mean, same, false, state_pair<&C::plate_dissipation_w>},
      {"steady state: cathode_current_mean_a", mean, same, false, state_pair<&C::cathode_current_mean_a>},
      {"steady state: cathode_current_peak_a", mean, same, false, state_pair<&C::cathode_current_peak_a>},
      {"steady state: plate_to_cathode_peak_v", peak_volt, volt_same, false,
       state_pair<&C::plate_to_cathode_peak_v>},
      {"steady state: cathode_low_v", peak_volt, volt_same, false, state_one<&C::cathode_low_v>},
      {"steady state: cathode_high_v", peak_volt, volt_same, false, state_one<&C::cathode_high_v>},
      {"steady state: tail_low_v", peak_volt, volt_same, true, state_one<&C::tail_low_v>},
      {"steady state: first plate, fundamental, V", gain, same, false, first_fundamental},
      {"steady state: first plate, thd_pct", distortion, pct_same, false, first_state<&G::thd_pct>},
      {"steady state: first plate, harmonics 2-10, %", distortion, pct_same, false, first_harmonics},
      {"steady state: first stage, peaks and mean, V", peak_volt, volt_same, false,
       first_state<&G::grid_to_cathode_peak_v, &G::plate_to_cathode_peak_v, &G::cathode_low_v,
                   &G::cathode_high_v, &G::grid_mean_v>},
      {"steady state: first stage, plate_current_low_a",
       {1e-8, 1e-3},
       same,
       false,
       first_state<&G::plate_current_low_a>},
      {"steady state: first stage, currents and dissipation", mean, same, false,
       first_state<&G::cathode_current_mean_a, &G::cathode_current_peak_a, &G::plate_dissipation_w>},
      {"steady state: supply_current_a", mean, same, false, state_one<&C::supply_current_a>},
  };
}

std::string formatted(const char* format, const char* name, double solver, double independent, double allowed,
                      double share, const char* design_name) {
  char line[400];
  std::snprintf(line, sizeof line, format, name, solver, independent, std::abs(solver - independent), allowed,
                100 * share, design_name);
  return line;
}

}  // namespace

const std::vector<Quantity>& quantities() {
  static const std::vector<Quantity> all = make();
  return all;
}

Tally::Tally(Closeness closeness) : closeness_(closeness), worst_(quantities().size()) {}

std::string Tally::compare(const std::string& design_name, CircuitKind circuit, const Figures& solver,
                           const Figures& independent) {
  const bool pair = circuit != CircuitKind::common_cathode;
  std::string outside;
  for (std::size_t q = 0; q < worst_.size(); ++q) {
    const Quantity& quantity = quantities()[q];
    if (quantity.pair_only && !pair) continue;
    const Numbers got = quantity.of(solver, pair ? 2 : 1);
    const Numbers want = quantity.of(independent, pair ? 2 : 1);
    for (std::size_t i = 0; i < want.size(); ++i) {
      const Tolerance& tolerance =
          closeness_ == Closeness::promised ? quantity.promised : quantity.same_equations;
      const double allowed = std::max(tolerance.absolute, tolerance.relative * std::abs(want[i]));
      const double apart = std::abs(got[i] - want[i]);
      double share = got[i] == want[i] ? 0 : apart / allowed;
      if (!std::isfinite(share)) share = std::numeric_limits<double>::infinity();
      Worst& worst = worst_[q];
      ++worst.compared;
      const std::string where = design_name + " [" + std::to_string(i) + "]";
      if (share > worst.share) worst = {share, got[i], want[i], allowed, where, worst.compared};
      if (share > 1) {
        outside += formatted("%s: solver %.9g, independent %.9g, off by %.2g, allowed %.2g (%.0f %%), %s\n",
                             quantity.name, got[i], want[i], allowed, share, where.c_str());
      }
    }
  }
  return outside;
}

std::string Tally::table(std::string_view only) const {
  std::string text = "worst of each quantity: solver, independent, difference, allowed, share of it, where\n";
  for (std::size_t q = 0; q < worst_.size(); ++q) {
    const Worst& w = worst_[q];
    if (w.compared == 0 || !std::string_view(quantities()[q].name).starts_with(only)) continue;
    text += formatted("  %-48s %13.7g %13.7g %8.1e %8.1e %8.3f %%  %s\n", quantities()[q].name, w.solver,
                      w.independent, w.allowed, w.share, w.design_name.c_str());
    text.pop_back();
    text += ", of " + std::to_string(w.compared) + "\n";
  }
  return text;
}

}  // namespace antiphase::reference
