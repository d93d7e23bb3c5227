#include "objectives/diagnosis/signal_gain.h"

#include <cmath>
#include <complex>
#include <numbers>

namespace antiphase {
namespace {

using Complex = std::complex<double>;
using What = Alteration::What;

constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

class Signal {
 public:
  Signal(const Design& d, std::span<const Alteration> altered, double hz)
      : d_(d), c_(circuit_of(d)), altered_(altered), omega_(2 * std::numbers::pi * hz) {
    for (int n = 0; n < c_.nodes; ++n) root_[at(n)] = static_cast<Node>(n);
    for (int k = 0; k < c_.elements; ++k)
      if (joins(k)) join(element(k).a, element(k).b);
    still_[at(root(kGround))] = true;
    for (const Element& e : c_)
      if (e.kind == ElementKind::held && e.there(d_)) still_[at(root(e.a))] = true;
    driven_ = root(c_.input);
  }

  void elements(const NodeVolts& rest) {
    for (int k = 0; k < c_.elements; ++k) add(k, rest);
  }
  void conductance(Node a, Node b, Complex y) { two(root(a), root(b), y); }

  /// Volts at the node for one volt at the input.
  std::optional<Complex> at_node(Node node) {
    std::array<int, Circuit::kMostNodes> unknown{};
    unknown.fill(-1);
    int n = 0;
    for (int k = 0; k < c_.nodes; ++k)
      if (root(static_cast<Node>(k)) == k && !still_[at(k)] && k != driven_ && std::abs(y_[at(k)][at(k)]) > 0)
        unknown[at(k)] = n++;
    const Node seen = root(node);
    if (still_[at(seen)]) return Complex(0);
    if (seen == driven_) return Complex(1);
    if (unknown[at(seen)] < 0) return Complex(0);
    std::array<std::array<Complex, Circuit::kMostNodes + 1>, Circuit::kMostNodes> m{};
    for (int r = 0; r < c_.nodes; ++r) {
      if (unknown[at(r)] < 0) continue;
      auto& row = m[at(unknown[at(r)])];
      for (int k = 0; k < c_.nodes; ++k)
        if (unknown[at(k)] >= 0) row[at(unknown[at(k)])] = y_[at(r)][at(k)];
      row[at(n)] = -y_[at(r)][at(driven_)];
    }
    if (!eliminate(m, n)) return std::nullopt;
    return m[at(unknown[at(seen)])][at(n)];
  }

 private:
  const Element& element(int k) const { return c_.element[at(k)]; }
  Node root(Node n) const { return root_[at(n)]; }
  void join(Node a, Node b) {
    const Node from = root(a), to = root(b);
    for (int n = 0; n < c_.nodes; ++n)
      if (root_[at(n)] == from) root_[at(n)] = to;
  }
  const Alteration* alteration(int k) const {
    for (const Alteration& a : altered_)
      if (a.element == k) return &a;
    return nullptr;
  }
  double value(int k) const {
    const Alteration* a = alteration(k);
    if (a && a->what == What::set) return a->number;
    return element(k).value(d_) * (a && a->what == What::scaled ? a->number : 1);
  }
  static bool of_feedback(const Element& e) {
    return e.role == Role::feedback || e.role == Role::feedback_lead;
  }
  /// Wires, what the generator takes the place of, and capacitors that the design leaves open.
  bool joins(int k) const {
    const Element& e = element(k);
    if (of_feedback(e) || e.b == kNoNode || alteration(k)) return false;
    if (e.joins(d_)) return true;
    if (!e.stands(d_)) return false;
    return (e.kind == ElementKind::resistor && e.role == Role::source) ||
           (e.kind == ElementKind::capacitor && !(e.value(d_) > 0));
  }

  void two(Node a, Node b, Complex y) {
    if (a == b) return;
    y_[at(a)][at(a)] += y;
    y_[at(b)][at(b)] += y;
    y_[at(a)][at(b)] -= y;
    y_[at(b)][at(a)] -= y;
  }

