#include "stagemodels/linear/network.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <utility>

#include "stagemodels/circuits/places.h"

namespace antiphase {
namespace {

constexpr double kBoltzmann_j_per_k = 1.380649e-23, kElementary_c = 1.602176634e-19;  // exact, SI 2019
constexpr double k4kT = 4 * kBoltzmann_j_per_k * NoiseFigures::kTemperature_k;

/// Shot noise of a triode's space-charge-limited current, as the resistance at its grid that makes as much:
/// R_eq = 2.5 / gm. Source (from memory): Thompson, North & Harris, "Fluctuations in space-charge-limited
/// currents at moderately high frequencies", RCA Review 4-5 (1940-41); Langford-Smith, Radiotron Designer's
/// Handbook, 4th ed. (1953), chapter 23.
constexpr double kTriodeNoise = 2.5;
/// The same per ampere of screen current: what comes of sharing the cathode's current with a screen.
constexpr double kPartitionNoise_per_v = 20;

using Complex = std::complex<double>;

constexpr double omega_of(double frequency_hz) {
  return 2 * std::numbers::pi * frequency_hz;
}

/// Density of the plate current's noise, A^2/Hz. With a screen: W. A. Harris, RCA Review 5 (1941) 505, as in
/// Langford-Smith, Radiotron Designer's Handbook (1953), section 4.9 (from memory): in equivalent ohms at the
/// grid, (2.5 / gm + 20 Is / gm^2) Ia / (Ia + Is).
double plate_noise(const TriodeCurrents& now) {
  const double all_a = now.plate_a + now.screen_a;
  const double of_plate = now.screen_a > 0 ? now.plate_a / all_a : 1;
  return k4kT * of_plate * (kTriodeNoise * now.plate_per_grid_s + kPartitionNoise_per_v * now.screen_a);
}

/// What lies between the source and the grid that it drives.
constexpr bool ahead_of_grid(const Element& e) {
  return e.role == Role::source || e.role == Role::input_coupling;
}

/// Sets of nodes that are one, each under its first. The least key comes first: nodes that are not unknown
/// have one, so that these stay.
class Joined {
 public:
  explicit Joined(int nodes) {
    for (int n = 0; n < nodes; ++n) first_[n] = static_cast<Node>(n);
    key_.fill(kFree);
  }
  void fix(Node n, std::int8_t key) {
    std::int8_t& own = key_[first(n)];
    own = std::min(own, key);
  }
  void join(Node a, Node b) {
    Node keep = first(a), go = first(b);
    if (key_[go] < key_[keep]) std::swap(keep, go);
    first_[go] = keep;
  }
  Node first(Node n) const {
    while (first_[n] != n) n = first_[n];
    return n;
  }
  std::int8_t key(Node n) const { return key_[n]; }
  static constexpr std::int8_t kFree = 127;

