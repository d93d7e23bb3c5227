#include "tests/reference/triode_lines.h"

#include <algorithm>
#include <cmath>

namespace antiphase::reference {
namespace {

// Sources of the equations:
//  koren_1996: N. Koren, "Improved vacuum tube models for SPICE simulations", Glass Audio 8 (1996) no. 5;
//    the grid offset vct is our own.
//  dempwolf_zoelzer_2011: K. Dempwolf, U. Zoelzer, "A physically-motivated triode model for circuit
//    simulations", DAFx-11, 2011.
//  grid diode of laws without grid current: the equation at the head of stagemodels/tubes/grid_diode.h; its
//    tail below 1e-14 A, which the project's own law leaves out, is written as it stands.
//  island_triode: the equations at the head of stagemodels/tubes/island_triode.h.
//  child_langmuir: C. D. Child, Phys. Rev. 32 (1911) 492; I. Langmuir, Phys. Rev. 2 (1913) 450.

/// ln(1 + e^x) in the library's expression language; never overflows.
std::string softplus(const std::string& x) {
  return "(max(" + x + ",0)+ln(1+exp(-abs(" + x + "))))";
}
double softplus(double x) {
  return std::max(x, 0.0) + std::log1p(std::exp(-std::abs(x)));
}

/// A constant; the brackets keep a sign from running into an operator.
std::string number(double value) {
  return "(" + exact(value) + ")";
}

std::string power(const std::string& base, double exponent) {
  return "(max(" + base + ",0)^" + number(exponent) + ")";
}

struct Expressions {
  std::string plate, grid;  ///< grid empty: draws no current
};

struct WriteExpressions {
  std::string vg, va;  ///< grid and plate to cathode, in the expression language

  Expressions operator()(const Koren1996& k) const {
    const std::string bent = "(" + number(1 / k.mu) + "+(" + vg + "+" + number(k.vct) + ")/sqrt(" +
                             number(k.kvb) + "+" + va + "*" + va + "))";
    const std::string e1 = "(" + va + "/" + number(k.kp) + "*" + softplus(number(k.kp) + "*" + bent) + ")";
    return {"2*" + power(e1, k.ex) + "/" + number(k.kg1), ""};
  }
  Expressions operator()(const ChildLangmuir& l) const {
    return {number(l.k) + "*" +
                power("(" + vg + "+" + va + "/" + number(l.mu) + "+" + number(l.offset_v) + ")", 1.5),
            ""};
  }
  Expressions operator()(const DempwolfZoelzer2011& d) const {
    const std::string ik =
        number(d.g) + "*" +
        power("(" + softplus(number(d.c) + "*(" + va + "/" + number(d.mu) + "+" + vg + ")") + "/" +
                  number(d.c) + ")",
              d.gamma);
    const std::string ig = "(" + number(d.gg) + "*" +
                           power("(" + softplus(number(d.cg) + "*" + vg) + "/" + number(d.cg) + ")", d.xi) +
                           "+" + number(d.ig0) + ")";
    return {ik + "-" + ig, ig};
  }
  Expressions operator()(const IslandTriode& l) const {
    const auto half_root = [&](const std::string& y) {
      return "((" + y + "+sqrt(" + y + "*" + y + "+" + number(0.09 * l.hold_from_v * l.hold_from_v) + "))/2)";
    };
    const std::string h = "(" + number(l.contact_v) + "+" + vg + "+" + number(1 - l.hold_share) + "*(" +
                          half_root("(-(" + vg + ")-" + number(l.hold_from_v) + ")") + "-" +
                          half_root(number(-l.hold_from_v)) + "))";
    const std::string d = "(" + number(l.foot_v) + "+" + number(l.foot_share / l.mu) + "*" + va + ")";
    const auto part = [&](double mu) {
      return power("(" + d + "*" + softplus("((" + h + "+" + va + "/" + number(mu) + ")/" + d + ")") + ")",
                   1.5);
    };
    return {number(l.perveance) + "*(" + number(1 - l.open_share) + "*" + part(l.mu) + "+" +
                number(l.open_share) + "*" + part(l.mu * l.open_mu_share) + ")*max(" + va + ",0)/sqrt(" +
                number(l.knee_v * l.knee_v) + "+" + va + "*" + va + ")",
            ""};
  }
};

struct Evaluate {
  double vg, va;

