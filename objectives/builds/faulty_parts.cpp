#include "objectives/builds/faulty_parts.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/builds/build_model.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/network.h"

namespace antiphase {
namespace {

constexpr double kNothing_s = 1e-15, kShort_s = 1e3;
constexpr double kShown_hz = 1e3;  // any: at mid-band nothing hangs on it
/// An open part still has insulation around it; without it a node that nothing else holds would have no
/// voltage to speak of.
constexpr double kOpen_s = 1 / kInsulation_ohm;

bool always(const Design&) {
  return true;
}
bool pair(const Design& d) {
  return sections(d.circuit) == 2;
}
bool gain_stage(const Design& d) {
  return d.circuit == CircuitKind::common_cathode;
}
bool chain(const Design& d) {
  return has_first_stage(d);
}
bool coupled_chain(const Design& d) {
  return chain(d) && !direct_first_stage(d);
}
bool first_bypassed(const Design& d) {
  return chain(d) && d.first_stage.cathode_unbypassed_ohm < d.first_stage.cathode_ohm;
}
bool self_biased(const Design& d) {
  return pair(d) && d.bias.form == BiasForm::self_biased;
}
bool tail_resistor(const Design& d) {
  return pair(d) && d.tail.form == TailForm::resistor;
}
bool self_biased_on_resistor(const Design& d) {
  return self_biased(d) &&
         tail_resistor(d);  // a sink without current is saturated, which its Norton form is not
}
bool input_capacitor(const Design& d) {
  return !grids_given(d);
}
bool bypassed(const Design& d) {
  return gain_stage(d) && d.cathode_unbypassed_ohm < d.cathode_ohm;
}

using F = FaultKind;
constexpr std::array kFaults{
    FaultRow{F::none, "none", "nothing", always},
    FaultRow{F::plate_resistor_1_open, "plate_resistor_1_open", "plate resistor 1 open", always},
    FaultRow{F::plate_resistor_2_open, "plate_resistor_2_open", "plate resistor 2 open", pair},
    FaultRow{F::tail_open, "tail_open", "tail open", pair},
    FaultRow{F::tail_shorted, "tail_shorted", "tail shorted", tail_resistor},
    FaultRow{F::bias_resistor_open, "bias_resistor_open", "bias resistor open", self_biased_on_resistor},
    FaultRow{F::bias_resistor_shorted, "bias_resistor_shorted", "bias resistor shorted", self_biased},
    FaultRow{F::cathode_resistor_open, "cathode_resistor_open", "cathode resistor open", gain_stage},
    FaultRow{F::cathode_bypass_shorted, "cathode_bypass_shorted", "cathode bypass shorted", bypassed},
    FaultRow{F::section_1_dead, "section_1_dead", "section 1 dead", always},
    FaultRow{F::section_2_dead, "section_2_dead", "section 2 dead", pair},
    FaultRow{F::both_sections_dead, "both_sections_dead", "both sections dead", pair},
    FaultRow{F::input_capacitor_leaks, "input_capacitor_leaks", "input capacitor leaks", input_capacitor},
    FaultRow{F::output_capacitor_1_leaks, "output_capacitor_1_leaks", "output capacitor 1 leaks", always},
    FaultRow{F::output_capacitor_2_leaks, "output_capacitor_2_leaks", "output capacitor 2 leaks", pair},
    FaultRow{F::grid_2_to_ground, "grid_2_to_ground", "grid 2 bypass shorted", pair},
    FaultRow{F::first_plate_resistor_open, "first_plate_resistor_open", "1st plate resistor open", chain},
    FaultRow{F::first_cathode_resistor_open, "first_cathode_resistor_open", "1st cathode resistor open",
             chain},
    FaultRow{F::first_cathode_bypass_shorted, "first_cathode_bypass_shorted", "1st bypass shorted",
             first_bypassed},
    FaultRow{F::first_section_dead, "first_section_dead", "1st section dead", chain},
    FaultRow{F::capacitor_between_stages_leaks, "capacitor_between_stages_leaks", "capacitor between leaks",
             coupled_chain},
    FaultRow{F::output_capacitor_1_open, "output_capacitor_1_open", "output capacitor 1 open", always},
    FaultRow{F::output_capacitor_2_open, "output_capacitor_2_open", "output capacitor 2 open", pair},
    FaultRow{F::grid_2_bypass_open, "grid_2_bypass_open", "grid 2 bypass open", pair},
    FaultRow{F::cathode_bypass_open, "cathode_bypass_open", "cathode bypass open", bypassed},
    FaultRow{F::first_cathode_bypass_open, "first_cathode_bypass_open", "1st bypass open", first_bypassed},
    FaultRow{F::capacitor_between_stages_open, "capacitor_between_stages_open", "capacitor between open",
             coupled_chain},
};

std::optional<Capacitor> opened_by(FaultKind fault) {
  switch (fault) {
    case F::output_capacitor_1_open:
      return Capacitor::coupling_1;
    case F::output_capacitor_2_open:
      return Capacitor::coupling_2;
    case F::grid_2_bypass_open:
      return Capacitor::grid_bypass;
    case F::cathode_bypass_open:
      return Capacitor::cathode_bypass;
    case F::first_cathode_bypass_open:
      return Capacitor::first_cathode_bypass;
    case F::capacitor_between_stages_open:
      return Capacitor::between_stages;
    default:
      return std::nullopt;
  }
}

/// Nodes: the unknown ones first, then those that are held.
enum Node : std::size_t {
  kP1,
  kP2,
  kCathode,
  kLeakNode,
  kG1,
  kG2,
  kO1,
  kO2,
  kB,
  kFirstPlate,
  kFirstCathode,
  kFirstGrid,
  kUnknowns,
  kSupply = kUnknowns,
  kFoot,
  kGridFoot,
  kStageBefore,
  kGround,
  kNodes
};

class FaultyStage {
 public:
  FaultyStage(const Design& d, FaultKind fault) : d_(d), two_(sections(d.circuit) == 2) {
    held_[kSupply] = d.main_supply_v > 0 ? d.main_supply_v : d.supply_v;
    resistor(kSupply, kB, d.main_supply_v > 0 ? d.dropping_ohm : 1 / kShort_s);
    const int count = two_ ? 2 : 1;
    for (int i = 0; i < count; ++i) {
      const auto n = static_cast<std::size_t>(i);
      const bool open = fault == (i == 0 ? F::plate_resistor_1_open : F::plate_resistor_2_open);
      conductance(kB, kP1 + n, open ? kOpen_s : 1 / d.plate_ohm[n]);
      const bool leaks = fault == (i == 0 ? F::output_capacitor_1_leaks : F::output_capacitor_2_leaks);
      conductance(kP1 + n, kO1 + n, leaks ? 1 / kLeakage_ohm : kNothing_s);
      resistor(kO1 + n, kGround, d.load_ohm);
      section_[n] = d.section(i);
      alive_[n] = fault != F::both_sections_dead && fault != (i == 0 ? F::section_1_dead : F::section_2_dead);
    }
    held_[kStageBefore] = held_[kSupply] / 2;
    if (two_)
      pair_cathode(fault);
    else
      gain_stage_cathode(fault);
    if (has_first_stage(d))
      first_stage(fault);
    else  // nodes that this circuit has not
      for (const std::size_t unused : {kFirstPlate, kFirstCathode, kFirstGrid})
        conductance(unused, kGround, 1);
    if (fault == F::input_capacitor_leaks)
      resistor(kStageBefore, has_first_stage(d) ? kFirstGrid : kG1, kLeakage_ohm);
    if (!two_)
      for (const std::size_t unused : {kP2, kG2, kO2}) conductance(unused, kGround, 1);
    for (std::size_t n = 0; n < kUnknowns; ++n) conductance(n, kGround, kNothing_s);
  }

