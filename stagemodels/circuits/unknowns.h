/// From a circuit's list of elements to the unknowns of its cycle, at compile time.
///
/// Every node is held, driven or free. A wire makes two nodes one. A capacitor joins its nodes too, at a
/// voltage y that stands still over the cycle: v_b = v_a - y. So nodes form trees; what stands at the root of
/// a tree, with the voltages y along the way, gives all of its nodes. What is left to solve for (theory:
/// stagemodels/README.md, "From a list to its matrix"):
///   x  at each instant, the free roots that a tube or an output touches;
///   w  at each instant, the other free roots: linear in the rest, folded away once a design;
///   y  for the whole cycle, y[0] the drive, then one voltage per capacitor.
/// Rows are numbered like the unknowns: the row of a root is Kirchhoff's current law at its tree, the row of
/// a capacitor the mean over the cycle of the current into all nodes beyond it.
#pragma once

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

/// What of the surroundings of a stage the equations of its cycle hold. What is not held is a wire, or
/// nothing.
struct Held {
  bool source = false;      ///< the source's resistance
  bool dropping = false;    ///< the dropping resistor and the reservoir
  bool decoupling = false;  ///< what stands between the supply and that of a stage ahead
  bool unbypassed = false;  ///< the part of the output stage's cathode resistor that no capacitor bridges
  bool first_unbypassed = false;   ///< the same of the first stage
  bool second_unbypassed = false;  ///< the same of its second triode
  bool output_grids = false;       ///< grids of output valves that may draw current

  /// Whether the equations hold this part of a cathode resistor.
  constexpr bool bare_part(const Element& e) const {
    return e.member == &member::first_stage_cathode_unbypassed_ohm          ? first_unbypassed
           : e.member == &member::first_stage_second_cathode_unbypassed_ohm ? second_unbypassed
                                                                            : unbypassed;
  }
  constexpr bool wire(const Element& e) const {
    return (e.role == Role::source && e.kind == ElementKind::resistor && !source) ||
           (e.role == Role::dropping && !dropping) || (e.role == Role::decoupling && !decoupling) ||
           (e.role == Role::cathode_unbypassed && !bare_part(e));
  }
};

/// The end of a capacitor at which its voltage is counted from, for the cycle. The supply of a stage ahead is
/// counted from the supply before it, which stands still as ground does: so the currents of both are summed
/// in one row, and a decoupling resistor of nearly nothing between them loses no digits there.
constexpr Node far_end(const Circuit& c, const Element& capacitor) {
  if (capacitor.role == Role::decoupling_capacitor)
    for (const Element& e : c)
      if (e.role == Role::decoupling && e.b == capacitor.a) return e.a;
  return capacitor.b;
}

struct Unknowns {
  static constexpr int kNodes = Circuit::kMostNodes, kMost = 36, kSections = Circuit::kMostSections;

  int locals = 0;                                      ///< of x
  int folded = 0;                                      ///< of w
  int still = 1;                                       ///< of y, the drive included
  int sections = 0;                                    ///< of the circuit: triodes
  int grids = 0;                                       ///< of output valves
  std::array<int, kNodes> root{};                      ///< the node that stands for the tree
  std::array<std::array<int, kMost>, kNodes> along{};  ///< v_node = v_root + sum of along * y
  std::array<bool, kNodes> known{}, driven{};          ///< of a root
  std::array<int, kNodes> column{};                    ///< of a root among x and w; -1: known
  std::array<int, kMost> capacitor{};                  ///< element of each y
  std::array<int, kSections> triode{};                 ///< element of each section that is there, in order
  std::array<int, 2> output_grid{};                    ///< element of each output's grid
  std::array<int, 2> output_row{-1, -1};

  constexpr int drive() const { return locals + folded; }
  constexpr int constant() const { return locals + folded + still; }  ///< the column of what does not change
  constexpr int rows() const { return constant(); }

