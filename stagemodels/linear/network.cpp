#include "stagemodels/linear/network.h"

#include <Eigen/LU>
#include <cmath>
#include <numbers>
#include <utility>

namespace antiphase {
namespace {

constexpr int at(Node n) {
  return static_cast<int>(n);
}
constexpr int kDriven = at(Node::feedback);  // nodes up to here are not unknown
constexpr Node kGrid[] = {Node::grid_1, Node::grid_2};
constexpr Node kPlate[] = {Node::plate_1, Node::plate_2};
constexpr Node kOut[] = {Node::out_1, Node::out_2};
constexpr Capacitor kCoupling[] = {Capacitor::coupling_1, Capacitor::coupling_2};

constexpr double kBoltzmann_j_per_k = 1.380649e-23, kElementary_c = 1.602176634e-19;  // exact, SI 2019
constexpr double k4kT = 4 * kBoltzmann_j_per_k * NoiseFigures::kTemperature_k;

/// Shot noise of a triode's space-charge-limited current, as the resistance at its grid that makes as much:
/// R_eq = 2.5 / gm. Source (from memory): Thompson, North & Harris, "Fluctuations in space-charge-limited
/// currents at moderately high frequencies", RCA Review 4-5 (1940-41); Langford-Smith, Radiotron Designer's
/// Handbook, 4th ed. (1953), chapter 23.
constexpr double kTriodeNoise = 2.5;

using Complex = std::complex<double>;
using Right = std::array<Complex, 14>;  // kMostUnknowns

constexpr int kMost = static_cast<int>(std::tuple_size_v<Right>);

/// Fixed sizes, so that nothing is allocated and loops unroll; Eigen::Dynamic stands for all of them in one
/// and allocates nothing either.
template <int N>
struct Sized {
  static constexpr int kRoom = N == Eigen::Dynamic ? kMost : N;
  using Matrix = Eigen::Matrix<Complex, N, N, Eigen::ColMajor, kRoom, kRoom>;
  using Vector = Eigen::Matrix<Complex, N, 1, Eigen::ColMajor, kRoom, 1>;

