#include "results/describe/node_voltages.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "stagemodels/circuits/places.h"
#include "stagemodels/solve/instants.h"

namespace antiphase {
namespace {

constexpr std::size_t kNodes = Circuit::kMostNodes;
using OfNodes = NodeVoltages::OfNodes;
using Known = std::array<std::optional<double>, kNodes>;

std::size_t at(Node n) {
  return static_cast<std::size_t>(n);
}

bool carries_dc(const Element& e, const Design& d) {
  return e.kind == ElementKind::resistor && e.role != Role::feedback && e.stands(d);
}

using Matrix = std::array<std::array<double, kNodes + 1>, kNodes>;  ///< the last column is the right side

/// Leaves the diagonal and the right side. Each diagonal outweighs its row, so that no exchange of rows is
/// needed. Where nothing of it is left, no resistor leads to a held node: such nodes stay where they are.
void eliminate(Matrix& row) {
  constexpr double kNothingLeft = 1e-12;
  std::array<double, kNodes> diagonal{};
  for (std::size_t n = 0; n < kNodes; ++n) diagonal[n] = row[n][n];
  for (std::size_t k = 0; k < kNodes; ++k) {
    if (!(row[k][k] > kNothingLeft * diagonal[k])) {
      row[k] = {};
      row[k][k] = 1;
    }
    for (std::size_t i = 0; i < kNodes; ++i) {
      const double factor = row[i][k] / row[k][k];
      if (i == k || factor == 0) continue;
      for (std::size_t j = k; j <= kNodes; ++j) row[i][j] -= factor * row[k][j];
    }
  }
}

/// Which capacitors are as good as wires.
enum class Shorted { none, output_couplings, all };

bool shorts(const Element& e, const Design& d, Shorted shorted) {
  if (e.kind != ElementKind::capacitor || !e.stands(d) || shorted == Shorted::none) return false;
  return shorted == Shorted::all || e.role == Role::output_coupling;
}

/// Whether constant currents flow: in signals they have no part, and cold tubes let none through.
enum class Sinks { none, flow };

/// Voltages of a network of resistors with some nodes held. Wires join nodes, and capacitors too that are
/// `shorted`; of a joined node that is held, the voltage stays its own.
OfNodes spread(const Circuit& c, const Design& d, const Known& known, Shorted shorted, Sinks sinks) {
  std::array<std::size_t, kNodes> join{};
  for (std::size_t n = 0; n < kNodes; ++n) join[n] = n;
  const auto top = [&](Node n) {
    std::size_t r = at(n);
    while (join[r] != r) r = join[r];
    return r;
  };
  for (const Element& e : c) {
    const bool one = e.role != Role::feedback && (e.joins(d) || shorts(e, d, shorted));
    if (one) join[top(e.b)] = top(e.a);
  }
  Known held{};
  for (Node n = 0; n < c.nodes; ++n)
    if (known[at(n)] && !held[top(n)]) held[top(n)] = known[at(n)];

  // Kirchhoff's sum at each node that is not held. Solved twice: the second time takes away what rounding
  // left, so that nodes between which no current flows are equal.
  OfNodes joined{};
  for (std::size_t n = 0; n < kNodes; ++n) joined[n] = held[n].value_or(0);
  for (int pass = 0; pass < 2; ++pass) {
    Matrix row{};
    for (std::size_t n = 0; n < kNodes; ++n) row[n][n] = held[n] ? 1 : 0;
    for (const Element& e : c) {
      if (!carries_dc(e, d)) continue;
      const double g = 1 / e.value(d);
      const std::size_t a = top(e.a), b = top(e.b);
      if (a == b) continue;
      for (const auto& [one, other] : {std::pair{a, b}, std::pair{b, a}}) {
        if (held[one]) continue;
        row[one][one] += g;
        row[one][other] -= g;
        row[one][kNodes] += g * (joined[other] - joined[one]);
      }
    }
    for (const Element& e : c) {
      if (sinks == Sinks::none || e.kind != ElementKind::sink || !e.stands(d)) continue;
      const std::size_t a = top(e.a), b = top(e.b);
      if (!held[a]) row[a][kNodes] -= e.value(d);
      if (!held[b]) row[b][kNodes] += e.value(d);
    }
    eliminate(row);
    for (std::size_t n = 0; n < kNodes; ++n) joined[n] += row[n][kNodes] / row[n][n];
  }
  OfNodes v{};
  for (Node n = 0; n < c.nodes; ++n) v[at(n)] = known[at(n)] ? *known[at(n)] : joined[top(n)];
  return v;
}

/// Ground, supplies and rails.
Known held_nodes(const Circuit& c, const Design& d) {
  Known v{};
  v[at(kGround)] = 0;
  for (const Element& e : c)
    if (e.kind == ElementKind::held && e.there(d)) v[at(e.a)] = e.value(d);
  if (c.feedback != kNoNode) v[at(c.feedback)] = 0;
  return v;
}

/// One state of the circuit as records have it: of rest, or of an instant.
struct Recorded {
  double supply_v, tail_v, source_v, load_v;
  struct Electrodes {
    double plate_v, grid_v, cathode_v, screen_v = 0;
  };
  std::array<Electrodes, Circuit::kMostSections> section;
  std::array<std::optional<double>, 2> output_v;
};

Known recorded_nodes(const Circuit& c, const Design& d, const Recorded& r) {
  Known v = held_nodes(c, d);
  v[at(c.supply)] = r.supply_v;
  if (c.input != kNoNode) v[at(c.input)] = r.source_v;
  if (c.feedback != kNoNode) v[at(c.feedback)] = r.load_v;
  for (int i = 0; i < c.outputs; ++i)
    if (const auto k = static_cast<std::size_t>(i); r.output_v[k])
      v[at(c.output[k].node)] = *r.output_v[k] + d.output_valve_bias_v;
  if (c.tail_top != kGround) v[at(c.tail_top)] = v[at(c.tail_foot)].value_or(0) + r.tail_v;
  for (const Element& e : c) {
    if (e.kind != ElementKind::triode) continue;
    const Recorded::Electrodes& s = r.section[static_cast<std::size_t>(e.section)];
    v[at(e.a)] = s.plate_v;
    v[at(e.b)] = s.grid_v;
    v[at(e.c)] = s.cathode_v;
    if (e.screen != kNoNode) v[at(e.screen)] = s.screen_v;
  }
  return v;
}

double source_rest_v(const Circuit& c, const Design& d) {
  for (const Element& e : c)
    if (e.kind == ElementKind::driven) return e.value(d);
  return 0;
}

Known at_rest(const Circuit& c, const Design& d, const OperatingPoint& o) {
  Recorded r{o.supply_v, o.tail_v, source_rest_v(c, d), 0, {}, {0.0, 0.0}};
  for (std::size_t i = 0; i < 2; ++i) r.section[i] = {o.plate_v[i], o.grid_v[i], o.cathode_v};
  for (const int number : kOtherSections) {
    const SectionRest& own = own_rest(o, number);
    r.section[static_cast<std::size_t>(number)] = {own.plate_v, own.grid_v, own.cathode_v, own.screen_v};
  }
  if (d.driver.form == DriverForm::cathode_followers)
    r.output_v = {};  // their cathodes, which are there already
  return recorded_nodes(c, d, r);
}

Known at_instant(const Circuit& c, const Design& d, const Evaluation& e, std::size_t k) {
  const Waveforms& w = e.waveforms;
  Recorded r{w.supply_v, w.tail_v[k], source_rest_v(c, d) + e.at_target.input_peak_v * w.drive[k], 0, {}, {}};
  for (std::size_t i = 0; i < 2; ++i) {
    r.section[i] = {w.plate_v[i][k], w.cathode_v[k] + w.grid_to_cathode_v[i][k], w.cathode_v[k]};
    r.output_v[i] = w.output_v[i][k];
  }
  const auto electrodes = [&](const SectionWaveforms& of) {
    return Recorded::Electrodes{of.plate_v[k], of.cathode_v[k] + of.grid_to_cathode_v[k], of.cathode_v[k],
                                of.cathode_v[k] + of.screen_to_cathode_v[k]};
  };
  r.section[kFirstStage] = electrodes(w.first);
  r.section[kGainSecond] = electrodes(w.second);
  for (std::size_t i = 0; i < 2; ++i) r.section[kDriver + i] = electrodes(w.driver[i]);
  if (d.driver.form == DriverForm::cathode_followers) r.output_v = {};
  for (int i = 0; i < c.outputs; ++i) {
    const auto n = static_cast<std::size_t>(i);
    r.load_v += d.feedback.output_gain * c.output[n].sign * w.output_v[n][k] / c.outputs;
  }
  return recorded_nodes(c, d, r);
}

/// The mean spreads over resistors alone; what is left of each instant, over capacitors as well.
std::vector<OfNodes> over_cycle(const Circuit& c, const Design& d, const Evaluation& e) {
  std::vector<Known> known;
  for (int k = 0; k < e.waveforms.instants; ++k)
    known.push_back(at_instant(c, d, e, static_cast<std::size_t>(k)));
  const Instants& instants = cycle_instants(e.waveforms.instants);
  Known mean{};
  for (std::size_t n = 0; n < kNodes; ++n) {
    if (!known.front()[n]) continue;
    mean[n] = 0;
    for (std::size_t k = 0; k < known.size(); ++k) *mean[n] += instants.mean[k] * *known[k][n];
  }
  const OfNodes still = spread(c, d, mean, Shorted::none, Sinks::flow);
  std::vector<OfNodes> cycle;
  for (const Known& whole : known) {
    Known signal{};
    for (std::size_t n = 0; n < kNodes; ++n)
      if (whole[n]) signal[n] = *whole[n] - *mean[n];
    OfNodes v = spread(c, d, signal, Shorted::all, Sinks::none);
    for (std::size_t n = 0; n < kNodes; ++n) v[n] = whole[n] ? *whole[n] : still[n] + v[n];
    cycle.push_back(v);
  }
  return cycle;
}

Known while_cold(const Circuit& c, const Design& d) {
  Known v = held_nodes(c, d);
  for (const Element& e : c)
    if (e.kind == ElementKind::driven) v[at(e.a)] = e.member ? cold_supply_v(d) : 0;
  for (int i = 0; i < c.outputs; ++i)
    v[at(c.output[static_cast<std::size_t>(i)].node)] = d.output_valve_bias_v;
  return v;
}

const Element* output_coupling(const Circuit& c) {
  const auto it = std::find_if(c.begin(), c.end(), [](const Element& e) {
    return e.role == Role::output_coupling && e.kind == ElementKind::capacitor;
  });
  return it == c.end() ? nullptr : it;
}

/// Capacitors to ground are charged; the outputs are free to follow the plates. Their loads end at ground
/// here, also where a bias is at their end: it is small beside the supply.
Known before_outputs_charge(const Circuit& c, const Design& d, const OfNodes& cold) {
  Known v = while_cold(c, d);
  for (const Element& e : c)
    if (e.kind == ElementKind::capacitor && e.b == kGround && e.stands(d)) v[at(e.a)] = cold[at(e.a)];
  for (int i = 0; i < c.outputs; ++i) v[at(c.output[static_cast<std::size_t>(i)].node)].reset();
  return v;
}

}  // namespace

NodeVoltages::NodeVoltages(const Design& d, const Evaluation& e) {
  const Circuit& c = circuit_of(d);
  const Known cold = while_cold(c, d);
  cold_ = spread(c, d, cold, Shorted::none, Sinks::none);
  for (const Element& part : c) {
    if (part.kind != ElementKind::capacitor || part.b != kGround || !part.stands(d)) continue;
    Known empty = cold;
    empty[at(part.a)] = 0;
    charging_.push_back({&part, spread(c, d, empty, Shorted::none, Sinks::none)});
  }
  if (const Element* coupling = output_coupling(c))
    charging_.push_back(
        {coupling, spread(c, d, before_outputs_charge(c, d, cold_), Shorted::output_couplings, Sinks::none)});
  if (e.operating_point.solved != Solved::yes) return;
  rest_ = spread(c, d, at_rest(c, d, e.operating_point), Shorted::none, Sinks::flow);
  if (e.at_target.solved == Solved::yes && e.waveforms.instants > 0) cycle_ = over_cycle(c, d, e);
}

}  // namespace antiphase