  FaultPoint solve() {
    FaultPoint out;
    Voltages v{};
    bool ok = false;
    // The supplies at once; else raised in ever smaller steps.
    for (int steps = 1; steps <= 64 && !ok; steps *= 4) {
      v = {};
      ok = true;
      for (int k = 1; k <= steps && ok; ++k) ok = newton(v, static_cast<double>(k) / steps);
    }
    if (!ok) {
      out.point.solved = Solved::no_rest_point;
      return out;
    }
    describe(v, out);
    return out;
  }

 private:
  using Voltages = std::array<double, kNodes>;
  struct Branch {
    std::size_t a, b;
    double siemens;
  };

  void conductance(std::size_t a, std::size_t b, double siemens) { branch_[branches_++] = {a, b, siemens}; }
  void resistor(std::size_t a, std::size_t b, double ohm) { conductance(a, b, 1 / ohm); }

  void pair_cathode(FaultKind fault) {
    const bool self = d_.bias.form == BiasForm::self_biased;
    if (d_.bias.form == BiasForm::negative_rail) held_[kFoot] = d_.bias.rail_v;
    top_ = self ? kLeakNode : kCathode;
    if (self) {
      conductance(kCathode, kLeakNode,
                  fault == F::bias_resistor_open      ? kOpen_s
                  : fault == F::bias_resistor_shorted ? kShort_s
                                                      : 1 / d_.bias.ohm);
    } else {
      conductance(kLeakNode, kGround, 1);
    }
    const bool sink = d_.tail.form == TailForm::constant_current;
    tail_s_ = fault == F::tail_open      ? kOpen_s
              : fault == F::tail_shorted ? kShort_s
                                         : 1 / (sink ? d_.tail.output_ohm : d_.tail.ohm);
    sink_a_ = sink && fault != F::tail_open ? d_.tail.current_a : 0;
    conductance(top_, kFoot, tail_s_);
    const bool direct = d_.bias.form == BiasForm::direct_coupled, first = has_first_stage(d_);
    if (direct && !first) held_[kGridFoot] = d_.bias.grid_v;
    const std::size_t foot = direct ? std::size_t{kG1}
                             : self ? std::size_t{kLeakNode}
                                    : std::size_t{kGridFoot};
    if (direct && first)
      conductance(kFirstPlate, kG1, kShort_s);
    else if (direct)  // the plate of the stage before
      conductance(kGridFoot, kG1, d_.source_ohm > 0 ? 1 / d_.source_ohm : kShort_s);
    else
      resistor(foot, kG1, d_.grid_leak_ohm);
    resistor(foot, kG2, d_.grid_leak_ohm);
    if (fault == F::grid_2_to_ground) conductance(kG2, kGround, kShort_s);
  }

