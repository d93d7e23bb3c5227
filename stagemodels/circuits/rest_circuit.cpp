#include "stagemodels/circuits/rest_circuit.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace antiphase {
namespace {

/// Holds what nothing else holds; its current counts for nothing beside any that is told.
constexpr double kNothing_s = 1e-15;

constexpr std::size_t at(Node n) {
  return static_cast<std::size_t>(n);
}
constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

/// Gauss's elimination with partial pivoting; the solution takes the place of x.
template <class Matrix, class Column>
bool eliminate(int n, Matrix& m, Column& x) {
  const auto size = at(n);
  for (std::size_t c = 0; c < size; ++c) {
    std::size_t pivot = c;
    for (std::size_t r = c + 1; r < size; ++r)
      if (std::abs(m[r][c]) > std::abs(m[pivot][c])) pivot = r;
    if (!(std::abs(m[pivot][c]) > 0)) return false;
    if (pivot != c) {
      std::swap(m[c], m[pivot]);
      std::swap(x[c], x[pivot]);
    }
    for (std::size_t r = c + 1; r < size; ++r) {
      if (m[r][c] == 0) continue;
      const double f = m[r][c] / m[c][c];
      for (std::size_t k = c + 1; k < size; ++k) m[r][k] -= f * m[c][k];
      x[r] -= f * x[c];
    }
  }
  for (std::size_t c = size; c-- > 0;) {
    for (std::size_t k = c + 1; k < size; ++k) x[c] -= m[c][k] * x[k];
    x[c] /= m[c][c];
  }
  return true;
}

}  // namespace

RestCircuit::RestCircuit(const Circuit& c, const Design& d, std::span<const Alteration> altered,
                         std::span<const Bridge> bridges)
    : circuit_(c), design_(d), altered_(altered) {
  assert(bridges.size() <= kMostBridges);
  for (int n = 0; n < c.nodes; ++n) root_[at(n)] = static_cast<Node>(n);
  for (int k = 0; k < c.elements; ++k)
    if (joins(k)) join(element(k).a, element(k).b);
  held_[at(root_[at(kGround)])] = true;
  for (int k = 0; k < c.elements; ++k)
    if (is_held(element(k))) {
      held_[at(root(element(k).a))] = true;
      held_v_[at(root(element(k).a))] = value(k);
    }
  for (int k = 0; k < c.elements; ++k) add(k);
  for (const Bridge& b : bridges) resistor(b.a, b.b, b.ohm, b.emf_v);
  hold_what_hangs_free();
  unknown_.fill(-1);
  for (int n = 0; n < c.nodes; ++n)
    if (root(static_cast<Node>(n)) == n && !held_[at(n)]) unknown_[at(n)] = unknowns_++;
  altered_ = {};  // all is told by now
}

bool RestCircuit::solve(NodeVolts& volts) const {
  constexpr int kMostRaises = 64, kMostSteps = 400;
  constexpr double kSettled_v = 1e-9;
  for (int raises = 1; raises <= kMostRaises; raises *= 4) {
    NodeVolts v{};
    bool settled = true;
    for (int k = 1; k <= raises && settled; ++k)
      settled = newton(v, static_cast<double>(k) / raises, kMostSteps, kSettled_v);
    if (!settled) continue;
    volts = v;
    tell_joined(volts);
    return true;
  }
  return false;
}

bool RestCircuit::settle(NodeVolts& volts, double settled_v) const {
  constexpr int kFewSteps = 25;
  if (!newton(volts, 1, kFewSteps, settled_v)) return false;
  tell_joined(volts);
  return true;
}

void RestCircuit::hold(NodeVolts& volts) const {
  for (int n = 0; n < circuit_.nodes; ++n)
    if (held_[at(root(static_cast<Node>(n)))]) volts[at(n)] = held_v_[at(root(static_cast<Node>(n)))];
}

NodeVolts RestCircuit::currents_out(const NodeVolts& v) const {
  NodeVolts out{};
  each_current(
      v, 1, [&](Node n, double a) { out[at(n)] += a; }, [](Node, Node, double) {});
  return out;
}

void RestCircuit::tell_joined(NodeVolts& v) const {
  for (int n = 0; n < circuit_.nodes; ++n) v[at(n)] = v[at(root(static_cast<Node>(n)))];
}

const Alteration* RestCircuit::alteration(int k) const {
  for (const Alteration& a : altered_)
    if (a.element == k) return &a;
  return nullptr;
}

bool RestCircuit::is_held(const Element& e) const {
  return (e.kind == ElementKind::held || e.kind == ElementKind::driven) && e.there(design_);
}

bool RestCircuit::joins(int k) const {
  const Element& e = element(k);
  return e.role != Role::feedback && e.b != kNoNode && e.joins(design_);
}

double RestCircuit::value(int k) const {
  const Alteration* a = alteration(k);
  if (a && a->what == Alteration::What::set) return a->number;
  const double own = element(k).value(design_);
  return a && a->what == Alteration::What::scaled ? own * a->number : own;
}

void RestCircuit::join(Node a, Node b) {
  const Node from = root(a), to = root(b);
  for (int n = 0; n < circuit_.nodes; ++n)
    if (root_[at(n)] == from) root_[at(n)] = to;
}

