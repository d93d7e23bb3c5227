#include "stagemodels/circuits/coefficients.h"

#include <cmath>

#include "stagemodels/circuits/places.h"

namespace antiphase {
namespace {

double least_ohm(Role role) {
  switch (role) {
    case Role::source:
      return kLeastSource_ohm;
    case Role::dropping:
      return kLeastDropping_ohm;
    case Role::decoupling:
      return kLeastDecoupling_ohm;
    case Role::cathode:
      return kLeastBypassed_ohm;
    default:
      return 0;
  }
}

}  // namespace

Assembly::Assembly(const Circuit& circuit, Held held)
    : circuit_(circuit), unknowns_(unknowns_of(circuit, held)) {
  const Unknowns& u = unknowns_;
  const auto stamp = [](int element, int row, int column, int sign) {
    const auto narrow = [](int v) { return static_cast<std::int16_t>(v); };
    return Stamp{narrow(element), narrow(row), narrow(column), narrow(sign)};
  };
  for (int n = 0; n < circuit_.nodes; ++n) {
    NodeRow row{{}, u.root[n], u.column[u.root[n]] >= u.locals ? u.column[u.root[n]] - u.locals : -1};
    for (int j = 0; j < u.locals + u.still; ++j) row.per[j] = u.per(n, j < u.locals ? j : u.folded + j);
    node_[n] = row;
  }
  const Element* ahead = circuit_.section(kFirstStage);
  driven_grid_ = (ahead ? ahead : circuit_.section(0))->b;
  for (const Element& e : circuit_)
    if (e.role == Role::grid_leak && (e.a == driven_grid_ || e.b == driven_grid_))
      driven_leaks_.add({e.a == driven_grid_ ? e.b : e.a, e.member});
  for (int i = 0; i < circuit_.elements; ++i) {
    const Element& e = circuit_.element[i];
    if ((e.kind != ElementKind::resistor && e.kind != ElementKind::sink) || held.wire(e)) continue;
    for (int r = 0; r < u.rows(); ++r) {
      const int leaves = u.leaves(r, e.a, e.b);
      if (leaves == 0) continue;
      if (e.kind == ElementKind::sink) {
        stamps_.add(stamp(i, r, u.constant(), -leaves));
        continue;
      }
      for (int j = 0; j < u.constant(); ++j)
        if (const int by = u.across(e.a, e.b, j)) stamps_.add(stamp(i, r, j, -leaves * by));
      const int from = u.root[e.a], to = u.root[e.b];
      if (u.known[from] && from != kGround) held_stamps_.add(stamp(i, r, from, -leaves));
      if (u.known[to] && to != kGround) held_stamps_.add(stamp(i, r, to, leaves));
    }
  }
}

void Assembly::node(const Coefficients& of, int node, double (&out)[Coefficients::kMost + 1]) const {
  const NodeRow& row = node_[node];
  const int all = unknowns_.locals + unknowns_.still;
  for (int j = 0; j < all; ++j) out[j] = row.per[j];
  out[all] = of.held_v[row.root];
  if (row.folded >= 0)
    for (int j = 0; j <= all; ++j) out[j] += of.folded[row.folded][j];
}

void Assembly::fill(const Design& d, Coefficients& out) const {
  const Circuit& c = circuit_;
  const Unknowns& u = unknowns_;
  double m[Unknowns::kMost][Unknowns::kMost + 1];
  const int rows = u.rows(), locals = u.locals, all = locals + u.still;
  for (int r = 0; r < rows; ++r)
    for (int j = 0; j <= rows; ++j) m[r][j] = 0;
  double value[Circuit::kMostElements];
  for (int n = 0; n < c.nodes; ++n) out.held_v[n] = 0;
  for (int i = 0; i < c.elements; ++i) {
    const Element& e = c.element[i];
    if (e.kind == ElementKind::resistor) {
      const double ohm = e.there(d) ? e.value(d) : 0, least = least_ohm(e.role);
      value[i] = 1 / (ohm > least ? ohm : least);
    } else if (e.kind == ElementKind::sink) {
      value[i] = e.value(d);
    } else if ((e.kind == ElementKind::held || e.kind == ElementKind::driven) && e.there(d)) {
      out.held_v[u.root[e.a]] = e.value(d);
    }
  }
  for (const Stamp& s : stamps_) m[s.row][s.column] += s.sign * value[s.element];
  for (const Stamp& s : held_stamps_) m[s.row][rows] += s.sign * value[s.element] * out.held_v[s.column];

  for (int w = u.drive() - 1; w >= locals; --w)
    for (int r = 0; r < rows; ++r)
      if (r != w && m[r][w] != 0) {
        const double factor = m[r][w] / m[w][w];
        for (int j = 0; j <= rows; ++j) m[r][j] -= factor * m[w][j];
      }
  for (int r = 0; r < all; ++r) {
    const int from = r < locals ? r : u.folded + r;
    out.scale[r] = r <= locals ? 1 : 1 / m[from][from];
    for (int j = 0; j <= all; ++j) out.linear[r][j] = m[from][j < locals ? j : u.folded + j] * out.scale[r];
  }

  const auto held_at = [&](int node) { return out.held_v[u.root[node]]; };
  for (int t = 0; t < u.sections; ++t) {
    const Element& e = c.element[u.triode[t]];
    out.plate_to_ground_v[t] = held_at(e.a);
    out.grid_to_ground_v[t] = held_at(e.b);
    out.cathode_to_ground_v[t] = held_at(e.c);
    out.grid_v[t] = held_at(e.b) - held_at(e.c);
    out.plate_v[t] = held_at(e.a) - held_at(e.c);
    if (e.screen != kNoNode) out.screen_v = held_at(e.screen) - held_at(e.c);
  }
  for (int g = 0; g < u.grids; ++g)
    out.output_grid_v[g] = held_at(c.element[u.output_grid[g]].a) + c.element[u.output_grid[g]].value(d);
  for (int o = 0; o < c.outputs; ++o) out.output_to_ground_v[o] = held_at(c.output[o].node);
  out.supply_to_ground_v = held_at(c.supply);
  for (int w = 0; w < u.folded; ++w)
    for (int j = 0; j <= all; ++j) {
      const int row = locals + w, at = j < locals ? j : u.folded + j;
      out.folded[w][j] = -m[row][at] / m[row][row];
    }
}

}  // namespace antiphase