  void first_stage(FaultKind fault) {
    const FirstStage& f = d_.first_stage;
    conductance(kB, kFirstPlate, fault == F::first_plate_resistor_open ? kOpen_s : 1 / f.plate_ohm);
    const double bare = f.cathode_unbypassed_ohm;
    const double ohm =
        fault == F::first_cathode_bypass_shorted ? std::max(bare, 1 / kShort_s) : f.cathode_ohm;
    conductance(kFirstCathode, kGround, fault == F::first_cathode_resistor_open ? kOpen_s : 1 / ohm);
    resistor(kFirstGrid, kGround, f.grid_leak_ohm);
    if (fault == F::capacitor_between_stages_leaks) resistor(kFirstPlate, kG1, kLeakage_ohm);
    section_[kFirstStage] = d_.first_section();
    alive_[kFirstStage] = fault != F::first_section_dead;
  }

  void gain_stage_cathode(FaultKind fault) {
    top_ = kCathode;
    const double bare = d_.cathode_unbypassed_ohm;
    const double ohm = fault == F::cathode_bypass_shorted ? std::max(bare, 1 / kShort_s) : d_.cathode_ohm;
    tail_s_ = fault == F::cathode_resistor_open ? kOpen_s : 1 / ohm;
    conductance(kCathode, kFoot, tail_s_);
    conductance(kLeakNode, kGround, 1);
    resistor(kG1, kGround, d_.grid_leak_ohm);
  }