void RestCircuit::resistor(Node a, Node b, double ohm, double emf_v) {
  if (root(a) != root(b)) branch_[branches_++] = {root(a), root(b), 1 / ohm, emf_v};
}

void RestCircuit::add(int k) {
  using What = Alteration::What;
  const Element& e = element(k);
  if (!e.stands(design_) || e.role == Role::feedback) return;
  const Alteration* altered = alteration(k);
  const auto is = [&](What what) { return altered && altered->what == what; };
  if (is(What::gone)) return;
  switch (e.kind) {
    case ElementKind::resistor:
      // two parts of one resistor may leave a rest that is nearly nothing
      resistor(e.a, e.b,
               is(What::shorted) ? kShort_ohm
               : is(What::open)  ? kInsulation_ohm
                                 : std::max(value(k), kShort_ohm));
      break;
    case ElementKind::triode:
      if (is(What::dead)) return;
      triode_[triodes_++] = {root(e.a), root(e.b), root(e.c), e.screen == kNoNode ? kNoNode : root(e.screen),
                             section_of(design_, e)};
      for (const Node n : {e.a, e.b, e.c, e.screen})
        if (n != kNoNode) tube_[at(root(n))] = true;
      return;
    case ElementKind::sink:
      if (!is(What::open)) sink_[sinks_++] = {root(e.a), root(e.b), value(k)};
      [[fallthrough]];
    case ElementKind::capacitor:
    case ElementKind::stray:
      if (is(What::shorted)) resistor(e.a, e.b, kShort_ohm);
      break;
    case ElementKind::held:
    case ElementKind::driven:
    case ElementKind::clamp:
    case ElementKind::output_grid:
      return;
  }
  if (is(What::leaks)) resistor(e.a, e.b, kLeakage_ohm);
}

/// Nodes that no resistance connects with a held one stand where no current reaches them.
void RestCircuit::hold_what_hangs_free() {
  std::array<bool, Circuit::kMostNodes> reached = held_;
  const auto reach = [&] {
    for (bool more = true; more;) {
      more = false;
      for (std::size_t k = 0; k < branches_; ++k) {
        const Branch& b = branch_[k];
        if (reached[at(b.a)] == reached[at(b.b)]) continue;
        reached[at(b.a)] = reached[at(b.b)] = more = true;
      }
    }
  };
  const auto on_a_tube = [&](Node n) {
    return std::any_of(triode_.begin(), triode_.begin() + triodes_,
                       [n](const Triode& t) { return t.plate == n || t.screen == n || t.cathode == n; });
  };
  reach();
  // One node of what hangs together is enough. Where a tube's plate or cathode is among them, that one, which
  // the tube holds far better: at a grid behind a megohm even this current would show.
  for (const bool by_tube : {true, false})
    for (int n = 0; n < circuit_.nodes; ++n) {
      const auto node = static_cast<Node>(n);
      if (reached[at(n)] || root(node) != n || (by_tube && !on_a_tube(node))) continue;
      branch_[branches_++] = {node, root(kGround), kNothing_s, 0};
      reached[at(n)] = true;
      reach();
    }
}

/// Tells every current out of a node, and its derivative by a node's voltage.
template <class Add, class AddSlope>
void RestCircuit::each_current(const NodeVolts& v, double share, const Add& add_a,
                               const AddSlope& add_s) const {
  for (std::size_t k = 0; k < branches_; ++k) {
    const auto& [a, b, s, emf_v] = branch_[k];
    const double i = s * (v[at(a)] - v[at(b)] - share * emf_v);
    add_a(a, i);
    add_a(b, -i);
    add_s(a, a, s);
    add_s(b, b, s);
    add_s(a, b, -s);
    add_s(b, a, -s);
  }
  for (std::size_t k = 0; k < sinks_; ++k) {
    add_a(sink_[k].a, share * sink_[k].amperes);
    add_a(sink_[k].b, -share * sink_[k].amperes);
  }
  for (std::size_t k = 0; k < triodes_; ++k) {
    const Triode& t = triode_[k];
    const Node p = t.plate, g = t.grid, c = t.cathode, s = t.screen;
    const TriodeCurrents i = t.section.currents_at(v[at(g)] - v[at(c)], v[at(p)] - v[at(c)],
                                                   s == kNoNode ? 0 : v[at(s)] - v[at(c)]);
    const double gm = i.plate_per_grid_s, gp = i.plate_per_plate_s, gg = i.grid_per_grid_s;
    add_a(p, i.plate_a);
    add_a(g, i.grid_a);
    add_a(c, -i.plate_a - i.grid_a);
    add_s(p, g, gm);
    add_s(p, p, gp);
    add_s(p, c, -gm - gp);
    add_s(g, g, gg);
    add_s(g, c, -gg);
    add_s(c, g, -gm - gg);
    add_s(c, p, -gp);
    add_s(c, c, gm + gp + gg);
    if (s == kNoNode) continue;
    add_a(s, i.screen_a);
    add_a(c, -i.screen_a);
    const auto depends = [&](Node on, double into_plate, double into_screen) {
      add_s(p, on, into_plate);
      add_s(s, on, into_screen);
      add_s(c, on, -into_plate - into_screen);
      add_s(p, c, -into_plate);
      add_s(s, c, -into_screen);
      add_s(c, c, into_plate + into_screen);
    };
    depends(s, i.plate_per_screen_s, i.screen_per_screen_s);
    depends(g, 0, i.screen_per_grid_s);
    depends(p, 0, i.screen_per_plate_s);
  }
}

