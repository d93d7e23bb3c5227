#include "tests/reference/readings.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tests/reference/circuit_library.h"
#include "tests/reference/netlist.h"
#include "tests/reference/triode_lines.h"

namespace antiphase::reference {
namespace {

/// Amplitude of cos(order phase); order 0 gives the mean.
double harmonic(const Curve& y, int order) {
  Curve turned(y.size());
  const double step = std::numbers::pi / static_cast<double>(y.size() - 1);
  for (std::size_t k = 0; k < y.size(); ++k) {
    turned[k] = y[k] * std::cos(order * static_cast<double>(k) * step);
  }
  return order == 0 ? mean(turned) : 2 * mean(turned);
}

template <class Of>
Curve curve(std::size_t instants, Of of) {
  Curve y(instants);
  for (std::size_t k = 0; k < instants; ++k) y[k] = of(k);
  return y;
}
double highest(const Curve& y) {
  return *std::max_element(y.begin(), y.end());
}
double lowest(const Curve& y) {
  return *std::min_element(y.begin(), y.end());
}

double tail_foot_v(const Design& d) {
  return d.bias.form == BiasForm::negative_rail ? d.bias.rail_v : 0;
}

/// A bias resistor, on whose lower end the grids' leaks hang.
bool has_bias_resistor(const Design& d) {
  return d.bias.form == BiasForm::self_biased && !is_paraphase(d);
}

double tail_current(const Design& d, double across_v) {
  if (is_split_load(d)) return across_v / d.plate_ohm[1];
  if (is_paraphase(d)) return across_v / d.cathode_ohm;
  return d.tail.form == TailForm::resistor ? across_v / d.tail.ohm
                                           : d.tail.current_a + across_v / d.tail.output_ohm;
}

Curve tail_voltage(const Design& d, const Readings& r) {
  const Curve& top = has_bias_resistor(d) ? r.leak_node_v : r.cathode_v;
  return curve(r.instants(), [&](std::size_t k) { return top[k] - tail_foot_v(d); });
}

double slope_of(const TriodeLaw& law, const SectionRest& at) {
  constexpr double kStep_v = 1e-4;
  const auto plate_a = [&](double g) { return published_currents(law, g, at.plate_to_cathode_v).plate_a; };
  return (plate_a(at.grid_to_cathode_v + kStep_v) - plate_a(at.grid_to_cathode_v - kStep_v)) / (2 * kStep_v);
}

/// Slopes of the law at the rest point, by central differences of its published equation.
void add_slopes(const Design& d, OperatingPoint& point) {
  for (std::size_t i = 0; i < 2; ++i) {
    if (!d.tube[i] || (i == 1 && (is_split_load(d) || d.circuit == CircuitKind::common_cathode))) continue;
    const double vg = point.grid_to_cathode_v[i], va = point.plate_to_cathode_v[i];
    const double grid_step = 1e-4, plate_step = 1e-2;  // truncation and rounding both below 1e-7 of the slope
    const auto plate_a = [&](double g, double a) {
      return published_currents(d.tube[i]->law(), g, a).plate_a;
    };
    point.gm_s[i] = (plate_a(vg + grid_step, va) - plate_a(vg - grid_step, va)) / (2 * grid_step);
    point.rp_ohm[i] = 2 * plate_step / (plate_a(vg, va + plate_step) - plate_a(vg, va - plate_step));
    point.mu[i] = point.gm_s[i] * point.rp_ohm[i];
  }
  for (SectionRest& own : point.driver)
    if (has_driver(d)) own.gm_s = slope_of(d.driver.tube->law(), own);
  if (!has_first_stage(d)) return;
  SectionRest& f = point.first;
  const double vg = f.grid_to_cathode_v, va = f.plate_to_cathode_v, grid_step = 1e-4, plate_step = 1e-2;
  const auto plate_a = [&](double g, double a) {
    return published_currents(d.first_stage.tube->law(), g, a).plate_a;
  };
  f.gm_s = (plate_a(vg + grid_step, va) - plate_a(vg - grid_step, va)) / (2 * grid_step);
  f.rp_ohm = 2 * plate_step / (plate_a(vg, va + plate_step) - plate_a(vg, va - plate_step));
  f.mu = f.gm_s * f.rp_ohm;
}

double distortion_pct(const std::array<double, kHarmonics + 1>& c) {
  double sum = 0;
  for (int h = 2; h <= kHarmonics; ++h)
    sum += c[static_cast<std::size_t>(h)] * c[static_cast<std::size_t>(h)];
  return 100 * std::sqrt(sum) / std::abs(c[1]);
}

}  // namespace

Readings::Readings(const Design& design, bool output_grids)
    : split_load_(is_split_load(design)),
      pair_(!split_load_ && design.circuit != CircuitKind::common_cathode) {
  CircuitLibrary& library = CircuitLibrary::instance();
  supply_a = library.real("vb#branch");
  for (double& a : supply_a) a = -a;  // the library counts current into the source
  supply_v = library.real("b");
  cathode_v = library.real("c");
  leak_node_v = outputs() == 2 && has_bias_resistor(design) ? library.real("s") : zero();
  for (int i = 0; i < sections(); ++i) {
    const std::string id = std::to_string(i + 1);
    plate_v.push_back(library.real("p" + id));
    grid_v.push_back(library.real("g" + id));
    plate_a.push_back(library.real("vip" + id + "#branch"));
    grid_a.push_back(library.real("vig" + id + "#branch"));
  }
  for (int i = 0; i < outputs(); ++i) {
    const std::string id = std::to_string(i + 1);
    output_v.push_back(library.real("o" + id));
    output_grid_a.push_back(output_grids ? library.real("vog" + id + "#branch") : zero());
  }
  if (has_first_stage(design))
    first = First{library.real("pf"), library.real("gf"), library.real("cf"), library.real("vip3#branch"),
                  library.real("vig3#branch")};
  for (int i = 0; i < 2 && has_driver(design); ++i) {
    const bool pair = design.driver.form == DriverForm::long_tailed_pair;
    const std::string id = std::to_string(i + 1), number = std::to_string(i + 4);
    driver.push_back({library.real(pair ? "pd" + id : "b"), library.real("gd" + id),
                      library.real(pair ? "cd" : "o" + id), library.real("vip" + number + "#branch"),
                      library.real("vig" + number + "#branch")});
  }
}

double mean(const Curve& y) {
  if (y.size() == 1) return y[0];
  double sum = 0.5 * (y.front() + y.back());
  for (std::size_t k = 1; k + 1 < y.size(); ++k) sum += y[k];
  return sum / static_cast<double>(y.size() - 1);
}

namespace {

/// From an output into the resistor that leads to grid 2. At rest it comes through the load and not from the
/// plate.
double divider_a(const Design& d, const Readings& r, std::size_t output, std::size_t k) {
  if (!is_paraphase(d) || (output == 1 && !is_floating(d))) return 0;
  const double ohm = output == 0 ? d.divider_ohm : d.balancing_ohm;
  return (r.output_v[output][k] - r.grid_v[1][k]) / ohm;
}

}  // namespace

namespace {

/// What an output of the splitter gives: into the load, or into a driver's grid and its leak.
double given_a(const Design& d, const Readings& r, std::size_t output, std::size_t k) {
  if (r.driver.empty()) return r.output_v[output][k] / d.load_ohm + r.output_grid_a[output][k];
  const Readings::First& driver = r.driver[output];
  return (driver.grid_v[k] - d.driver.bias_v) / d.driver.grid_leak_ohm + driver.grid_a[k];
}

/// What is left over at a driver's plates and cathodes.
double left_over_a(const Design& d, const Readings& r, std::size_t k) {
  double worst = 0, cathodes_a = 0;
  for (std::size_t i = 0; i < r.driver.size(); ++i) {
    const Readings::First& own = r.driver[i];
    const double load_a = r.output_v[i][k] / d.load_ohm + r.output_grid_a[i][k];
    const double cathode_a = own.plate_a[k] + own.grid_a[k];
    const double through_a = (own.cathode_v[k] - d.driver.rail_v) / d.driver.cathode_ohm;
    cathodes_a += cathode_a - 0.5 * through_a;
    const double left = d.driver.form == DriverForm::cathode_followers
                            ? cathode_a - through_a - load_a
                            : (r.supply_v[k] - own.plate_v[k]) / d.driver.plate_ohm - own.plate_a[k] - load_a;
    worst = std::max(worst, std::abs(left));
  }
  return d.driver.form == DriverForm::long_tailed_pair ? std::max(worst, std::abs(cathodes_a)) : worst;
}

}  // namespace

double kirchhoff(const Design& d, const Readings& r) {
  double worst = 0;
  const auto node = [&](double sum) { worst = std::max(worst, std::abs(sum)); };
  const Curve tail_v = r.outputs() == 2 ? tail_voltage(d, r) : r.zero();
  for (std::size_t k = 0; k < r.instants(); ++k) {
    double cathode_a = 0;
    for (std::size_t i = 0; i < r.plate_v.size(); ++i) {
      node((r.supply_v[k] - r.plate_v[i][k]) / d.plate_ohm[i] - r.plate_a[i][k] - given_a(d, r, i, k) -
           divider_a(d, r, i, k));
      cathode_a += r.plate_a[i][k] + r.grid_a[i][k];
    }
    node(left_over_a(d, r, k));
    if (r.first) {
      // Into the pair goes what its grid 1 and the leak there take.
      const bool direct = d.bias.form == BiasForm::direct_coupled;
      const bool no_leak = direct && is_split_load(d);
      const double foot = direct && !no_leak ? r.grid_v[1][k] : r.leak_node_v[k];
      const double leak_a = no_leak ? 0 : (r.grid_v[0][k] - foot) / d.grid_leak_ohm;
      node((r.supply_v[k] - r.first->plate_v[k]) / d.first_stage.plate_ohm - r.first->plate_a[k] -
           r.grid_a[0][k] - (direct || r.instants() > 1 ? leak_a : 0.0) +
           (!direct && r.instants() == 1 ? r.grid_a[0][k] : 0.0));
    }
    if (is_paraphase(d)) {  // of the cathodes a held bypass carries what is left
      node(divider_a(d, r, 0, k) + divider_a(d, r, 1, k) - r.grid_v[1][k] / d.divider_foot_ohm -
           r.grid_a[1][k]);
      continue;
    }
    if (is_split_load(d)) {
      // What runs from the cathode load into its output takes the place of the tail.
      const double below_a = tail_v[k] / d.plate_ohm[1] + given_a(d, r, 1, k);
      if (d.bias.form == BiasForm::self_biased) {
        const double bias_a = (r.cathode_v[k] - r.leak_node_v[k]) / d.bias.ohm;
        node(cathode_a - bias_a);
        node(bias_a + (r.grid_v[0][k] - r.leak_node_v[k]) / d.grid_leak_ohm - below_a);
      } else {
        node(cathode_a - below_a);
      }
      continue;
    }
    if (r.sections() == 1) continue;  // a held bypass carries what is left there
    if (d.bias.form != BiasForm::self_biased) {
      node(cathode_a - tail_current(d, tail_v[k]));
      continue;
    }
    const double bias_a = (r.cathode_v[k] - r.leak_node_v[k]) / d.bias.ohm;
    const double leaks_a = (r.grid_v[0][k] + r.grid_v[1][k] - 2 * r.leak_node_v[k]) / d.grid_leak_ohm;
    node(cathode_a - bias_a);
    node(bias_a + leaks_a - tail_current(d, tail_v[k]));
  }
  return worst;
}

OperatingPoint operating_point(const Design& d, const Readings& r) {
  OperatingPoint point;
  point.solved = Solved::yes;
  point.supply_v = r.supply_v[0];
  point.cathode_v = r.cathode_v[0];
  point.supply_current_a = r.supply_a[0];
  if (r.outputs() == 2) {
    if (has_bias_resistor(d)) point.leak_node_v = r.leak_node_v[0];
    if (d.bias.form == BiasForm::direct_coupled) {
      // Where a leak would end: of a split load at the grid itself, behind the source's resistance.
      const bool at_grid = r.first || is_split_load(d);
      point.leak_node_v = at_grid ? r.grid_v[0][0] : d.bias.grid_v;
    }
    point.tail_v = tail_voltage(d, r)[0];
    point.tail_current_a = tail_current(d, point.tail_v);
    point.tail_fraction = point.tail_v / (point.supply_v - tail_foot_v(d));
  }
  for (std::size_t i = 0; i < r.plate_v.size(); ++i) {
    point.plate_v[i] = r.plate_v[i][0];
    point.grid_v[i] = r.grid_v[i][0];
    point.plate_current_a[i] = r.plate_a[i][0];
    point.grid_current_a[i] = r.grid_a[i][0];
    point.grid_to_cathode_v[i] = point.grid_v[i] - point.cathode_v;
    point.plate_to_cathode_v[i] = point.plate_v[i] - point.cathode_v;
    point.plate_dissipation_w[i] = point.plate_to_cathode_v[i] * point.plate_current_a[i];
  }
  if (r.first) {
    SectionRest& f = point.first;
    f.plate_v = r.first->plate_v[0];
    f.grid_v = r.first->grid_v[0];
    f.cathode_v = r.first->cathode_v[0];
    f.plate_current_a = r.first->plate_a[0];
    f.grid_current_a = r.first->grid_a[0];
    f.grid_to_cathode_v = f.grid_v - f.cathode_v;
    f.plate_to_cathode_v = f.plate_v - f.cathode_v;
    f.plate_dissipation_w = f.plate_to_cathode_v * f.plate_current_a;
  }
  for (std::size_t i = 0; i < r.driver.size(); ++i) {
    SectionRest& own = point.driver[i];
    own.plate_v = r.driver[i].plate_v[0];
    own.grid_v = r.driver[i].grid_v[0];
    own.cathode_v = r.driver[i].cathode_v[0];
    own.plate_current_a = r.driver[i].plate_a[0];
    own.grid_current_a = r.driver[i].grid_a[0];
    own.grid_to_cathode_v = own.grid_v - own.cathode_v;
    own.plate_to_cathode_v = own.plate_v - own.cathode_v;
    own.plate_dissipation_w = own.plate_to_cathode_v * own.plate_current_a;
  }
  add_slopes(d, point);
  return point;
}

SteadyState cycle_figures(const Design& d, const Readings& r, double input_peak_v) {
  SteadyState s;
  s.solved = Solved::yes;
  s.input_peak_v = input_peak_v;
  s.supply_v = mean(r.supply_v);
  for (std::size_t i = 0; i < r.output_v.size(); ++i) {
    for (int h = 0; h <= kHarmonics; ++h)
      s.harmonic_v[i][static_cast<std::size_t>(h)] = harmonic(r.output_v[i], h);
    s.output_peak_v[i] = std::abs(s.harmonic_v[i][1]);
    s.thd_pct[i] = distortion_pct(s.harmonic_v[i]);
  }
  for (std::size_t i = 0; i < r.plate_v.size(); ++i) {
    const auto over = [&](auto of) { return curve(r.instants(), of); };
    const Curve to_cathode = over([&](std::size_t k) { return r.plate_v[i][k] - r.cathode_v[k]; });
    const Curve cathode_a = over([&](std::size_t k) { return r.plate_a[i][k] + r.grid_a[i][k]; });
    s.grid_to_cathode_peak_v[i] =
        highest(over([&](std::size_t k) { return r.grid_v[i][k] - r.cathode_v[k]; }));
    s.grid_mean_v[i] = mean(r.grid_v[i]);
    s.plate_current_low_a[i] = lowest(r.plate_a[i]);
    s.plate_dissipation_w[i] = mean(over([&](std::size_t k) { return to_cathode[k] * r.plate_a[i][k]; }));
    s.cathode_current_mean_a[i] = mean(cathode_a);
    s.cathode_current_peak_a[i] = highest(cathode_a);
    s.plate_to_cathode_peak_v[i] = highest(to_cathode);
  }
  for (std::size_t i = 0; i < r.driver.size(); ++i) {
    const Readings::First& w = r.driver[i];
    s.driver[i].grid_to_cathode_peak_v =
        highest(curve(r.instants(), [&](std::size_t k) { return w.grid_v[k] - w.cathode_v[k]; }));
    s.driver[i].plate_current_low_a = lowest(w.plate_a);
  }
  if (r.first) {
    SectionState& f = s.first;
    const Readings::First& w = *r.first;
    for (int h = 0; h <= kHarmonics; ++h) f.harmonic_v[static_cast<std::size_t>(h)] = harmonic(w.plate_v, h);
    f.thd_pct = distortion_pct(f.harmonic_v);
    const auto over = [&](auto of) { return curve(r.instants(), of); };
    const Curve to_cathode = over([&](std::size_t k) { return w.plate_v[k] - w.cathode_v[k]; });
    const Curve cathode_a = over([&](std::size_t k) { return w.plate_a[k] + w.grid_a[k]; });
    f.grid_to_cathode_peak_v = highest(over([&](std::size_t k) { return w.grid_v[k] - w.cathode_v[k]; }));
    f.grid_mean_v = mean(w.grid_v);
    f.plate_current_low_a = lowest(w.plate_a);
    f.plate_dissipation_w = mean(over([&](std::size_t k) { return to_cathode[k] * w.plate_a[k]; }));
    f.cathode_current_mean_a = mean(cathode_a);
    f.cathode_current_peak_a = highest(cathode_a);
    f.plate_to_cathode_peak_v = highest(to_cathode);
    f.cathode_low_v = lowest(w.cathode_v);
    f.cathode_high_v = highest(w.cathode_v);
  }
  s.cathode_low_v = lowest(r.cathode_v);
  s.cathode_high_v = highest(r.cathode_v);
  s.supply_current_a = mean(r.supply_a);
  if (r.outputs() == 2) {
    for (std::size_t h = 0; h <= kHarmonics; ++h) {
      s.harmonic_differential_v[h] = s.harmonic_v[0][h] - s.harmonic_v[1][h];
    }
    s.thd_differential_pct = distortion_pct(s.harmonic_differential_v);
    s.balance_pct =
        200 * (s.output_peak_v[0] - s.output_peak_v[1]) / (s.output_peak_v[0] + s.output_peak_v[1]);
    s.tail_low_v = lowest(tail_voltage(d, r));
  }
  return s;
}

}  // namespace antiphase::reference
