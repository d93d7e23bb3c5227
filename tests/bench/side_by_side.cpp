// The same stages solved three ways in one run: by this project, by the independent circuit library as an
// expert would use it, and by a plain transient run as most people would. Prints, asserts nothing.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "tests/reference/cases.h"
#include "tests/reference/random_designs.h"
#include "tests/reference/readings.h"
#include "tests/stagemodels/plain/time_of_designs.h"

using namespace antiphase;
using namespace antiphase::reference;
using Clock = std::chrono::steady_clock;

namespace {

double microseconds_since(Clock::time_point start) {
  return std::chrono::duration<double, std::micro>(Clock::now() - start).count();
}

/// One netlist and many designs: stages of the same form and tubes with other values.
struct Group {
  std::vector<Design> designs;
};

constexpr int kEach = 15;  // designs of each form
constexpr double kAmplifierHz = 1e3;

/// A drawn stage on a stiff supply, driven to a third of what its bias allows, and others around it.
std::vector<Group> make_groups() {
  std::vector<Group> groups;
  for (Case& c : draw_pairs(71, 3).all) {
    Design d = c.design;
    if (d.main_supply_v > 0) d.supply_v = c.rest.point.supply_v;
    d.main_supply_v = d.source_ohm = 0;
    d.input_coupling_f = d.bias.form == BiasForm::direct_coupled ? 0 : 100e-9;
    d.coupling_f = d.grid_bypass_f = 100e-9;
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (e.operating_point.solved != Solved::yes) continue;
    const double gain = std::min(std::abs(e.small_signal.gain[0]), e.small_signal.gain[1]);
    d.swing_peak_v = 0.35 * std::abs(e.operating_point.grid_to_cathode_v[0]) * gain;
    Draws draws(groups.size() + 1);
    Group group;
    while (group.designs.size() < kEach) {
      Design near = d;
      for (double* ohm : {&near.plate_ohm[0], &near.plate_ohm[1], &near.bias.ohm, &near.tail.ohm,
                          &near.load_ohm, &near.supply_v})
        *ohm *= draws.between(0.95, 1.05);
      evaluate(near, Depth::full, e);
      if (e.at_target.solved != Solved::yes || e.clean.swing_peak_v < near.swing_peak_v) break;
      group.designs.push_back(near);
    }
    if (group.designs.size() == kEach) groups.push_back(group);
  }
  return groups;
}

struct Answer {
  Pair thd_pct{};
  double input_peak_v = 0;
};

// The expert's way
// ------------------------------------------------------------------------------------------------

constexpr int kExpertSteps = 16;  // 17 instants of the half cycle
const char* const kExpertOptions = ".options reltol=1e-6 abstol=1e-12 vntol=1e-7 gmin=1e-15";

void alter_to(const Design& d) {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.alter("vb[dc]", d.supply_v);
  for (std::size_t i = 0; i < 2; ++i) {
    const std::string id = std::to_string(i + 1);
    library.alter("rp" + id + "load[resistance]", d.plate_ohm[i]);
    library.alter("rl" + id + "[resistance]", d.load_ohm);
  }
  if (d.bias.form == BiasForm::self_biased) library.alter("rb[resistance]", d.bias.ohm);
  library.alter("rt[resistance]", d.tail.form == TailForm::resistor ? d.tail.ohm : d.tail.output_ohm);
}

/// What rest and small signal leave for the sweeps.
struct Start {
  std::vector<double> capacitor_v;
  Pair gain{}, output_ohm{};
};

Start small_signal_of(const Design& d, const StageNetlist& netlist) {
  CircuitLibrary& library = CircuitLibrary::instance();
  Start start;
  alter_to(d);
  library.alter("vin[acmag]", 1);
  library.analyse("op");
  const auto volt = [&](const std::string& node) { return node == "0" ? 0.0 : library.real(node)[0]; };
  for (const Capacitor& c : netlist.capacitors) start.capacitor_v.push_back(volt(c.from) - volt(c.to));
  const std::string ac = "ac lin 1 1e6 1e6";
  library.analyse(ac);
  start.gain = {library.complex("o1")[0].real(), library.complex("o2")[0].real()};
  library.alter("vin[acmag]", 0);
  for (std::size_t i = 0; i < 2; ++i) {  // loads away; one current into each output, then both opposite
    const std::string id = std::to_string(i + 1);
    library.alter("rl" + id + "[resistance]", 1e15);
  }
  for (const auto& [first, second] : {std::array{1.0, 0.0}, {0.0, 1.0}, {1.0, -1.0}}) {
    library.alter("itest1[acmag]", first);
    library.alter("itest2[acmag]", second);
    library.analyse(ac);
    if (second == 0) start.output_ohm[0] = library.complex("o1")[0].real();
    if (first == 0) start.output_ohm[1] = library.complex("o2")[0].real();
  }
  library.alter("itest1[acmag]", 0);
  library.alter("itest2[acmag]", 0);
  return start;
}

Answer sweep_to_target(const Design& d, const StageNetlist& netlist, Start start, int& sweeps) {
  CircuitLibrary& library = CircuitLibrary::instance();
  alter_to(d);
  Answer answer;
  answer.input_peak_v = d.swing_peak_v / std::min(std::abs(start.gain[0]), std::abs(start.gain[1]));
  constexpr double kThdSettledPct = 0.003, kLevelSettled = 5e-4;
  Pair before{1e9, 1e9};
  for (int n = 0; n < 12; ++n) {
    library.alter("vamp[dc]", answer.input_peak_v);
    for (std::size_t c = 0; c < netlist.capacitors.size(); ++c)
      library.alter(netlist.capacitors[c].source + "[dc]", start.capacitor_v[c]);
    library.analyse("dc vphase 0 " + std::to_string(kExpertSteps) + " 1");
    ++sweeps;
    const Readings r(d);
    const SteadyState s = cycle_figures(d, r, answer.input_peak_v);
    answer.thd_pct = s.thd_pct;
    const double level = std::min(s.output_peak_v[0], s.output_peak_v[1]);
    const bool settled = std::abs(level / d.swing_peak_v - 1) < kLevelSettled &&
                         std::abs(s.thd_pct[0] - before[0]) < kThdSettledPct &&
                         std::abs(s.thd_pct[1] - before[1]) < kThdSettledPct;
    if (settled) break;
    before = s.thd_pct;
    answer.input_peak_v *= d.swing_peak_v / level;
    // Mean currents: what a load's mean voltage says, seen through the output's resistance; leaks follow
    // their node.
    const double leak_node_v = mean(r.leak_node_v);
    for (std::size_t c = 0; c < netlist.capacitors.size(); ++c) {
      const Capacitor& capacitor = netlist.capacitors[c];
      for (std::size_t i = 0; i < 2; ++i)
        if (capacitor.source == "vco" + std::to_string(i + 1))
          start.capacitor_v[c] += s.harmonic_v[i][0] * (1 + start.output_ohm[i] / d.load_ohm);
      if (d.bias.form != BiasForm::self_biased) continue;
      if (capacitor.source == "vci") start.capacitor_v[c] = -leak_node_v;
      if (capacitor.source == "vcg") start.capacitor_v[c] = leak_node_v;
    }
  }
  return answer;
}

StageNetlist expert_netlist(const Design& d, Coupling coupling) {
  StageNetlist netlist = stage_netlist(d, coupling);
  netlist.lines[1] = kExpertOptions;
  return netlist;
}

std::vector<Answer> by_expert(const Group& group, int& sweeps) {
  CircuitLibrary& library = CircuitLibrary::instance();
  const StageNetlist open = expert_netlist(group.designs.front(), Coupling::capacitors);
  library.load(open.lines);
  std::vector<Start> starts;
  for (const Design& d : group.designs) starts.push_back(small_signal_of(d, open));
  const StageNetlist held = expert_netlist(group.designs.front(), Coupling::held);
  library.load(held.lines);
  library.alter("vstep[dc]", std::numbers::pi / kExpertSteps);
  std::vector<Answer> answers;
  for (std::size_t n = 0; n < group.designs.size(); ++n)
    answers.push_back(sweep_to_target(group.designs[n], held, starts[n], sweeps));
  return answers;
}

// The plain way
// ---------------------------------------------------------------------------------------------------

/// Total distortion of the last cycle of a transient, by Fourier sums over its unequal steps (trapezoids).
double last_cycle_thd_pct(const std::vector<double>& time, const std::vector<double>& y) {
  const double end = time.back(), begin = end - 1 / kAmplifierHz;
  std::array<double, kHarmonics + 1> size{};
  for (int h = 1; h <= kHarmonics; ++h) {
    double in = 0, out = 0;
    for (std::size_t k = 1; k < time.size(); ++k) {
      if (time[k - 1] < begin) continue;
      const double w = 2 * std::numbers::pi * kAmplifierHz * h, dt = time[k] - time[k - 1];
      in += 0.5 * dt * (y[k] * std::cos(w * time[k]) + y[k - 1] * std::cos(w * time[k - 1]));
      out += 0.5 * dt * (y[k] * std::sin(w * time[k]) + y[k - 1] * std::sin(w * time[k - 1]));
    }
    size[static_cast<std::size_t>(h)] = std::hypot(in, out);
  }
  double sum = 0;
  for (std::size_t h = 2; h <= kHarmonics; ++h) sum += size[h] * size[h];
  return 100 * std::sqrt(sum) / size[1];
}

/// Library's own tolerances, 200 steps a cycle, the drive given (to be found by trial otherwise).
Answer by_transient(const Design& d, double input_peak_v, double simulated_s) {
  CircuitLibrary& library = CircuitLibrary::instance();
  const double rest_v = d.bias.form == BiasForm::direct_coupled ? d.bias.grid_v : 0;
  StageNetlist netlist = stage_netlist(d, Coupling::real);
  Netlist lines;
  for (const std::string& line : netlist.lines) {
    if (line.starts_with(".options")) continue;
    lines.push_back(line.starts_with("vin ") ? "vin in 0 sin(" + exact(rest_v) + " " + exact(input_peak_v) +
                                                   " " + exact(kAmplifierHz) + ")"
                                             : line);
  }
  library.load(lines);
  library.analyse("tran 5u " + exact(simulated_s) + " 0 5u");
  const std::vector<double> time = library.real("time");
  return {{last_cycle_thd_pct(time, library.real("o1")), last_cycle_thd_pct(time, library.real("o2"))},
          input_peak_v};
}

void print_paths() {
  const testing::PathTimes wide = testing::time_of_designs();
  std::printf(
      "\nvector paths, 300 random clean pairs and gain stages, us: at the target, with clean swing\n");
  std::printf("  %-46s %8.2f %8.2f\n", "this processor's width", wide.at_target_us, wide.full_us);
  if (FILE* out = popen(ANTIPHASE_PLAIN_FIGURES " time", "r")) {
    testing::PathTimes plain;
    if (std::fscanf(out, "%lf %lf", &plain.at_target_us, &plain.full_us) == 2)
      std::printf("  %-46s %8.2f %8.2f\n", "plain x86-64, a second build", plain.at_target_us, plain.full_us);
    pclose(out);
  }
}

}  // namespace