  void add(int k, const NodeVolts& rest) {
    const Element& e = element(k);
    if (!e.stands(d_) || of_feedback(e)) return;
    const Alteration* a = alteration(k);
    if (a && a->what == What::gone) return;
    if (e.kind == ElementKind::triode) return triode(e, a && a->what == What::dead, rest);
    if (e.kind != ElementKind::resistor && e.kind != ElementKind::capacitor && e.kind != ElementKind::stray)
      return;
    Complex y = e.kind == ElementKind::resistor ? Complex(1 / std::max(value(k), kShort_ohm))
                                                : Complex(0, omega_ * value(k));
    if (a && a->what == What::open) y = 1 / kInsulation_ohm;
    if (a && a->what == What::shorted) y = 1 / kShort_ohm;
    if (a && a->what == What::leaks) y += 1 / kLeakage_ohm;
    two(root(e.a), root(e.b), y);
  }

  void triode(const Element& e, bool dead, const NodeVolts& v) {
    const Node p = root(e.a), g = root(e.b), k = root(e.c);
    const TriodeSection section = section_of(d_, e);
    const TubeCapacitances& c = section.tube->capacitance;
    two(p, k, {0, omega_ * c.plate_cathode_f});
    two(g, k, {0, omega_ * c.grid_cathode_f});
    two(g, p, {0, omega_ * c.grid_plate_f});
    if (dead) return;
    const TriodeCurrents i = currents_of(section, e, v);
    two(p, k, i.plate_per_plate_s);
    two(g, k, i.grid_per_grid_s);
    steers(g, p, k, i.plate_per_grid_s);
    if (e.screen == kNoNode) return;
    const Node s = root(e.screen);
    steers(s, p, k, i.plate_per_screen_s);
    steers(g, s, k, i.screen_per_grid_s);
    steers(p, s, k, i.screen_per_plate_s);
    two(s, k, i.screen_per_screen_s);
  }

  /// A current from one electrode to the cathode, by the voltage from another to the cathode.
  void steers(Node by, Node into, Node cathode, double siemens) {
    y_[at(into)][at(by)] += siemens;
    y_[at(into)][at(cathode)] -= siemens;
    y_[at(cathode)][at(by)] -= siemens;
    y_[at(cathode)][at(cathode)] += siemens;
  }

  /// Gauss and Jordan's elimination with partial pivoting; the solution stands in column n.
  template <class Matrix>
  static bool eliminate(Matrix& m, int n) {
    const std::size_t size = at(n);
    for (std::size_t c = 0; c < size; ++c) {
      std::size_t pivot = c;
      for (std::size_t r = c + 1; r < size; ++r)
        if (std::norm(m[r][c]) > std::norm(m[pivot][c])) pivot = r;
      if (!(std::norm(m[pivot][c]) > 0)) return false;
      std::swap(m[c], m[pivot]);
      const Complex inverse = 1.0 / m[c][c];
      for (std::size_t k = c; k <= size; ++k) m[c][k] *= inverse;
      for (std::size_t r = 0; r < size; ++r) {
        if (r == c || std::norm(m[r][c]) == 0) continue;
        const Complex f = m[r][c];
        for (std::size_t k = c; k <= size; ++k) m[r][k] -= f * m[c][k];
      }
    }
    return true;
  }

  const Design& d_;
  const Circuit& c_;
  std::span<const Alteration> altered_;
  double omega_;
  std::array<Node, Circuit::kMostNodes> root_{};
  std::array<bool, Circuit::kMostNodes> still_{};
  Node driven_ = kNoNode;
  std::array<std::array<Complex, Circuit::kMostNodes>, Circuit::kMostNodes> y_{};
};

}  // namespace

std::optional<double> signal_gain(const Design& d, std::span<const Alteration> altered,
                                  std::span<const Bridge> bridges, const NodeVolts& rest,
                                  const BenchReading& reading, double meter_ohm) {
  Signal signal(d, altered, reading.hz);
  signal.elements(rest);
  for (const Bridge& b : bridges) signal.conductance(b.a, b.b, 1 / b.ohm);
  signal.conductance(reading.a, reading.b, 1 / meter_ohm);
  if (reading.load_ohm > 0) signal.conductance(reading.a, reading.b, 1 / reading.load_ohm);
  const auto v = signal.at_node(reading.a);
  if (!v || !std::isfinite(std::abs(*v))) return std::nullopt;
  return std::abs(*v);
}

}  // namespace antiphase