  /// Currents out of every unknown node, and their derivatives.
  void currents(const Voltages& v, double share, std::array<double, kUnknowns>& out,
                std::array<std::array<double, kUnknowns>, kUnknowns>& slope) const {
    out = {};
    slope = {};
    const auto add = [&](std::size_t node, double a) {
      if (node < kUnknowns) out[node] += a;
    };
    const auto add_slope = [&](std::size_t node, std::size_t by, double s) {
      if (node < kUnknowns && by < kUnknowns) slope[node][by] += s;
    };
    for (std::size_t k = 0; k < branches_; ++k) {
      const auto& [a, b, s] = branch_[k];
      const double i = s * (v[a] - v[b]);
      add(a, i);
      add(b, -i);
      add_slope(a, a, s);
      add_slope(b, b, s);
      add_slope(a, b, -s);
      add_slope(b, a, -s);
    }
    add(top_, share * sink_a_);
    for (std::size_t n = 0; n < section_.size(); ++n) {
      if (!alive_[n]) continue;
      const std::size_t p = kPlates[n], g = kGrids[n], k = kCathodes[n];
      const TriodeCurrents c = section_[n].currents_at(v[g] - v[k], v[p] - v[k]);
      add(p, c.plate_a);
      add(g, c.grid_a);
      add(k, -c.plate_a - c.grid_a);
      const double gm = c.plate_per_grid_s, gp = c.plate_per_plate_s, gg = c.grid_per_grid_s;
      add_slope(p, g, gm);
      add_slope(p, p, gp);
      add_slope(p, k, -gm - gp);
      add_slope(g, g, gg);
      add_slope(g, k, -gg);
      add_slope(k, g, -gm - gg);
      add_slope(k, p, -gp);
      add_slope(k, k, gm + gp + gg);
    }
  }

  static bool eliminate(std::array<std::array<double, kUnknowns>, kUnknowns>& m,
                        std::array<double, kUnknowns>& x) {
    for (std::size_t c = 0; c < kUnknowns; ++c) {
      std::size_t pivot = c;
      for (std::size_t r = c + 1; r < kUnknowns; ++r)
        if (std::abs(m[r][c]) > std::abs(m[pivot][c])) pivot = r;
      if (!(std::abs(m[pivot][c]) > 0)) return false;
      std::swap(m[c], m[pivot]);
      std::swap(x[c], x[pivot]);
      for (std::size_t r = c + 1; r < kUnknowns; ++r) {
        const double f = m[r][c] / m[c][c];
        if (f == 0) continue;
        for (std::size_t k = c; k < kUnknowns; ++k) m[r][k] -= f * m[c][k];
        x[r] -= f * x[c];
      }
    }
    for (std::size_t c = kUnknowns; c-- > 0;) {
      for (std::size_t k = c + 1; k < kUnknowns; ++k) x[c] -= m[c][k] * x[k];
      x[c] /= m[c][c];
    }
    return true;
  }

  bool newton(Voltages& v, double share) {
    constexpr int kMostSteps = 400;
    constexpr double kStep_v = 20, kSettled_v = 1e-9;
    for (std::size_t n = kUnknowns; n < kNodes; ++n) v[n] = share * held_[n];
    std::array<double, kUnknowns> f{};
    std::array<std::array<double, kUnknowns>, kUnknowns> slope{};
    for (int step = 0; step < kMostSteps; ++step) {
      currents(v, share, f, slope);
      if (!eliminate(slope, f)) return false;
      double largest = 0;
      for (double x : f) largest = std::max(largest, std::abs(x));
      if (!std::isfinite(largest)) return false;
      // No node moves further than a tube law stays nearly straight; less and less, so that it cannot circle.
      const double most = kStep_v / (1 + step / 40);
      const double scale = largest > most ? most / largest : 1;
      for (std::size_t n = 0; n < kUnknowns; ++n) v[n] -= scale * f[n];
      if (largest < kSettled_v) return true;
    }
    return false;
  }

