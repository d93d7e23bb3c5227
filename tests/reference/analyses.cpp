#include "tests/reference/analyses.h"

#include <cmath>

#include "tests/reference/readings.h"

namespace antiphase::reference {
namespace {

std::complex<double> ac(const std::string& name) {
  return CircuitLibrary::instance().complex(name).front();
}

}  // namespace

Draw drawing_of(const Design& design, bool output_grids) {
  return [&design, output_grids](Coupling coupling) {
    return stage_netlist(design, coupling, DrawingExtras{.output_grids = output_grids});
  };
}

Rest rest_point(const Design& design, const Draw& draw) {
  CircuitLibrary& library = CircuitLibrary::instance();
  const StageNetlist netlist = draw(Coupling::capacitors);
  library.load(netlist.lines);
  library.analyse("op");
  const Readings readings(design);
  Rest rest{.point = operating_point(design, readings),
            .capacitor_v = {},
            .kirchhoff_a = kirchhoff(design, readings)};
  const auto volt = [&](const std::string& node) { return node == "0" ? 0.0 : library.real(node)[0]; };
  for (const Capacitor& c : netlist.capacitors) rest.capacitor_v.push_back(volt(c.from) - volt(c.to));
  return rest;
}

SmallSignal small_signal(const Design& design, const Draw& draw) {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.load(draw(Coupling::capacitors).lines);
  const std::string sweep = "ac lin 1 " + exact(kShortedAtHz) + " " + exact(kShortedAtHz);
  const bool pair = design.circuit != CircuitKind::common_cathode;
  const std::string grid = driven_grid(design), cathode = has_first_stage(design) ? "cf" : "c";
  struct Seen {
    double grid_1, cathode;
    Pair output;
  };
  const auto look = [&] {
    library.analyse(sweep);
    return Seen{ac(grid).real(), ac(cathode).real(), {ac("o1").real(), pair ? ac("o2").real() : 0.0}};
  };
  SmallSignal out;
  const Seen driven = look();
  out.gain = {driven.output[0] / driven.grid_1, driven.output[1] / driven.grid_1};
  out.cathode_gain = driven.cathode / driven.grid_1;
  if (has_first_stage(design)) out.first_stage_gain = ac("pf").real() / driven.grid_1;
  out.input_ohm = driven.grid_1 / -ac("vin#branch").real();
  if (pair) {
    const Pair size{std::abs(out.gain[0]), std::abs(out.gain[1])};
    out.balance_pct = 200 * (size[0] - size[1]) / (size[0] + size[1]);
  }

  // Load away for the signal (1e15 ohm keeps the node tied) and not at rest, where what a paraphase's grid 2
  // draws comes through it; test currents of 1 A in the linearised circuit; grid 1 stands still (source a
  // short) once as much drive is added as cancels what the test current does there.
  library.alter("rl1[ac]", 1e15);
  if (pair) library.alter("rl2[ac]", 1e15);
  const Seen unloaded = look();
  library.alter("vin[acmag]", 0);
  const auto inject = [&](double first, double second) {
    library.alter("itest1[acmag]", first);
    if (pair) library.alter("itest2[acmag]", second);
    const Seen seen = look();
    const double cancel = seen.grid_1 / unloaded.grid_1;
    return Pair{seen.output[0] - cancel * unloaded.output[0], seen.output[1] - cancel * unloaded.output[1]};
  };
  out.output_impedance_alone_ohm[0] = inject(1, 0)[0];
  if (!pair) {
    out.output_impedance_differential_ohm[0] = out.output_impedance_alone_ohm[0];
    return out;
  }
  out.output_impedance_alone_ohm[1] = inject(0, 1)[1];
  const Pair opposite = inject(1, -1);
  out.output_impedance_differential_ohm = {opposite[0], -opposite[1]};
  return out;
}

Cycle steady_state(const Design& design, const Draw& draw, const std::vector<double>& capacitor_v,
                   double input_peak_v, int steps) {
  HeldStage stage(draw(Coupling::held), capacitor_v);
  return steady_state(design, stage, input_peak_v, steps, false);
}

Cycle steady_state(const Design& design, HeldStage& stage, double input_peak_v, int steps,
                   bool output_grids) {
  const int before = stage.sweeps();
  stage.settle(input_peak_v, steps);
  Cycle cycle;
  const Readings readings(design, output_grids);
  cycle.state = cycle_figures(design, readings, input_peak_v);
  cycle.kirchhoff_a = kirchhoff(design, readings);
  cycle.capacitor_v = stage.capacitor_v();
  cycle.mean_left_a = stage.mean_left_a();
  cycle.sweeps = stage.sweeps() - before;
  return cycle;
}

}  // namespace antiphase::reference