  /// Volts of the node per volt of the unknown.
  constexpr int per(int node, int unknown) const {
    const int r = root[node];
    if (column[r] >= 0 && unknown == column[r]) return 1;
    if (unknown == drive()) return driven[r] ? 1 : 0;
    if (unknown > drive() && unknown < constant()) return along[node][unknown - drive()];
    return 0;
  }
  /// The same of the voltage between two nodes.
  constexpr int across(int a, int b, int unknown) const { return per(a, unknown) - per(b, unknown); }
  /// Whether the node's currents are summed in the row.
  constexpr bool summed(int row, int node) const {
    if (row < drive()) return column[root[node]] == row;
    return row > drive() && along[node][row - drive()] != 0;
  }
  /// What a current from a to b counts in the row: +1 it leaves, -1 it comes, 0 it does neither or both.
  constexpr int leaves(int row, int a, int b) const {
    return (summed(row, a) ? 1 : 0) - (summed(row, b) ? 1 : 0);
  }
};

namespace unknowns {

constexpr void join(Unknowns& u, int nodes, int a, int b, int still) {
  const int ra = u.root[a], rb = u.root[b];
  const bool keep_a = !u.known[rb];
  const int keep = keep_a ? ra : rb, go = keep_a ? rb : ra;
  std::array<int, Unknowns::kMost> shift{};
  for (int y = 1; y < u.still; ++y)
    shift[y] = keep_a ? u.along[a][y] - u.along[b][y] : u.along[b][y] - u.along[a][y];
  if (still > 0) shift[still] += keep_a ? -1 : 1;
  for (int n = 0; n < nodes; ++n)
    if (u.root[n] == go) {
      u.root[n] = keep;
      for (int y = 1; y < u.still; ++y) u.along[n][y] += shift[y];
    }
}

/// `order`: of the free roots that are kept, or null for the order of the nodes.
constexpr Unknowns number(const Circuit& c, Held held, const std::array<int, Circuit::kMostNodes>* order) {
  Unknowns u;
  for (int n = 0; n < c.nodes; ++n) {
    u.root[n] = n;
    u.column[n] = -1;
  }
  u.known[kGround] = true;
  int triodes = 0;
  for (const int s : kSectionOrder)
    for (int i = 0; i < c.elements; ++i)
      if (c.element[i].section == s) u.triode[triodes++] = i;
  u.sections = triodes;
  for (int i = 0; i < c.elements; ++i) {
    const Element& e = c.element[i];
    if (e.kind == ElementKind::held || e.kind == ElementKind::driven) {
      u.known[e.a] = true;
      u.driven[e.a] = e.kind == ElementKind::driven;
    }
    if (e.kind == ElementKind::output_grid && held.output_grids) u.output_grid[u.grids++] = i;
  }
  for (int i = 0; i < c.elements; ++i)
    if (const Element& e = c.element[i]; held.wire(e)) join(u, c.nodes, e.a, e.b, 0);
  for (int i = 0; i < c.elements; ++i) {
    const Element& e = c.element[i];
    if (e.kind != ElementKind::capacitor) continue;
    const Node far = far_end(c, e);
    const int ra = u.root[e.a], rb = u.root[far];
    if (ra == rb || (u.known[ra] && u.known[rb])) continue;  // its voltage is given: it has no say
    u.capacitor[u.still] = i;
    join(u, c.nodes, e.a, far, u.still++);
  }

  std::array<bool, Circuit::kMostNodes> kept{};
  for (int t = 0; t < u.sections; ++t) {
    const Element& e = c.element[u.triode[t]];
    kept[u.root[e.a]] = kept[u.root[e.b]] = kept[u.root[e.c]] = true;
    if (e.screen != kNoNode) kept[u.root[e.screen]] = true;
  }
  for (int g = 0; g < u.grids; ++g) kept[u.root[c.element[u.output_grid[g]].a]] = true;
  for (int o = 0; o < c.outputs; ++o) kept[u.root[c.output[o].node]] = true;
  // Nodes between resistors only, and those that nothing but a stray or the far end of a feedback touches.
  std::array<bool, Circuit::kMostNodes> touched{};
  for (int i = 0; i < c.elements; ++i) {
    const Element& e = c.element[i];
    if (e.kind == ElementKind::resistor || e.kind == ElementKind::sink)
      touched[u.root[e.a]] = touched[u.root[e.b]] = true;
  }
  std::array<int, Circuit::kMostNodes> roots{};
  for (int n = 0; n < c.nodes; ++n)
    if (u.root[n] == n && !u.known[n] && kept[n]) roots[u.locals++] = n;
  for (int i = 0; i < u.locals; ++i) u.column[roots[order ? (*order)[i] : i]] = i;
  for (int n = 0; n < c.nodes; ++n)
    if (u.root[n] == n && !u.known[n] && !kept[n] && touched[n]) u.column[n] = u.locals + u.folded++;
  for (int o = 0; o < c.outputs; ++o) u.output_row[o] = u.column[u.root[c.output[o].node]];
  return u;
}

/// Where the linear part of the equations has numbers, after w is folded away; the last column: constants.
using Places = std::array<std::array<bool, Unknowns::kMost>, Unknowns::kMost>;
constexpr Places linear_places(const Circuit& c, const Unknowns& u, Held held) {
  Places at{};
  for (int i = 0; i < c.elements; ++i) {
    const Element& e = c.element[i];
    if ((e.kind != ElementKind::resistor && e.kind != ElementKind::sink) || held.wire(e)) continue;
    for (int r = 0; r < u.rows(); ++r) {
      if (u.leaves(r, e.a, e.b) == 0) continue;
      at[r][u.constant()] = true;
      if (e.kind == ElementKind::resistor)
        for (int j = 0; j < u.constant(); ++j)
          if (u.across(e.a, e.b, j) != 0) at[r][j] = true;
    }
  }
  for (int w = u.drive() - 1; w >= u.locals; --w)
    for (int r = 0; r < u.rows(); ++r)
      if (r != w && at[r][w])
        for (int j = 0; j <= u.constant(); ++j) at[r][j] = at[r][j] || at[w][j];
  return at;
}

constexpr bool tube_place(const Circuit& c, const Unknowns& u, int r, int j) {
  for (int t = 0; t < u.sections; ++t) {
    const Element& e = c.element[u.triode[t]];
    const bool by_grid = u.across(e.b, e.c, j) != 0, by_plate = u.across(e.a, e.c, j) != 0;
    if ((u.leaves(r, e.a, e.c) != 0 && (by_grid || by_plate)) || (u.leaves(r, e.b, e.c) != 0 && by_grid))
      return true;
    if (e.screen == kNoNode) continue;
    const bool by_screen = u.across(e.screen, e.c, j) != 0;
    if ((u.leaves(r, e.a, e.c) != 0 && by_screen) ||
        (u.leaves(r, e.screen, e.c) != 0 && (by_grid || by_plate || by_screen)))
      return true;
  }
  for (int g = 0; g < u.grids; ++g) {
    const Element& e = c.element[u.output_grid[g]];
    if (u.leaves(r, e.a, e.b) != 0 && u.across(e.a, e.b, j) != 0) return true;
  }
  return false;
}

}  // namespace unknowns