void RestCircuit::equations(const NodeVolts& v, double share, Column& f, Matrix& slope) const {
  f = {};
  for (int r = 0; r < unknowns_; ++r) slope[at(r)] = {};
  each_current(
      v, share,
      [&](Node n, double a) {
        if (const int u = unknown_[at(n)]; u >= 0) f[at(u)] += a;
      },
      [&](Node n, Node by, double s) {
        const int u = unknown_[at(n)], w = unknown_[at(by)];
        if (u >= 0 && w >= 0) slope[at(u)][at(w)] += s;
      });
}

/// From `v` to the rest point with all supplies at this share of theirs.
bool RestCircuit::newton(NodeVolts& v, double share, int most_steps, double settled_v) const {
  constexpr double kStep_v = 20;
  for (std::size_t n = 0; n < v.size(); ++n)
    if (held_[n]) v[n] = share * held_v_[n];
  Column f;
  Matrix slope;
  for (int step = 0; step < most_steps; ++step) {
    equations(v, share, f, slope);
    if (!eliminate(unknowns_, slope, f)) return false;
    double largest = 0, at_tubes = 0;
    for (std::size_t n = 0; n < v.size(); ++n) {
      const int u = unknown_[n];
      if (u < 0) continue;
      const double moved = std::abs(f[at(u)]);
      if (!std::isfinite(moved)) return false;
      largest = std::max(largest, moved);
      if (tube_[n]) at_tubes = std::max(at_tubes, moved);
    }
    // No tube's node moves further than its law stays nearly straight; less and less, so that it cannot
    // circle.
    const double most = kStep_v / (1 + step / 40);
    const double scale = at_tubes > most ? most / at_tubes : 1;
    for (std::size_t n = 0; n < v.size(); ++n)
      if (const int u = unknown_[n]; u >= 0) v[n] -= scale * f[at(u)];
    if (largest < settled_v) return true;
  }
  return false;
}

RestCircuit::Slopes RestCircuit::slopes_at(const NodeVolts& volts) const {
  Slopes s;
  Column ignored;
  equations(volts, 1, ignored, s.factor_);
  s.unknowns_ = unknowns_;
  s.nodes_ = circuit_.nodes;
  s.unknown_of_node_.fill(-1);
  for (int n = 0; n < circuit_.nodes; ++n)
    s.unknown_of_node_[at(n)] = unknown_[at(root(static_cast<Node>(n)))];
  // The multipliers stand below the diagonal, so that any number of right sides can follow.
  auto& m = s.factor_;
  const auto size = at(unknowns_);
  for (std::size_t c = 0; c < size; ++c) {
    std::size_t pivot = c;
    for (std::size_t r = c + 1; r < size; ++r)
      if (std::abs(m[r][c]) > std::abs(m[pivot][c])) pivot = r;
    if (!(std::abs(m[pivot][c]) > 0)) return s;
    s.row_[c] = static_cast<int>(pivot);
    if (pivot != c) std::swap(m[c], m[pivot]);
    for (std::size_t r = c + 1; r < size; ++r) {
      if (m[r][c] == 0) continue;
      const double f = m[r][c] /= m[c][c];
      for (std::size_t k = c + 1; k < size; ++k) m[r][k] -= f * m[c][k];
    }
  }
  s.known_ = true;
  return s;
}

NodeVolts RestCircuit::Slopes::rise(const NodeVolts& amperes_in) const {
  std::array<double, kMost> x{};
  for (int n = 0; n < nodes_; ++n)
    if (const int u = unknown_of_node_[at(n)]; u >= 0) x[at(u)] += amperes_in[at(n)];
  const auto size = at(unknowns_);
  for (std::size_t c = 0; c < size; ++c) std::swap(x[c], x[at(row_[c])]);
  for (std::size_t c = 0; c < size; ++c)
    for (std::size_t r = c + 1; r < size; ++r) x[r] -= factor_[r][c] * x[c];
  for (std::size_t c = size; c-- > 0;) {
    for (std::size_t k = c + 1; k < size; ++k) x[c] -= factor_[c][k] * x[k];
    x[c] /= factor_[c][c];
  }
  NodeVolts rises{};
  for (int n = 0; n < nodes_; ++n)
    if (const int u = unknown_of_node_[at(n)]; u >= 0) rises[at(n)] = x[at(u)];
  return rises;
}

double RestCircuit::Slopes::ohm_between(Node a, Node b) const {
  NodeVolts in{};
  in[at(a)] += 1;
  in[at(b)] -= 1;
  const NodeVolts v = rise(in);
  return v[at(a)] - v[at(b)];
}

}  // namespace antiphase
