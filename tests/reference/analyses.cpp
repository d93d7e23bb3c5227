#include "tests/reference/analyses.h"

#include <Eigen/Dense>
#include <cmath>
#include <numbers>

#include "tests/reference/readings.h"

namespace antiphase::reference {
namespace {

std::complex<double> ac(const std::string& name) {
  return CircuitLibrary::instance().complex(name).front();
}

}  // namespace

Draw drawing_of(const Design& design) {
  return [&design](Coupling coupling) { return stage_netlist(design, coupling); };
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
  const bool pair = design.circuit == CircuitKind::long_tailed_pair;
  SmallSignal out;
  library.analyse(sweep);
  out.gain = {ac("o1").real(), pair ? ac("o2").real() : 0.0};
  out.cathode_gain = ac("c").real();
  out.input_ohm = -1 / ac("vin#branch").real();
  if (pair) {
    const Pair size{std::abs(out.gain[0]), std::abs(out.gain[1])};
    out.balance_pct = 200 * (size[0] - size[1]) / (size[0] + size[1]);
  }

  // Load away (1e15 ohm keeps the node tied), drive short, test currents of 1 A in the linearised circuit.
  library.alter("vin[acmag]", 0);
  const auto inject = [&](double first, double second) {
    library.alter("itest1[acmag]", first);
    if (pair) library.alter("itest2[acmag]", second);
    library.analyse(sweep);
    return Pair{ac("o1").real(), pair ? ac("o2").real() : 0.0};
  };
  library.alter("rl1[resistance]", 1e15);
  if (pair) library.alter("rl2[resistance]", 1e15);
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
  CircuitLibrary& library = CircuitLibrary::instance();
  const StageNetlist netlist = draw(Coupling::held);
  library.load(netlist.lines);
  library.alter("vamp[dc]", input_peak_v);
  library.alter("vstep[dc]", std::numbers::pi / steps);
  const auto count = static_cast<Eigen::Index>(netlist.capacitors.size());
  Eigen::VectorXd held = Eigen::VectorXd::Map(capacitor_v.data(), count);
  Cycle cycle;

  const auto mean_currents = [&](const Eigen::VectorXd& volts) {
    for (Eigen::Index c = 0; c < count; ++c) {
      library.alter(netlist.capacitors[static_cast<std::size_t>(c)].source + "[dc]", volts[c]);
    }
    library.analyse("dc vphase 0 " + std::to_string(steps) + " 1");
    ++cycle.sweeps;
    Eigen::VectorXd means(count);
    for (Eigen::Index c = 0; c < count; ++c) {
      const Curve a = library.real(netlist.capacitors[static_cast<std::size_t>(c)].source + "#branch");
      if (a.size() != static_cast<std::size_t>(steps) + 1) throw CircuitError("the sweep broke off");
      means[c] = mean(a);
    }
    return means;
  };

  // Newton's method on the held voltages. Broyden's update keeps the slopes; where it does not
  // help enough (a grid begins to conduct) they are probed anew.
  constexpr double kProbeV = 0.01;    // small against the swings, large against solver noise
  constexpr double kSettledV = 1e-7;  // far below every tolerance of the comparisons
  constexpr double kGoodFall = 0.1;
  constexpr int kMostSteps = 60;
  Eigen::VectorXd means = mean_currents(held);
  const auto probe_slopes = [&] {
    Eigen::MatrixXd slopes(count, count);
    for (Eigen::Index c = 0; c < count; ++c) {
      Eigen::VectorXd probe = held;
      probe[c] += kProbeV;
      slopes.col(c) = (mean_currents(probe) - means) / kProbeV;
    }
    return slopes;
  };
  Eigen::MatrixXd slopes = probe_slopes();
  for (int step = 0;; ++step) {
    const Eigen::VectorXd change = -slopes.partialPivLu().solve(means);
    held += change;
    const Eigen::VectorXd after = mean_currents(held);
    const bool settled = change.lpNorm<Eigen::Infinity>() < kSettledV;
    const bool fell = after.norm() < kGoodFall * means.norm();
    if (!settled && fell)
      slopes += (after - means - slopes * change) * change.transpose() / change.squaredNorm();
    means = after;
    if (settled) break;
    if (step == kMostSteps) throw CircuitError("the capacitor voltages did not settle");
    if (!fell) slopes = probe_slopes();
  }

  const Readings readings(design);
  cycle.state = cycle_figures(design, readings, input_peak_v);
  cycle.kirchhoff_a = kirchhoff(design, readings);
  cycle.capacitor_v.assign(held.begin(), held.end());
  cycle.mean_left_a = means.lpNorm<Eigen::Infinity>();
  return cycle;
}

}  // namespace antiphase::reference