/// The unknowns in the order in which they are eliminated: the one whose elimination makes the fewest new
/// entries comes next; cathodes, on which most hangs, come last.
/// Source: Markowitz, Management Science 3 (1957) 255, as in Vlach & Singhal, chapter 2.
constexpr Unknowns unknowns_of(const Circuit& c, Held held) {
  const Unknowns first = unknowns::number(c, held, nullptr);
  const unknowns::Places linear = unknowns::linear_places(c, first, held);
  const int locals = first.locals, all = locals + first.still;
  std::array<std::array<bool, Unknowns::kMost>, Unknowns::kMost> there{};
  std::array<bool, Unknowns::kMost> gone{}, cathode{};
  for (int t = 0; t < first.sections; ++t) {
    const int k = first.column[first.root[c.element[first.triode[t]].c]];
    if (k >= 0 && k < locals) cathode[k] = true;
  }
  for (int r = 0; r < locals; ++r)
    for (int j = 0; j < all; ++j) {
      const int column = j < locals ? j : first.drive() + j - locals;
      there[r][j] = linear[r][column] || unknowns::tube_place(c, first, r, column);
    }
  std::array<int, Circuit::kMostNodes> order{};
  for (int step = 0; step < locals; ++step) {
    constexpr int kAfterAllOthers = 1000;
    int best = -1, least = 0;
    for (int i = 0; i < locals; ++i) {
      if (gone[i]) continue;
      int rows = 0, columns = 0;
      for (int r = 0; r < locals; ++r) rows += r != i && there[r][i] ? 1 : 0;
      for (int j = 0; j < all; ++j) columns += j != i && (j >= locals || !gone[j]) && there[i][j] ? 1 : 0;
      const int cost = rows * columns + (cathode[i] ? kAfterAllOthers : 0);
      if (best < 0 || cost < least) {
        best = i;
        least = cost;
      }
    }
    order[step] = best;
    gone[best] = true;
    for (int r = 0; r < locals; ++r)
      if (r != best && there[r][best])
        for (int j = 0; j < all; ++j) there[r][j] = there[r][j] || there[best][j];
  }
  return unknowns::number(c, held, &order);
}

