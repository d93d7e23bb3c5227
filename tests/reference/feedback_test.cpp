// Loop gain, margins and closed loop of chains with overall feedback against the independent library, which
// has the whole loop as one circuit: opened at the far end of the feedback resistor, and closed.

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "stagemodels/linear/feedback.h"
#include "tests/reference/cases.h"
#include "tests/reference/random_designs.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

using Complex = std::complex<double>;

Feedback random_feedback(Draws& draws) {
  Feedback f;
  f.given = true;
  f.wanted_db = draws.between(3, 20);
  f.source_v_rms = 1;
  f.output_gain = draws.log_between(0.2, 1.5);
  f.output_impedance_ohm = draws.log_between(1, 20);
  f.low_hz = draws.log_between(2, 30);
  f.high_hz = draws.log_between(15e3, 100e3);
  return f;
}

StageNetlist drawing(const Design& d, const Rest& rest, double ohm, bool closed) {
  const double injection_v = rest.point.first.plate_current_a * d.first_stage.cathode_unbypassed_ohm;
  return stage_netlist(d, Coupling::real,
                       {.capacitor_v = rest.capacitor_v,
                        .feedback = {.resistor_ohm = ohm, .rest_v = injection_v, .closed = closed}});
}

/// The order of capacitors is the same with feedback, but the bypass then hangs between other nodes: their
/// difference at rest is the voltage across the bypassed part either way.
struct Loop {
  std::vector<double> hz;
  std::vector<Complex> gain;
};
Loop open_loop(const Design& d, const Rest& rest, double ohm) {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.load(drawing(d, rest, ohm, false).lines);
  library.alter("vin[acmag]", 0);
  library.alter("vfb[acmag]", 1);
  library.analyse("ac dec 40 0.001 1e9");
  Loop loop;
  for (const Complex& f : library.complex("frequency")) loop.hz.push_back(f.real());
  for (const Complex& v : library.complex("load")) loop.gain.push_back(-v);
  return loop;
}

struct Margins {
  double gain_db = INFINITY, phase_deg = INFINITY;
};
/// From the swept loop gain, straight lines in log frequency between its points.
Margins margins_of(const Loop& loop) {
  Margins m;
  std::vector<double> phase(loop.gain.size());
  const std::size_t middle = 40 * 6;  // 1 kHz
  const auto unwrap = [&](std::size_t k, std::size_t from) {
    const double arg = std::arg(loop.gain[k]);
    phase[k] = arg + 2 * std::numbers::pi * std::round((phase[from] - arg) / (2 * std::numbers::pi));
  };
  phase[middle] = std::arg(loop.gain[middle]);
  for (std::size_t k = middle; k-- > 0;) unwrap(k, k + 1);
  for (std::size_t k = middle + 1; k < phase.size(); ++k) unwrap(k, k - 1);
  for (std::size_t k = 0; k + 1 < phase.size(); ++k) {
    const auto size = [&](std::size_t n) { return 20 * std::log10(std::abs(loop.gain[n])); };
    const auto turned = [&](std::size_t n) { return std::abs(phase[n]) - std::numbers::pi; };
    if (size(k) * size(k + 1) < 0) {
      const double share = size(k) / (size(k) - size(k + 1));
      const double at = phase[k] + share * (phase[k + 1] - phase[k]);
      m.phase_deg = std::min(m.phase_deg, 180 - std::abs(at) * 180 / std::numbers::pi);
    }
    if (turned(k) * turned(k + 1) < 0) {
      const double share = turned(k) / (turned(k) - turned(k + 1));
      m.gain_db = std::min(m.gain_db, -(size(k) + share * (size(k + 1) - size(k))));
    }
  }
  return m;
}