  PublishedCurrents operator()(const Koren1996& k) const {
    const double e1 = va / k.kp * softplus(k.kp * (1 / k.mu + (vg + k.vct) / std::sqrt(k.kvb + va * va)));
    return {e1 > 0 ? 2 * std::pow(e1, k.ex) / k.kg1 : 0.0, 0.0};
  }
  PublishedCurrents operator()(const ChildLangmuir& l) const {
    return {l.k * std::pow(std::max(vg + va / l.mu + l.offset_v, 0.0), 1.5), 0.0};
  }
  PublishedCurrents operator()(const DempwolfZoelzer2011& d) const {
    const double ig = d.gg * std::pow(softplus(d.cg * vg) / d.cg, d.xi) + d.ig0;
    const double ik = d.g * std::pow(softplus(d.c * (va / d.mu + vg)) / d.c, d.gamma);
    return {ik - ig, ig};
  }
  PublishedCurrents operator()(const IslandTriode& l) const {
    const auto half_root = [&](double y) { return (y + std::hypot(y, 0.3 * l.hold_from_v)) / 2; };
    const double h =
        l.contact_v + vg + (1 - l.hold_share) * (half_root(-vg - l.hold_from_v) - half_root(-l.hold_from_v));
    const double d = l.foot_v + l.foot_share * va / l.mu;
    const auto part = [&](double mu) { return std::pow(d * softplus((h + va / mu) / d), 1.5); };
    const double space = (1 - l.open_share) * part(l.mu) + l.open_share * part(l.mu * l.open_mu_share);
    return {va > 0 ? l.perveance * space * va / std::hypot(va, l.knee_v) : 0.0, 0.0};
  }
};

Netlist ammeters(const std::string& id, const SectionNodes& nodes) {
  return {"vip" + id + " " + nodes.plate + " xp" + id + " dc 0",
          "vig" + id + " " + nodes.grid + " xg" + id + " dc 0"};
}

}  // namespace

std::string grid_diode_current(const GridDiode& diode, const std::string& grid_v) {
  if (!diode.conducts()) return "0";
  return number(diode.siemens * diode.slope_v) + "*" +
         softplus("((" + grid_v + "-" + number(diode.knee_v) + ")/" + number(diode.slope_v) + ")");
}

Netlist triode_lines(const std::string& id, const SectionNodes& nodes, const TriodeLaw& law,
                     const GridDiode& diode) {
  Expressions i = std::visit(WriteExpressions{.vg = "v(xg" + id + "," + nodes.cathode + ")",
                                              .va = "v(xp" + id + "," + nodes.cathode + ")"},
                             law);
  if (i.grid.empty() && diode.conducts())
    i.grid = grid_diode_current(diode, "v(xg" + id + "," + nodes.cathode + ")");
  Netlist lines = ammeters(id, nodes);
  lines.push_back("bp" + id + " xp" + id + " " + nodes.cathode + " i=" + i.plate);
  // A grid that draws nothing still needs an element behind its ammeter.
  lines.push_back(i.grid.empty() ? "ig" + id + " xg" + id + " " + nodes.cathode + " dc 0"
                                 : "bg" + id + " xg" + id + " " + nodes.cathode + " i=" + i.grid);
  return lines;
}

Netlist linear_triode_lines(const std::string& id, const SectionNodes& nodes, double mu, double rp_ohm) {
  Netlist lines = ammeters(id, nodes);
  const std::string between = " xp" + id + " " + nodes.cathode + " ";
  lines.push_back("rp" + id + between + exact(rp_ohm));
  lines.push_back("gp" + id + between + "xg" + id + " " + nodes.cathode + " " + exact(mu / rp_ohm));
  lines.push_back("ig" + id + " xg" + id + " " + nodes.cathode + " dc 0");
  return lines;
}

PublishedCurrents published_currents(const TriodeLaw& law, double grid_to_cathode_v,
                                     double plate_to_cathode_v) {
  return std::visit(Evaluate{grid_to_cathode_v, plate_to_cathode_v}, law);
}

}  // namespace antiphase::reference