/// All that the innermost loop knows of a circuit: how tubes hang on the unknowns, and where the linear part
/// has numbers. Unknowns and rows: x, then y; the last column: constants. Circuits of one shape share one
/// solver.
struct Shape {
  static constexpr int kMost = Unknowns::kMost, kSections = Circuit::kMostSections;
  int locals = 0, still = 0, sections = 0, grids = 0, outputs = 0;
  /// 1 where the last section is a pentode (kSectionOrder), whose screen hangs on the unknowns like this.
  int screens = 0;
  std::array<signed char, kMost> screen_per{}, screen_in{};
  /// Of each section in order: volts of grid and plate against the cathode per unknown; what its plate and
  /// grid current count in each row.
  std::array<std::array<signed char, kMost>, kSections> grid_per{}, plate_per{}, plate_in{}, grid_in{};
  std::array<std::array<signed char, kMost>, 2> output_grid_per{}, output_grid_in{};
  std::array<std::array<bool, kMost>, kMost> linear{};
  /// Volts to ground per unknown of each section's plate, grid and cathode, and of the supply.
  std::array<std::array<signed char, kMost>, kSections> plate_v{}, grid_v{}, cathode_v{};
  std::array<signed char, kMost> supply_v{};
  std::array<std::array<signed char, kMost>, 2> output_v{};
  /// Where Kirchhoff's law gives its plate current: at its plate, or at its cathode.
  std::array<int, kSections> plate_row{};
  std::array<int, kSections> number{};  ///< which section of the design it is
  std::array<int, 2> output_row{};

  constexpr int unknowns() const { return locals + still; }

  constexpr int triodes() const { return sections - screens; }

  /// Derivatives of a row come from gm, 1/rp and grid slope of each section, then the output grids' slopes,
  /// then of a screen: plate current over screen, its own current over grid, plate and screen. The sign with
  /// which term q stands at row r, unknown j; 0: not at all.
  static constexpr int kPerScreen = 4;
  constexpr int terms() const { return first_of_screen() + kPerScreen * screens; }
  constexpr int first_of_screen() const { return 3 * sections + grids; }
  constexpr int term(int r, int j, int q) const {
    if (q >= first_of_screen()) {
      const int of = q - first_of_screen(), last = sections - 1;
      return of == 0   ? -plate_in[last][r] * screen_per[j]
             : of == 1 ? -screen_in[r] * grid_per[last][j]
             : of == 2 ? -screen_in[r] * plate_per[last][j]
                       : -screen_in[r] * screen_per[j];
    }
    if (q >= 3 * sections) return -output_grid_in[q - 3 * sections][r] * output_grid_per[q - 3 * sections][j];
    const int t = q / 3;
    return q % 3 == 0   ? -plate_in[t][r] * grid_per[t][j]
           : q % 3 == 1 ? -plate_in[t][r] * plate_per[t][j]
                        : -grid_in[t][r] * grid_per[t][j];
  }
  constexpr int terms_before(int r, int j, int q) const {
    int n = 0;
    for (int p = 0; p < q; ++p) n += term(r, j, p) != 0 ? 1 : 0;
    return n;
  }
  constexpr bool tube(int r, int j) const { return terms_before(r, j, terms()) > 0; }
};