  void describe(const Voltages& v, FaultPoint& out) const {
    OperatingPoint& o = out.point;
    o.solved = Solved::yes;
    o.supply_v = v[kB];
    o.cathode_v = v[kCathode];
    o.tail_v = v[top_] - v[kFoot];
    o.tail_current_a = o.tail_v * tail_s_ + sink_a_;
    for (std::size_t n = 0; n < (two_ ? 2u : 1u); ++n) {
      o.plate_v[n] = v[kP1 + n];
      o.grid_v[n] = v[kG1 + n];
      o.grid_to_cathode_v[n] = o.grid_v[n] - o.cathode_v;
      o.plate_to_cathode_v[n] = o.plate_v[n] - o.cathode_v;
      out.output_v[n] = v[kO1 + n];
      if (!alive_[n]) continue;
      const TriodeCurrents c = section_[n].currents_at(o.grid_to_cathode_v[n], o.plate_to_cathode_v[n]);
      o.plate_current_a[n] = c.plate_a;
      o.grid_current_a[n] = c.grid_a;
      o.plate_dissipation_w[n] = c.plate_a * o.plate_to_cathode_v[n];
      o.supply_current_a += c.plate_a;
    }
    if (has_first_stage(d_)) {
      FirstStageRest& f = o.first;
      f.plate_v = v[kFirstPlate];
      f.cathode_v = v[kFirstCathode];
      f.grid_v = v[kFirstGrid];
      f.grid_to_cathode_v = f.grid_v - f.cathode_v;
      f.plate_to_cathode_v = f.plate_v - f.cathode_v;
      if (alive_[kFirstStage]) {
        const TriodeCurrents c = section_[kFirstStage].currents_at(f.grid_to_cathode_v, f.plate_to_cathode_v);
        f.plate_current_a = c.plate_a;
        f.grid_current_a = c.grid_a;
        f.plate_dissipation_w = c.plate_a * f.plate_to_cathode_v;
        o.supply_current_a += c.plate_a;
      }
    }
    o.leak_node_v = two_ && d_.bias.form == BiasForm::self_biased ? v[kLeakNode]
                    : direct_first_stage(d_)                      ? v[kG1]
                                                                  : v[kGridFoot];
  }

  const Design& d_;
  bool two_;
  std::size_t top_ = kCathode;
  double tail_s_ = 0, sink_a_ = 0;
  Voltages held_{};
  std::array<Branch, 48> branch_{};
  std::size_t branches_ = 0;
  static constexpr std::array<std::size_t, 3> kPlates{kP1, kP2, kFirstPlate}, kGrids{kG1, kG2, kFirstGrid},
      kCathodes{kCathode, kCathode, kFirstCathode};
  std::array<TriodeSection, 3> section_{};
  std::array<bool, 3> alive_{};
};

}  // namespace

std::vector<const FaultRow*> faults_of(const Design& d) {
  std::vector<const FaultRow*> all;
  for (const FaultRow& row : kFaults)
    if (row.applies(d)) all.push_back(&row);
  return all;
}

bool seen_in_ac_only(FaultKind fault) {
  return opened_by(fault).has_value();
}

std::optional<Pair> gain_with_fault(const Design& d, FaultKind fault) {
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  if (e.operating_point.solved != Solved::yes) return std::nullopt;
  const std::optional<Capacitor> open = opened_by(fault);
  if (!open) return e.small_signal.gain;
  // from the grid, not from behind the source's resistance
  Design at_grid = d;
  at_grid.source_ohm = 0;
  const LinearResponse r = LinearNetwork::with_open(at_grid, e.operating_point, *open).from_input(kShown_hz);
  return Pair{r.output[0].real(), r.output[1].real()};
}

FaultPoint solve_fault(const Design& d, FaultKind fault) {
  return FaultyStage(d, fault).solve();
}

}  // namespace antiphase
