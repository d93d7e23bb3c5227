#include "stagemodels/circuits/directions.h"

#include <algorithm>

#include "stagemodels/design_fields.h"

// Kirchhoff's equations at the free nodes, linearised at any rest point, are A dv = db. A is a sum of stamps
// g * row * column^T: one for each resistor, three for each triode (gm, gp and the grid's own conductance
// gg), where rows and columns are edges of a graph, +1 at one node and -1 at another. By Cauchy and Binet
//
//   det A = sum over S:  (product of the g in S) det(rows of S) det(columns of S),
//
// S being every set of as many stamps as there are nodes, and c^T adj(A) b is the same sum with one stamp of
// row b and column c in every set. Each set is a different product of positive numbers, and none of them
// comes twice, so that a sum whose terms have one sign has that sign for every design. Edges of a graph have
// determinants of 0 and +-1 only: integers are exact.

namespace antiphase {
namespace {

constexpr int kMostTermsTried = 200000;  // more sets of stamps than that are not looked through

bool carries_direct_current(const Element& e) {
  return (e.kind == ElementKind::resistor && e.role != Role::feedback) || e.kind == ElementKind::sink;
}
bool is_held(const Element& e) {
  return e.kind == ElementKind::held || e.kind == ElementKind::driven;
}

/// The vector w with w * x = det(rows, x) for every x, for dim - 1 rows; false if they depend on each other.
template <class Vector>
bool cofactors(std::array<Vector, 16>& rows, int dim, Vector& w) {
  std::array<int, 16> pivot{};
  int sign = 1, free_column = -1, rank = 0;
  for (int column = 0; column < dim; ++column) {
    int r = rank;
    while (r < dim - 1 && rows[static_cast<std::size_t>(r)][static_cast<std::size_t>(column)] == 0) ++r;
    if (r == dim - 1) {
      if (free_column >= 0) return false;
      free_column = column;
      continue;
    }
    const auto c = static_cast<std::size_t>(column);
    Vector& p = rows[static_cast<std::size_t>(rank)];
    if (r != rank) {
      std::swap(p, rows[static_cast<std::size_t>(r)]);
      sign = -sign;
    }
    if (p[c] < 0) {
      for (auto& v : p) v = static_cast<std::int8_t>(-v);
      sign = -sign;
    }
    for (int i = 0; i < dim - 1; ++i) {
      Vector& row = rows[static_cast<std::size_t>(i)];
      if (i == rank || row[c] == 0) continue;
      const int times = row[c];
      for (int k = 0; k < dim; ++k) {
        const auto n = static_cast<std::size_t>(k);
        row[n] = static_cast<std::int8_t>(row[n] - times * p[n]);
      }
    }
    pivot[static_cast<std::size_t>(rank++)] = column;
  }
  if ((dim - 1 - free_column) % 2 != 0) sign = -sign;
  w = Vector{};
  w[static_cast<std::size_t>(free_column)] = static_cast<std::int8_t>(sign);
  for (int i = 0; i < rank; ++i) {
    const auto n = static_cast<std::size_t>(i);
    w[static_cast<std::size_t>(pivot[n])] =
        static_cast<std::int8_t>(-sign * rows[n][static_cast<std::size_t>(free_column)]);
  }
  return true;
}

template <class Vector>
int dot(const Vector& a, const Vector& b) {
  int sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
  return sum;
}

}  // namespace

Directions::Directions(const Circuit& circuit, const Design& forms) : circuit_(circuit), like_(forms) {
  double number = 1;
  for (const DesignField& member : design_fields()) member.at(like_) = number *= 1.1;
  for (const Element& e : circuit_)
    if (is_held(e)) held_[static_cast<std::size_t>(e.a)] = true;
  // A screen's current falls as the plate takes more, which the proof has no place for.
  for (const Element& e : circuit_)
    if (e.screen != kNoNode) return;
  const auto free = [&](Node n) { return n > kGround && !held_[static_cast<std::size_t>(n)]; };

  // Free nodes that currents of a triode can reach; what hangs elsewhere, behind capacitors, plays no part.
  std::array<bool, Circuit::kMostNodes> reached{};
  for (bool more = true; more;) {
    more = false;
    for (const Element& e : circuit_) {
      if (e.kind != ElementKind::triode && !carries_direct_current(e)) continue;
      bool any = e.kind == ElementKind::triode;
      for (const Node n : {e.a, e.b, e.c}) any |= free(n) && reached[static_cast<std::size_t>(n)];
      for (const Node n : {e.a, e.b, e.c})
        if (any && free(n) && !reached[static_cast<std::size_t>(n)])
          more = reached[static_cast<std::size_t>(n)] = true;
    }
  }
  for (Node n = 0; n < circuit_.nodes; ++n)
    place_[static_cast<std::size_t>(n)] =
        reached[static_cast<std::size_t>(n)] ? static_cast<std::int8_t>(free_++) : std::int8_t{-1};
  if (free_ < 1 || free_ + 1 > kMostDim) return;

  const auto here = [&](Node n) { return n >= 0 && place_[static_cast<std::size_t>(n)] >= 0; };
  for (const Element& e : circuit_) {
    const auto add = [&](const Element* resistor) {
      if (stamps_.size() == kMostStamps) return false;
      if (!resistor) triodes_ |= 1U << stamps_.size();
      stamps_.push_back({{}, {}, resistor});  // edges are set in terms(), where the held node is known
      return true;
    };
    if (e.kind == ElementKind::triode) {
      for (int k = 0; k < 3; ++k)
        if (!add(nullptr)) return;
    } else if (e.kind == ElementKind::resistor && carries_direct_current(e) && (here(e.a) || here(e.b))) {
      if (!add(&e)) return;
    }
  }
  double sets = 1;
  for (int k = 0; k < free_; ++k)
    sets *= static_cast<double>(stamps_.size() - static_cast<std::size_t>(k)) / (k + 1);
  if (sets > kMostTermsTried) return;

  injected_ = terms(kNoNode);
  for (Node n = 0; n < circuit_.nodes; ++n)
    if (held_[static_cast<std::size_t>(n)]) held_terms_.push_back({n, terms(n)});
  known_ = !held_terms_.empty() && determinant(0) == Way::rises && determinant(triodes_) == Way::rises;
}

int Directions::place(Node n, Node held) const {
  if (n < 0) return -1;
  if (n == held) return free_;
  return place_[static_cast<std::size_t>(n)];
}

Directions::Vector Directions::edge(Node a, Node b, Node held) const {
  Vector v{};
  if (const int p = place(a, held); p >= 0) v[static_cast<std::size_t>(p)] += 1;
  if (const int p = place(b, held); p >= 0) v[static_cast<std::size_t>(p)] -= 1;
  return v;
}

/// With a held node: its voltage is the last column, and its row is left to be put in.
Directions::Terms Directions::terms(Node held) const {
  std::vector<Stamp> stamps;
  std::size_t next = 0;
  for (const Element& e : circuit_) {
    if (e.kind == ElementKind::triode) {
      const Vector plate_row = edge(e.a, e.c, kNoNode), grid_row = edge(e.b, e.c, kNoNode);
      const Vector grid_column = edge(e.b, e.c, held);
      stamps.push_back({plate_row, grid_column});
      stamps.push_back({plate_row, edge(e.a, e.c, held)});
      stamps.push_back({grid_row, grid_column});
      next += 3;
    } else if (next < stamps_.size() && stamps_[next].resistor == &e) {
      stamps.push_back({edge(e.a, e.b, kNoNode), edge(e.a, e.b, held), &e});
      ++next;
    }
  }
  const int dim = held == kNoNode ? free_ : free_ + 1, size = dim - 1,
            count = static_cast<int>(stamps.size());
  Terms out;
  std::array<int, kMostDim> chosen{};
  std::array<Vector, 16> rows;
  for (int i = 0; i < size; ++i) chosen[static_cast<std::size_t>(i)] = i;
  while (size <= count) {
    Term term{};
    for (int i = 0; i < size; ++i) {
      const int k = chosen[static_cast<std::size_t>(i)];
      rows[static_cast<std::size_t>(i)] = stamps[static_cast<std::size_t>(k)].row;
      term.stamps |= 1U << k;
    }
    if (cofactors(rows, dim, term.row)) {
      for (int i = 0; i < size; ++i)
        rows[static_cast<std::size_t>(i)] =
            stamps[static_cast<std::size_t>(chosen[static_cast<std::size_t>(i)])].column;
      if (cofactors(rows, dim, term.column)) out.push_back(term);
    }
    int i = size - 1;  // the next set, in lexicographic order
    while (i >= 0 && chosen[static_cast<std::size_t>(i)] == count - size + i) --i;
    if (i < 0) break;
    ++chosen[static_cast<std::size_t>(i)];
    for (int k = i + 1; k < size; ++k)
      chosen[static_cast<std::size_t>(k)] = chosen[static_cast<std::size_t>(k - 1)] + 1;
  }
  return out;
}

/// Of the determinant with `row` and `column` put in, of the terms that hold none of the stamps `without`.
Way Directions::sign(const Terms& terms, const Vector& row, const Vector& column, std::uint32_t without) {
  bool above = false, below = false;
  for (const Term& t : terms) {
    if ((t.stamps & without) != 0) continue;
    const int v = dot(t.row, row) * dot(t.column, column);
    above |= v > 0;
    below |= v < 0;
  }
  return above && below ? Way::unknown : above ? Way::rises : below ? Way::falls : Way::stays;
}

/// Of det A with some stamps taken out.
Way Directions::determinant(std::uint32_t without) const {
  if (held_terms_.empty()) return Way::unknown;
  Vector last{};
  last[static_cast<std::size_t>(free_)] = 1;
  return sign(held_terms_.front().terms, last, last, without);
}

/// The resistors that a current goes through.
std::uint32_t Directions::between(const RestQuantity& q) const {
  std::uint32_t found = 0;
  for (std::size_t i = 0; i < stamps_.size(); ++i)
    if (const Element* r = stamps_[i].resistor)
      if ((r->a == q.a && r->b == q.b) || (r->a == q.b && r->b == q.a)) found |= 1U << i;
  return found;
}

Way Directions::with_held(const RestQuantity& q, Node held) const {
  if (!known_) return Way::unknown;
  if (q.kind == RestQuantity::current && between(q) == 0) return Way::stays;  // a sink keeps its current
  Vector last{};
  last[static_cast<std::size_t>(free_)] = 1;
  for (const Held& h : held_terms_)
    if (h.node == held) return sign(h.terms, last, edge(q.a, q.b, held), 0);
  return Way::unknown;
}

Way Directions::sign_of_current(const Element& resistor) const {
  if (!known_) return Way::unknown;
  // The resistors alone, fed by the currents of the tubes and sinks and by what is held.
  const auto fed = [&](Node from, Node to) {
    return sign(injected_, edge(to, from, kNoNode), edge(resistor.a, resistor.b, kNoNode), triodes_);
  };
  Way all = Way::stays;
  for (const Element& e : circuit_) {
    if (e.kind == ElementKind::triode) {
      all = sum(all, fed(e.a, e.c));
      all = sum(all, fed(e.b, e.c));
    } else if (e.kind == ElementKind::sink) {
      all = sum(all, fed(e.a, e.b));
    } else if (is_held(e) && e.member) {
      const Way volts = e.member->low >= 0 ? Way::rises : e.member->high <= 0 ? Way::falls : Way::unknown;
      Vector last{};
      last[static_cast<std::size_t>(free_)] = 1;
      for (const Held& h : held_terms_)
        if (h.node == e.a)
          all = sum(all, product(volts, sign(h.terms, last, edge(resistor.a, resistor.b, e.a), triodes_)));
    }
  }
  return all;
}

/// As the element's own value grows.
Way Directions::with_element(const RestQuantity& q, const Element& e) const {
  const bool current = q.kind == RestQuantity::current;
  const std::uint32_t through = current ? between(q) : 0;
  const bool along = e.a == q.a && e.b == q.b, against = e.a == q.b && e.b == q.a;
  const Vector asked = edge(q.a, q.b, kNoNode), at = edge(e.a, e.b, kNoNode);
  if (is_held(e)) return with_held(q, e.a);
  if (e.kind == ElementKind::sink) {
    if (current && (along || against)) {  // what its own resistance does not give back
      const Way rest = determinant(through);
      return along ? rest : opposite(rest);
    }
    if (current && through == 0) return Way::stays;
    return opposite(sign(injected_, at, asked, 0));
  }
  // A larger resistor is as a current put in at its end a and taken out at b, in the sense of its own
  // current.
  const Way own = sign_of_current(e);
  if (current && (along || against)) {
    const Way rest = product(own, determinant(through));
    return along ? opposite(rest) : rest;
  }
  if (current && through == 0) return Way::stays;
  return product(own, sign(injected_, at, asked, 0));
}

/// The way an element's value goes with a member.
Way Directions::value_with(const Element& e, const DesignField& member) const {
  if (!e.own) return e.member == &member ? Way::rises : Way::stays;
  Design d = like_;
  double& at = member.at(d);
  const double before = at, from = e.value(d);
  at = 1.1 * before;
  const double to = e.value(d);
  return to > from ? Way::rises : to < from ? Way::falls : Way::stays;
}

Way Directions::with(const RestQuantity& q, const DesignField& member) const {
  if (!known_) return Way::unknown;
  Way all = Way::stays;
  for (const Element& e : circuit_) {
    const bool resistor = e.kind == ElementKind::resistor && carries_direct_current(e) &&
                          (place(e.a, kNoNode) >= 0 || place(e.b, kNoNode) >= 0);
    if (!resistor && e.kind != ElementKind::sink && !is_held(e)) continue;
    const Way value = value_with(e, member);
    if (value == Way::stays) continue;
    all = sum(all, product(value, with_element(q, e)));
  }
  return all;
}

}  // namespace antiphase