int main() {
  const std::vector<Group> groups = make_groups();
  std::size_t count = 0;
  for (const Group& g : groups) count += g.designs.size();
  std::printf("%zu pairs in %zu groups of one netlist, every bias and tail\n", count, groups.size());

  // Ours, several rounds; the least.
  Evaluation e;
  std::vector<std::vector<Answer>> ours(groups.size());
  int most = 0;
  double steps = 0, at_target_us = 1e300, full_us = 1e300;
  for (int round = 0; round < 20; ++round) {
    for (const Depth depth : {Depth::at_target, Depth::full}) {
      const Clock::time_point start = Clock::now();
      for (const Group& g : groups)
        for (const Design& d : g.designs) evaluate(d, depth, e);
      double& least = depth == Depth::full ? full_us : at_target_us;
      least = std::min(least, microseconds_since(start) / static_cast<double>(count));
    }
  }
  for (std::size_t g = 0; g < groups.size(); ++g)
    for (const Design& d : groups[g].designs) {
      evaluate(d, Depth::at_target, e);
      ours[g].push_back({e.at_target.thd_pct, e.at_target.input_peak_v});
      steps += e.at_target.newton_steps;
      most = std::max(most, e.at_target.newton_steps);
    }

  // The expert: three rounds, the least.
  double expert_us = 1e300, apart_expert = 0;
  int sweeps = 0;
  constexpr int kExpertRounds = 3;
  for (int round = 0; round < kExpertRounds; ++round) {
    const Clock::time_point start = Clock::now();
    std::vector<std::vector<Answer>> theirs;
    for (const Group& g : groups) theirs.push_back(by_expert(g, sweeps));
    expert_us = std::min(expert_us, microseconds_since(start) / static_cast<double>(count));
    for (std::size_t g = 0; g < groups.size(); ++g)
      for (std::size_t n = 0; n < theirs[g].size(); ++n)
        for (std::size_t i = 0; i < 2; ++i)
          apart_expert = std::max(apart_expert, std::abs(theirs[g][n].thd_pct[i] - ours[g][n].thd_pct[i]));
  }

  // The transient: one design of some groups, 0.1 s and 1 s simulated.
  std::printf("%-60s %12s %10s\n", "", "us a design", "THD apart");
  std::printf("  %-58s %12.2f\n", "ours: rest, small signal, steady state at the target", at_target_us);
  std::printf("  %-58s %12.2f\n", "ours: and clean swing", full_us);
  std::printf("  %-58s %12.1f %8.4f points\n", "library, expert: op, ac, corrected static sweeps", expert_us,
              apart_expert);
  std::printf("    %.1f sweeps of %d instants a design\n",
              static_cast<double>(sweeps) / static_cast<double>(count) / kExpertRounds, kExpertSteps + 1);
  double last_us = 0;
  for (const double simulated_s : {0.1, 1.0}) {
    double sum_us = 0, apart = 0;
    int runs = 0;
    for (std::size_t g = 0; g < groups.size() && runs < 3; g += 2, ++runs) {
      const Clock::time_point start = Clock::now();
      const Answer a = by_transient(groups[g].designs[0], ours[g][0].input_peak_v, simulated_s);
      sum_us += microseconds_since(start);
      for (std::size_t i = 0; i < 2; ++i)
        apart = std::max(apart, std::abs(a.thd_pct[i] - ours[g][0].thd_pct[i]));
    }
    last_us = sum_us / runs;
    const std::string what = "library, plain transient at 1 kHz, " +
                             std::to_string(static_cast<int>(1000 * simulated_s)) + " ms simulated";
    std::printf("  %-58s %12.0f %8.4f points\n", what.c_str(), last_us, apart);
    std::printf("    %.0f times ours (mark: 200,000)\n", last_us / at_target_us);
  }
  std::printf("  expert's way over ours: %.0f times (mark: 300)\n", expert_us / at_target_us);
  std::printf("Newton steps to the target: mean %.2f, most %d\n", steps / static_cast<double>(count), most);
  print_paths();
  return 0;
}