  static Matrix matrix(int n, const double* g, const double* c, double omega) {
    Matrix y;
    y.resize(n, n);
    for (int i = 0; i < n * n; ++i) y.data()[i] = {g[i], omega * c[i]};
    return y;
  }
  static void solve(int n, const double* g, const double* c, double omega, Right& x) {
    const Vector b = Eigen::Map<const Vector>(x.data(), n);
    Eigen::Map<Vector>(x.data(), n) = matrix(n, g, c, omega).partialPivLu().solve(b);
  }
  static void solve_transposed(int n, const double* g, const double* c, double omega, Right& first,
                               Right& second) {
    const Eigen::PartialPivLU<Matrix> lu(matrix(n, g, c, omega));
    for (Right* x : {&first, &second}) {
      const Vector b = Eigen::Map<const Vector>(x->data(), n);
      Eigen::Map<Vector>(x->data(), n) = lu.transpose().solve(b);
    }
  }
};

}  // namespace

/// One line for each number of unknowns; with ANTIPHASE_COMPACT one for all, a fortieth of the code.
struct LinearNetwork::Solver {
  void (*solve)(int n, const double* g, const double* c, double omega, Right& x);
  void (*solve_transposed)(int n, const double* g, const double* c, double omega, Right& first,
                           Right& second);

#ifdef ANTIPHASE_COMPACT
  static const Solver& of(int) {
    static constexpr Solver kAny{&Sized<Eigen::Dynamic>::solve, &Sized<Eigen::Dynamic>::solve_transposed};
    return kAny;
  }
#else
  template <int... N>
  static constexpr std::array<Solver, sizeof...(N)> table(std::integer_sequence<int, N...>) {
    return {Solver{&Sized<N + 1>::solve, &Sized<N + 1>::solve_transposed}...};
  }
  static const Solver& of(int unknowns) {
    static constexpr auto kTable = table(std::make_integer_sequence<int, kMostUnknowns>());
    return kTable[static_cast<std::size_t>(unknowns - 1)];
  }
#endif
};

void LinearNetwork::connect(Node a, Node b, double siemens, double farad) {
  const auto add = [&](Node r, Node c, double sign) {
    y_[at(r)][at(c)].siemens += sign * siemens;
    y_[at(r)][at(c)].farad += sign * farad;
  };
  used_[at(a)] = used_[at(b)] = true;
  add(a, a, 1);
  add(b, b, 1);
  add(a, b, -1);
  add(b, a, -1);
}

void LinearNetwork::resistor(Node a, Node b, double ohm) {
  connect(a, b, 1 / ohm);
  noise(a, b, k4kT / ohm);
}

void LinearNetwork::stray(Node a, Node b, double farad) {
  if (!mid_band_) connect(a, b, 0, farad);
}

/// Makes one of two nodes; the driven ones come first and stay.
void LinearNetwork::join(Node a, Node b) {
  used_[at(a)] = used_[at(b)] = true;
  const int keep = std::min(joined_[at(a)], joined_[at(b)]), go = std::max(joined_[at(a)], joined_[at(b)]);
  for (int& j : joined_)
    if (j == go) j = keep;
}

void LinearNetwork::capacitor(Capacitor which, Node a, Node b, double farad) {
  if (open_ && *open_ == which)
    open_nodes_ = {a, b};
  else if (mid_band_ || !(farad > 0))
    join(a, b);
  else
    connect(a, b, 0, farad);
}

/// A current from `from` to `to` of `siemens` per volt of plus against minus.
void LinearNetwork::transconductance(Node from, Node to, Node plus, Node minus, double siemens) {
  y_[at(from)][at(plus)].siemens += siemens;
  y_[at(from)][at(minus)].siemens -= siemens;
  y_[at(to)][at(plus)].siemens -= siemens;
  y_[at(to)][at(minus)].siemens += siemens;
}

void LinearNetwork::noise(Node from, Node to, double density) {
  noise_[noise_count_++] = {from, to, density};
}

void LinearNetwork::triode(const TriodeSection& section, double grid_to_cathode_v, double plate_to_cathode_v,
                           Node grid, Node plate, Node cathode) {
  const TubeCapacitances& c = section.tube->capacitance;
  const TriodeCurrents now = section.currents_at(grid_to_cathode_v, plate_to_cathode_v);
  transconductance(plate, cathode, grid, cathode, now.plate_per_grid_s);
  connect(plate, cathode, now.plate_per_plate_s);
  noise(plate, cathode, k4kT * kTriodeNoise * now.plate_per_grid_s);
  connect(grid, cathode, now.grid_per_grid_s);
  noise(grid, cathode, 2 * kElementary_c * std::abs(now.grid_a));
  stray(plate, cathode, c.plate_cathode_f);
  stray(grid, cathode, c.grid_cathode_f);
  stray(grid, plate, c.grid_plate_f);
}

/// One triode section of the output stage with its plate resistor and its output.
void LinearNetwork::section(const Design& d, const OperatingPoint& rest, int i) {
  const Node grid = kGrid[i], plate = kPlate[i], out = kOut[i];
  triode(d.section(i), rest.grid_to_cathode_v[i], rest.plate_to_cathode_v[i], grid, plate, Node::cathode);
  resistor(Node::supply, plate, d.plate_ohm[i]);
  capacitor(kCoupling[i], plate, out, d.coupling_f);
  resistor(out, Node::ground, d.load_ohm);
  stray(out, Node::ground, d.load_f);
}

/// The cathode resistor of a gain stage and the capacitor across a part of it.
void LinearNetwork::gain_stage_cathode(Node cathode, Node foot, double ohm, double unbypassed_ohm,
                                       Capacitor which, double bypass_f) {
  if (unbypassed_ohm > 0)
    resistor(cathode, foot, unbypassed_ohm);
  else
    join(cathode, foot);
  if (ohm - unbypassed_ohm > 0) {
    resistor(foot, Node::ground, ohm - unbypassed_ohm);
    capacitor(which, foot, Node::ground, bypass_f);
  } else {
    join(foot, Node::ground);
  }
}

/// The gain stage ahead of a pair, up to grid 1 of that.
void LinearNetwork::first_stage(const Design& d, const OperatingPoint& rest, double feedback_ohm) {
  const FirstStage& f = d.first_stage;
  triode(d.first_section(), rest.first.grid_to_cathode_v, rest.first.plate_to_cathode_v, Node::first_grid,
         Node::first_plate, Node::first_cathode);
  resistor(Node::supply, Node::first_plate, f.plate_ohm);
  resistor(Node::first_grid, Node::ground, f.grid_leak_ohm);
  const Capacitor bypass = Capacitor::first_cathode_bypass;
  if (feedback_ohm > 0) {
    // Two parts in series may change places, and the one that is brought the feedback stands at ground.
    const double bypassed_ohm = f.cathode_ohm - f.cathode_unbypassed_ohm;
    if (bypassed_ohm > 0) {
      resistor(Node::first_cathode, Node::first_foot, bypassed_ohm);
      capacitor(bypass, Node::first_cathode, Node::first_foot, f.cathode_bypass_f);
    } else {
      join(Node::first_cathode, Node::first_foot);
    }
    resistor(Node::first_foot, Node::ground, f.cathode_unbypassed_ohm);
    resistor(Node::first_foot, Node::feedback, feedback_ohm);
  } else {
    gain_stage_cathode(Node::first_cathode, Node::first_foot, f.cathode_ohm, f.cathode_unbypassed_ohm, bypass,
                       f.cathode_bypass_f);
  }
  if (direct_first_stage(d))
    join(Node::first_plate, Node::grid_1);
  else
    capacitor(Capacitor::between_stages, Node::first_plate, Node::grid_1, f.coupling_f);
}

LinearNetwork::LinearNetwork(const Design& d, const OperatingPoint& rest, Capacitances capacitances)
    : LinearNetwork(d, rest, capacitances, nullptr, 0) {}

LinearNetwork::LinearNetwork(const Design& d, const OperatingPoint& rest, Capacitances capacitances,
                             const Capacitor* open, double feedback_ohm)
    : outputs_(sections(d.circuit)),
      source_ohm_(d.source_ohm),
      mid_band_(capacitances == Capacitances::mid_band),
      open_(open) {
  for (int n = 0; n < kNodes; ++n) joined_[n] = n;
  for (int i = 0; i < outputs_; ++i) section(d, rest, i);
  if (d.main_supply_v > 0) {
    resistor(Node::main_supply, Node::supply, d.dropping_ohm);
    capacitor(Capacitor::reservoir, Node::supply, Node::ground, d.reservoir_f);
  } else {
    join(Node::main_supply, Node::supply);
  }

  const double leak_ohm = d.grid_leak_ohm;
  if (d.circuit == CircuitKind::common_cathode) {
    resistor(Node::grid_1, Node::ground, leak_ohm);
    gain_stage_cathode(Node::cathode, Node::foot, d.cathode_ohm, d.cathode_unbypassed_ohm,
                       Capacitor::cathode_bypass, d.cathode_bypass_f);
  } else {
    capacitor(Capacitor::grid_bypass, Node::grid_2, Node::ground, d.grid_bypass_f);
    const double tail_ohm = d.tail.form == TailForm::resistor ? d.tail.ohm : d.tail.output_ohm;
    switch (d.bias.form) {
      case BiasForm::self_biased:
        resistor(Node::cathode, Node::foot, d.bias.ohm);
        resistor(Node::foot, Node::ground, tail_ohm);
        resistor(Node::grid_1, Node::foot, leak_ohm);
        resistor(Node::grid_2, Node::foot, leak_ohm);
        break;
      case BiasForm::direct_coupled:
        resistor(Node::cathode, Node::ground, tail_ohm);
        resistor(Node::grid_2, Node::grid_1, leak_ohm);
        break;
      case BiasForm::negative_rail:
        resistor(Node::cathode, Node::ground, tail_ohm);
        resistor(Node::grid_1, Node::ground, leak_ohm);
        resistor(Node::grid_2, Node::ground, leak_ohm);
        break;
    }
  }

  if (has_first_stage(d)) {
    first_stage(d, rest, feedback_ohm);
    driven_grid_ = Node::first_grid;
  }
  grid_row_ = y_[at(driven_grid_)];  // what follows lies towards the source
  capacitor(Capacitor::input_coupling, Node::terminal, driven_grid_,
            grids_given(d) ? 0.0 : d.input_coupling_f);
  if (d.source_ohm > 0)
    resistor(Node::source, Node::terminal, d.source_ohm);
  else
    join(Node::source, Node::terminal);
  stray(Node::terminal, Node::ground, d.source_f);
  reduce();
}

/// Numbers the unknowns and adds up what stands at nodes that are one.
void LinearNetwork::reduce() {
  unknown_.fill(-1);
  for (int n = kDriven + 1; n < kNodes; ++n)
    if (joined_[n] == n && used_[n]) unknown_[n] = unknowns_++;
  for (int n = 0; n < kNodes; ++n)
    if (joined_[n] != n) unknown_[n] = unknown_[joined_[n]];
  for (int r = 0; r < kNodes; ++r) {
    if (unknown_[r] < 0) continue;
    for (int c = 0; c < kNodes; ++c) {
      const Element& e = y_[r][c];
      if (unknown_[c] >= 0) {
        g_[unknown_[c] * unknowns_ + unknown_[r]] += e.siemens;
        c_[unknown_[c] * unknowns_ + unknown_[r]] += e.farad;
      } else if (joined_[c] != at(Node::ground) && joined_[c] <= kDriven) {
        Element& column = (joined_[c] == at(Node::source)        ? by_source_
                           : joined_[c] == at(Node::main_supply) ? by_main_
                                                                 : by_feedback_)[unknown_[r]];
        column.siemens += e.siemens;
        column.farad += e.farad;
      }
    }
  }
}

NodeVoltages LinearNetwork::solve(double frequency_hz, const Excitation& by) const {
  const double omega = 2 * std::numbers::pi * frequency_hz;
  Right x{};
  for (int n = 0; n < unknowns_; ++n)
    x[n] = -by.source_v * Complex(by_source_[n].siemens, omega * by_source_[n].farad) -
           by.main_supply_v * Complex(by_main_[n].siemens, omega * by_main_[n].farad) -
           by.feedback_v * by_feedback_[n].siemens;
  if (by.ampere)
    for (int end = 0; end < 2; ++end)
      if (const int n = unknown_[at((*by.ampere)[end])]; n >= 0) x[n] += end == 0 ? 1.0 : -1.0;
  Solver::of(unknowns_).solve(unknowns_, g_.data(), c_.data(), omega, x);
  NodeVoltages v{};
  for (int n = 0; n < kNodes; ++n) {
    if (unknown_[n] >= 0)
      v[n] = x[unknown_[n]];
    else if (joined_[n] == at(Node::source))
      v[n] = by.source_v;
    else if (joined_[n] == at(Node::main_supply))
      v[n] = by.main_supply_v;
    else if (joined_[n] == at(Node::feedback))
      v[n] = by.feedback_v;
  }
  return v;
}

/// From a node, and all that are one with it, into the branches.
Complex LinearNetwork::current_out_of(Node node, const NodeVoltages& v, double omega) const {
  Complex sum = 0;
  for (int r = 0; r < kNodes; ++r) {
    if (joined_[r] != joined_[at(node)]) continue;
    for (int c = 0; c < kNodes; ++c) sum += Complex(y_[r][c].siemens, omega * y_[r][c].farad) * v[c];
  }
  return sum;
}

LinearResponse LinearNetwork::from_input(double frequency_hz) const {
  const double omega = 2 * std::numbers::pi * frequency_hz;
  const NodeVoltages v = solve(frequency_hz, {.source_v = 1});
  LinearResponse out;
  for (int i = 0; i < outputs_; ++i) out.output[i] = v[at(kOut[i])];
  Complex into_grid = 0;
  for (int n = 0; n < kNodes; ++n)
    into_grid += Complex(grid_row_[n].siemens, omega * grid_row_[n].farad) * v[n];
  const Complex on_grid = v[at(driven_grid_)];
  if (std::norm(on_grid) > 0) out.grid_siemens = into_grid / on_grid;
  const Complex taken = current_out_of(Node::source, v, omega);
  if (std::norm(taken) > 0) out.input_ohm = v[at(Node::terminal)] / taken;
  return out;
}

LinearResponse LinearNetwork::from_feedback(double frequency_hz) const {
  const NodeVoltages v = solve(frequency_hz, {.feedback_v = 1});
  LinearResponse out;
  for (int i = 0; i < outputs_; ++i) out.output[i] = v[at(kOut[i])];
  return out;
}

Transfer LinearNetwork::feedback_transfer() const {
  std::array<double, kMostUnknowns> right{}, left{};
  for (int n = 0; n < unknowns_; ++n) right[n] = -by_feedback_[n].siemens;
  for (int i = 0; i < 2; ++i)
    if (const int n = unknown_[at(kOut[i])]; n >= 0) left[n] += i == 0 ? 0.5 : -0.5;
  const auto n = static_cast<std::size_t>(unknowns_);
  return {{g_.data(), n * n}, {c_.data(), n * n}, {right.data(), n}, {left.data(), n}};
}

LinearResponse LinearNetwork::from_supply(double frequency_hz) const {
  const NodeVoltages v = solve(frequency_hz, {.main_supply_v = 1});
  LinearResponse out;
  for (int i = 0; i < outputs_; ++i) out.output[i] = v[at(kOut[i])];
  return out;
}

std::array<NodeVoltages, 2> LinearNetwork::to_outputs(double frequency_hz) const {
  std::array<Right, 2> x{};
  for (int i = 0; i < outputs_; ++i)
    if (const int n = unknown_[at(kOut[i])]; n >= 0) x[i][n] = 1;
  Solver::of(unknowns_).solve_transposed(unknowns_, g_.data(), c_.data(), 2 * std::numbers::pi * frequency_hz,
                                         x[0], x[1]);
  std::array<NodeVoltages, 2> out{};
  for (int i = 0; i < outputs_; ++i)
    for (int n = 0; n < kNodes; ++n)
      if (unknown_[n] >= 0) out[i][n] = x[i][unknown_[n]];
  return out;
}

double LinearNetwork::resistance_seen(const Design& design, const OperatingPoint& rest, Capacitor capacitor) {
  const LinearNetwork network(design, rest, Capacitances::mid_band, &capacitor, 0);
  const auto [a, b] = network.open_nodes_;
  if (a == b) return 0;
  const NodeVoltages v = network.solve(0, {.ampere = &network.open_nodes_});
  return (v[at(a)] - v[at(b)]).real();
}

}  // namespace antiphase