 private:
  std::array<Node, Circuit::kMostNodes> first_{};
  std::array<std::int8_t, Circuit::kMostNodes> key_{};
};

}  // namespace

LinearNetwork::LinearNetwork(const Design& d, const OperatingPoint& rest, Capacitances capacitances)
    : LinearNetwork(d, rest, capacitances, nullptr, 0) {}

LinearNetwork::LinearNetwork(const Design& d, const OperatingPoint& rest, Capacitances capacitances,
                             const Element* open, double feedback_ohm)
    : circuit_(&circuit_of(d)) {
  const Circuit& circuit = *circuit_;
  const bool mid_band = capacitances == Capacitances::mid_band;
  Joined nodes(circuit.nodes);
  nodes.fix(kGround, kStill);
  if (circuit.feedback != kNoNode) nodes.fix(circuit.feedback, kFeedback);

  // What stands between two nodes and what makes them one. The feedback resistor is not the design's own:
  // that may be left to be chosen, and plays no part in figures without feedback.
  struct Branch {
    const Element* element;
    double value;
  };
  std::array<Branch, Circuit::kMostElements> branch;
  std::size_t branches = 0;
  std::uint32_t touched = 0;
  static_assert(Circuit::kMostNodes <= 32);
  for (const Element& e : circuit) {
    bool joins = false;
    double value = 0;
    switch (e.kind) {
      case ElementKind::held:
        nodes.fix(e.a, e.a == circuit.main_supply ? kMainSupply : kStill);
        continue;
      case ElementKind::driven:
        nodes.fix(e.a, kSource);
        continue;
      case ElementKind::sink:
      case ElementKind::clamp:
      case ElementKind::output_grid:
        continue;
      case ElementKind::triode:
        if (e.section == kFirstStage || (e.section == 0 && driven_grid_ == kNoNode)) driven_grid_ = e.b;
        touched |= 1u << e.c;
        if (e.screen != kNoNode) touched |= 1u << e.screen;
        break;
      case ElementKind::resistor:
      case ElementKind::capacitor:
      case ElementKind::stray:
        if (e.kind == ElementKind::stray && mid_band) continue;
        if (e.role == Role::feedback || e.role == Role::feedback_lead) {
          if (!(feedback_ohm > 0)) continue;
          value = e.role == Role::feedback ? feedback_ohm : e.value(d);
        } else if (e.there(d)) {
          value = e.value(d);
          joins = e.kind != ElementKind::stray && !(value > 0);
        } else if (e.absent == Absent::wire) {
          joins = true;
        } else {
          continue;
        }
        if (e.kind == ElementKind::resistor && e.role == Role::source) terminal_ = e.b;
        if (&e == open) {
          open_nodes_ = {e.a, e.b};
          continue;
        }
        if (e.kind != ElementKind::capacitor) break;
        joins = joins || mid_band;
        break;
    }
    touched |= 1u << e.a | 1u << e.b;
    if (joins)
      nodes.join(e.a, e.b);
    else
      branch[branches++] = {&e, value};
  }

  // From the last node to the first: lists begin at the supply, which has the most neighbours, and
  // elimination fills in least where those come last.
  int places = kUnknown;
  for (int n = circuit.nodes - 1; n >= 0; --n) {
    const Node node = static_cast<Node>(n);
    if (nodes.first(node) != node) continue;
    const std::int8_t key = nodes.key(node);
    place_[node] = key != Joined::kFree       ? key
                   : (touched >> n & 1u) != 0 ? static_cast<std::int8_t>(places++)
                                              : static_cast<std::int8_t>(kStill);
  }
  for (int n = 0; n < circuit.nodes; ++n) place_[n] = place_[nodes.first(static_cast<Node>(n))];
  y_.unknowns = places - kUnknown;

  for (std::size_t n = 0; n < branches; ++n) {
    const auto& [element, value] = branch[n];
    const Element& e = *element;
    if (e.kind == ElementKind::triode) {
      triode(e, d, rest, mid_band);
    } else if (e.kind == ElementKind::resistor) {
      connect(e.a, e.b, 1 / value, 0, !ahead_of_grid(e));
      noise(e.a, e.b, k4kT / value);
    } else {
      connect(e.a, e.b, 0, value, !ahead_of_grid(e));
    }
  }
}

/// `at_grid`: it counts in what the driven grid takes, if it hangs there.
void LinearNetwork::connect(Node a, Node b, double siemens, double farad, bool at_grid) {
  const std::size_t p = place(a), q = place(b);
  const auto add = [&](auto& rows, double value) {
    rows[p][p] += value;
    rows[q][q] += value;
    rows[p][q] -= value;
    rows[q][p] -= value;
  };
  add(y_.siemens, siemens);
  add(y_.farad, farad);
  if (!at_grid || (a != driven_grid_ && b != driven_grid_)) return;
  const std::size_t here = place(driven_grid_), other = a == driven_grid_ ? q : p;
  grid_siemens_[here] += siemens;
  grid_siemens_[other] -= siemens;
  grid_farad_[here] += farad;
  grid_farad_[other] -= farad;
}

void LinearNetwork::enlarge(const Element& capacitor, double farad) {
  connect(capacitor.a, capacitor.b, 0, farad, !ahead_of_grid(capacitor));
}

void LinearNetwork::noise(Node from, Node to, double density) {
  noise_[noise_count_++] = {from, to, density};
}

void LinearNetwork::triode(const Element& e, const Design& d, const OperatingPoint& rest, bool mid_band) {
  const int n = e.section;
  const bool of_splitter = n < kSplitterSections;
  const TriodeSection section = section_numbered(d, n);
  const TriodeCurrents now =
      section.currents_at(of_splitter ? rest.grid_to_cathode_v[n] : own_rest(rest, n).grid_to_cathode_v,
                          of_splitter ? rest.plate_to_cathode_v[n] : own_rest(rest, n).plate_to_cathode_v,
                          of_splitter ? 0 : own_rest(rest, n).screen_to_cathode_v);
  const Node plate = e.a, grid = e.b, cathode = e.c;
  const std::size_t k = place(cathode);
  // a current from one electrode to the cathode, by the voltage from another to the cathode
  const auto steers = [&](Node by, Node into, double siemens) {
    const std::size_t p = place(into), g = place(by);
    y_.siemens[p][g] += siemens;
    y_.siemens[p][k] -= siemens;
    y_.siemens[k][g] -= siemens;
    y_.siemens[k][k] += siemens;
  };
  steers(grid, plate, now.plate_per_grid_s);
  const TubeCapacitances& c = section.tube->capacitance;
  connect(plate, cathode, now.plate_per_plate_s, mid_band ? 0 : c.plate_cathode_f, true);
  connect(grid, cathode, now.grid_per_grid_s, mid_band ? 0 : c.grid_cathode_f, true);
  if (!mid_band) connect(grid, plate, 0, c.grid_plate_f, true);
  if (e.screen != kNoNode) {
    steers(e.screen, plate, now.plate_per_screen_s);
    steers(grid, e.screen, now.screen_per_grid_s);
    steers(plate, e.screen, now.screen_per_plate_s);
    connect(e.screen, cathode, now.screen_per_screen_s, 0, false);
  }
  noise(plate, cathode, plate_noise(now));
  noise(grid, cathode, 2 * kElementary_c * std::abs(now.grid_a));
}

LinearNetwork::PlaceVoltages LinearNetwork::voltages(const NodalVector& x) const {
  PlaceVoltages v{};
  for (int n = 0; n < y_.unknowns; ++n) v[kUnknown + n] = x[n];
  return v;
}

/// One volt at a driven place, all others still.
LinearNetwork::PlaceVoltages LinearNetwork::driven_at(Place driven, double frequency_hz) const {
  const double omega = omega_of(frequency_hz);
  NodalVector x;
  for (int n = 0; n < y_.unknowns; ++n) {
    const int row = kUnknown + n;
    x[n] = {-y_.siemens[row][driven], -omega * y_.farad[row][driven]};
  }
  solve(y_, omega, x);
  PlaceVoltages v = voltages(x);
  v[driven] = 1;
  return v;
}

LinearResponse LinearNetwork::outputs_of(const PlaceVoltages& v) const {
  LinearResponse out;
  for (int i = 0; i < outputs(); ++i) {
    out.output[i] = v[place(circuit_->output[i].node)];
  }
  return out;
}

LinearResponse LinearNetwork::from_input(double frequency_hz) const {
  const double omega = omega_of(frequency_hz);
  const PlaceVoltages v = driven_at(kSource, frequency_hz);
  LinearResponse out = outputs_of(v);
  Complex into_grid = 0, taken = 0;
  for (int n = 0; n < kUnknown + y_.unknowns; ++n) {
    into_grid += Complex(grid_siemens_[n], omega * grid_farad_[n]) * v[n];
    taken += Complex(y_.siemens[kSource][n], omega * y_.farad[kSource][n]) * v[n];
  }
  const Complex on_grid = v[place(driven_grid_)];
  if (std::norm(on_grid) > 0) out.grid_siemens = into_grid / on_grid;
  if (std::norm(taken) > 0) out.input_ohm = v[place(terminal_)] / taken;
  return out;
}

LinearResponse LinearNetwork::from_feedback(double frequency_hz) const {
  return outputs_of(driven_at(kFeedback, frequency_hz));
}

LinearResponse LinearNetwork::from_supply(double frequency_hz) const {
  return outputs_of(driven_at(kMainSupply, frequency_hz));
}

Transfer LinearNetwork::feedback_transfer() const {
  const auto nodes = static_cast<std::size_t>(y_.unknowns);
  bool lead = false;  // a capacitor brings in the far end's voltage, too
  for (std::size_t r = 0; r < nodes; ++r) lead = lead || y_.farad[kUnknown + r][kFeedback] != 0;
  // Then that voltage joins the unknowns, with the equation that it is 1: its column may have capacitances.
  const std::size_t n = nodes + (lead ? 1 : 0);
  std::array<double, Transfer::kMost * Transfer::kMost> g{}, c{};
  std::array<double, Transfer::kMost> right{}, left{};
  for (std::size_t r = 0; r < nodes; ++r) {
    for (std::size_t k = 0; k < nodes; ++k) {
      g[k * n + r] = y_.siemens[kUnknown + r][kUnknown + k];
      c[k * n + r] = y_.farad[kUnknown + r][kUnknown + k];
    }
    if (lead) {
      g[nodes * n + r] = y_.siemens[kUnknown + r][kFeedback];
      c[nodes * n + r] = y_.farad[kUnknown + r][kFeedback];
    } else {
      right[r] = -y_.siemens[kUnknown + r][kFeedback];
    }
  }
  if (lead) g[nodes * n + nodes] = right[nodes] = 1;
  for (std::size_t i = 0; i < 2; ++i)
    if (const std::size_t p = place(circuit_->output[i].node); p >= kUnknown)
      left[p - kUnknown] += (i == 0 ? 0.5 : -0.5) * circuit_->output[0].sign;
  return {{g.data(), n * n}, {c.data(), n * n}, {right.data(), n}, {left.data(), n}};
}

std::array<NodeVoltages, 2> LinearNetwork::to_outputs(double frequency_hz) const {
  std::array<NodalVector, 2> x{};
  for (int i = 0; i < outputs(); ++i) {
    if (const std::size_t p = place(circuit_->output[i].node); p >= kUnknown) x[i][p - kUnknown] = 1;
  }
  solve_transposed(y_, omega_of(frequency_hz), x);
  std::array<NodeVoltages, 2> out{};
  for (std::size_t i = 0; i < 2; ++i) {
    const PlaceVoltages v = voltages(x[i]);
    for (int n = 0; n < circuit_->nodes; ++n) out[i][n] = v[place(static_cast<Node>(n))];
  }
  return out;
}

double LinearNetwork::resistance_seen(const Design& design, const OperatingPoint& rest,
                                      const Element& capacitor) {
  const LinearNetwork network(design, rest, Capacitances::mid_band, &capacitor, 0);
  const auto [a, b] = network.open_nodes_;
  const std::size_t p = network.place(a), q = network.place(b);
  if (a == b || p == q) return 0;
  NodalVector x{};
  if (p >= kUnknown) x[p - kUnknown] = 1;
  if (q >= kUnknown) x[q - kUnknown] -= 1;
  solve(network.y_, 0, x);
  const PlaceVoltages v = network.voltages(x);
  return (v[p] - v[q]).real();
}

}  // namespace antiphase