TEST_CASE("loop gain, margins and the closed loop agree with the independent library") {
  constexpr int kDesigns = 40;
  constexpr double kMarginDb = 0.2, kMarginDeg = 1;
  Draws draws(20260401);
  int compared = 0, with_gain_margin = 0, with_phase_margin = 0;
  double worst_db = 0, worst_deg = 0;
  const std::array biases{BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};
  for (int n = 0; compared < kDesigns && n < 10 * kDesigns; ++n) {
    Design d = random_chain(draws, biases[static_cast<std::size_t>(n) % 3], TailForm::resistor,
                            n % 2 ? Bypass::part : Bypass::none);
    d.feedback = random_feedback(draws);
    Rest rest;
    if (!works_at_rest(d, rest)) continue;
    Evaluation e;
    evaluate(d, Depth::everything, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    if (!e.feedback.known || !e.feedback.reached) continue;
    ++compared;
    INFO(text_of(drawing(d, rest, e.feedback.resistor_ohm, false).lines));
    CHECK(within(e.feedback.feedback_db, d.feedback.wanted_db, 1e-6));

    const Loop loop = open_loop(d, rest, e.feedback.resistor_ohm);
    // every tenth of a decade of the curve is a fourth of a tenth's step of the sweep
    for (std::size_t k = 0; k < e.feedback.loop.size(); ++k) {
      const std::size_t at = 40 * 2 + 4 * k;
      REQUIRE(at < loop.gain.size());
      REQUIRE(within_ratio(loop.hz[at], e.frequency.curve[k].frequency_hz, 1e-6));
      const Complex ratio = e.feedback.loop[k] / loop.gain[at];
      CHECK(std::abs(20 * std::log10(std::abs(ratio))) < 1e-3);
      CHECK(std::abs(std::arg(ratio)) < 1e-3);
    }
    const Margins want = margins_of(loop);
    const LoopMargins& got = e.feedback.margins;
    CHECK(got.gain_margin_db.has_value() == std::isfinite(want.gain_db));
    CHECK(got.phase_margin_deg.has_value() == std::isfinite(want.phase_deg));
    if (got.gain_margin_db) {
      ++with_gain_margin;
      worst_db = std::max(worst_db, std::abs(*got.gain_margin_db - want.gain_db));
      CHECK(std::abs(*got.gain_margin_db - want.gain_db) < kMarginDb);
    }
    if (got.phase_margin_deg) {
      ++with_phase_margin;
      worst_deg = std::max(worst_deg, std::abs(*got.phase_margin_deg - want.phase_deg));
      CHECK(std::abs(*got.phase_margin_deg - want.phase_deg) < kMarginDeg);
    }
  }
  CHECK(compared == kDesigns);
  CHECK(with_phase_margin > 10);
  CHECK(with_gain_margin > 10);
  MESSAGE(compared << " loops, " << with_gain_margin << " gain margins off by at most " << worst_db << " dB, "
                   << with_phase_margin << " phase margins by at most " << worst_deg << " degrees");
}

TEST_CASE("the closed loop of the whole circuit has the gain that the budget says") {
  Draws draws(20260402);
  int compared = 0;
  for (int n = 0; compared < 20 && n < 200; ++n) {
    Design d = random_chain(draws, n % 2 ? BiasForm::self_biased : BiasForm::direct_coupled,
                            TailForm::resistor, Bypass::part);
    d.feedback = random_feedback(draws);
    d.feedback.low_hz = d.feedback.high_hz = 0;  // mid-band everywhere, and no strays nor capacitors
    d.reservoir_f = d.coupling_f = d.grid_bypass_f = d.input_coupling_f = d.load_f = d.source_f = 0;
    d.first_stage.coupling_f = d.first_stage.cathode_bypass_f = 0;
    Rest rest;
    if (!works_at_rest(d, rest)) continue;
    Evaluation e;
    evaluate(d, Depth::with_frequency, e);
    if (!e.feedback.known || !e.feedback.reached) continue;
    ++compared;
    std::array<Tube, 3> bare{*d.tube[0], *d.tube[1], *d.first_stage.tube};
    for (Tube& t : bare) t.capacitance = {};
    Design drawn = d;
    drawn.tube = {&bare[0], &bare[1]};
    drawn.first_stage.tube = &bare[2];
    CircuitLibrary& library = CircuitLibrary::instance();
    const auto gain = [&](bool closed) {
      StageNetlist netlist = drawing(drawn, rest, e.feedback.resistor_ohm, closed);
      library.load(netlist.lines);
      library.analyse("ac lin 1 1000 1000");
      return library.complex("load").front();
    };
    const Complex open = gain(false), closed = gain(true);
    CHECK(within_ratio(open.real(), e.feedback.open_gain, 1e-5));
    CHECK(within_ratio(closed.real(), e.feedback.closed_gain, 1e-5));
    CHECK(std::abs(closed.imag()) < 1e-6 * std::abs(closed.real()));
  }
  CHECK(compared == 20);
}

}  // namespace
}  // namespace antiphase::reference