constexpr Shape shape_of(const Circuit& c, Held held) {
  const Unknowns u = unknowns_of(c, held);
  const unknowns::Places linear = unknowns::linear_places(c, u, held);
  Shape s;
  s.locals = u.locals;
  s.still = u.still;
  s.sections = u.sections;
  s.grids = u.grids;
  s.outputs = c.outputs;
  s.output_row = u.output_row;
  const auto signed_char = [](int v) { return static_cast<signed char>(v); };
  for (int j = 0; j < s.unknowns(); ++j) {
    const int at = j < u.locals ? j : u.folded + j;
    for (int t = 0; t < u.sections; ++t) {
      const Element& e = c.element[u.triode[t]];
      s.grid_per[t][j] = signed_char(u.across(e.b, e.c, at));
      s.plate_per[t][j] = signed_char(u.across(e.a, e.c, at));
      s.plate_in[t][j] = signed_char(u.leaves(at, e.a, e.c));
      s.grid_in[t][j] = signed_char(u.leaves(at, e.b, e.c));
      s.plate_v[t][j] = signed_char(u.per(e.a, at));
      s.grid_v[t][j] = signed_char(u.per(e.b, at));
      s.cathode_v[t][j] = signed_char(u.per(e.c, at));
      const int at_plate = u.column[u.root[e.a]];
      s.plate_row[t] = at_plate >= 0 && at_plate < u.locals ? at_plate : u.column[u.root[e.c]];
      s.number[t] = e.section;
      if (e.screen == kNoNode) continue;
      s.screens = 1;
      s.screen_per[j] = signed_char(u.across(e.screen, e.c, at));
      s.screen_in[j] = signed_char(u.leaves(at, e.screen, e.c));
    }
    for (int g = 0; g < u.grids; ++g) {
      const Element& e = c.element[u.output_grid[g]];
      s.output_grid_per[g][j] = signed_char(u.across(e.a, e.b, at));
      s.output_grid_in[g][j] = signed_char(u.leaves(at, e.a, e.b));
    }
    for (int o = 0; o < c.outputs; ++o) s.output_v[o][j] = signed_char(u.per(c.output[o].node, at));
    s.supply_v[j] = signed_char(u.per(c.supply, at));
    for (int r = 0; r < s.unknowns(); ++r) s.linear[r][j] = linear[r < u.locals ? r : u.folded + r][at];
  }
  return s;
}

/// Not constexpr and defined nowhere: where the compiler would have to call it, it says so.
void the_tubes_of_these_circuits_hang_differently();

/// One shape for circuits whose tubes hang alike and whose linear parts differ. Others do not compile.
constexpr Shape joint(Shape a, const Shape& b) {
  if (a.locals != b.locals || a.still != b.still || a.sections != b.sections || a.grids != b.grids ||
      a.grid_per != b.grid_per || a.plate_per != b.plate_per || a.plate_in != b.plate_in ||
      a.grid_in != b.grid_in || a.output_grid_per != b.output_grid_per ||
      a.output_grid_in != b.output_grid_in || a.plate_v != b.plate_v || a.grid_v != b.grid_v ||
      a.cathode_v != b.cathode_v || a.supply_v != b.supply_v || a.output_v != b.output_v ||
      a.output_row != b.output_row)
    the_tubes_of_these_circuits_hang_differently();
  for (int r = 0; r < Shape::kMost; ++r)
    for (int j = 0; j < Shape::kMost; ++j) a.linear[r][j] = a.linear[r][j] || b.linear[r][j];
  return a;
}

}  // namespace antiphase
