/// A small report with real evaluations, for the tests of what goes out.
#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

#include "results/report.h"
#include "stagemodels/evaluate.h"

namespace antiphase::sample {

/// Koren's published 12AX7 parameters (Glass Audio 8 (1996) no. 5); ratings as commonly published.
inline const Tube& tube_12ax7() {
  static const Tube tube = [] {
    Tube t;
    t.name = "12AX7";
    t.ratings.plate_v_max = Sourced{300, "test"};
    t.ratings.plate_cold_v_max = Sourced{550, "test"};
    t.ratings.plate_w_max = Sourced{1.0, "test"};
    t.ratings.cathode_current_a_max = Sourced{8e-3, "test"};
    t.ratings.heater_cathode_v_max_cathode_positive = Sourced{180, "test"};
    t.grid_conduction_v = Sourced{-0.6, "test"};
    t.models.push_back({Koren1996{100, 1.4, 1060, 600, 300, 0}, "test"});
    return t;
  }();
  return tube;
}

inline const Tube& tube_12au7() {
  static const Tube tube = [] {
    Tube t = tube_12ax7();
    t.name = "12AU7";
    t.ratings.plate_w_max = Sourced{2.75, "test"};
    t.ratings.cathode_current_a_max = Sourced{20e-3, "test"};
    t.models = {{Koren1996{21.5, 1.3, 1180, 84, 300, 0}, "test"}};
    return t;
  }();
  return tube;
}

/// A tube that draws no current to speak of, so that no fault of a part moves anything at rest.
inline const Tube& tube_without_current() {
  static const Tube tube = [] {
    Tube t = tube_12ax7();
    t.models = {{Koren1996{100, 1.4, 1e15, 600, 300, 0}, "test"}};
    return t;
  }();
  return tube;
}

inline Design self_biased_pair(const Tube& tube = tube_12ax7()) {
  Design d;
  d.tube = {&tube, &tube};
  d.supply_v = 320;
  d.plate_ohm = {100e3, 110e3};
  d.bias.ohm = 820;
  d.tail.ohm = 39e3;
  d.load_ohm = 220e3;
  d.swing_peak_v = 32;
  d.coupling_f = 100e-9;
  return d;
}

inline Design direct_pair() {
  Design d = self_biased_pair(tube_12au7());
  d.bias = {};
  d.bias.form = BiasForm::direct_coupled;
  d.bias.grid_v = 90;
  d.bias.grid_clamp = true;
  d.tail.ohm = 15e3;
  d.plate_ohm = {33e3, 36e3};
  return d;
}

inline Design rail_pair() {
  Design d = self_biased_pair();
  d.bias = {};
  d.bias.form = BiasForm::negative_rail;
  d.bias.rail_v = -100;
  d.tail.form = TailForm::constant_current;
  d.tail.current_a = 2e-3;
  d.tail.output_ohm = 2e6;
  return d;
}

inline Design gain_stage() {
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {&tube_12ax7(), &tube_12ax7()};
  d.supply_v = 300;
  d.plate_ohm[0] = 100e3;
  d.cathode_ohm = 1800;
  d.cathode_unbypassed_ohm = 220;
  d.load_ohm = 470e3;
  d.swing_peak_v = 10;
  return d;
}

inline Record record(const Design& design, const Demands& demands = {}) {
  Record r;
  r.design = design;
  evaluate(r.design, Depth::with_hand, r.evaluation);
  r.limits = check_demands(demands, r.design, r.evaluation);
  r.feasible = std::all_of(r.limits.begin(), r.limits.end(), [](const auto& l) { return l.kept; });
  r.score = score(demands, r.design, r.evaluation);
  for (const Figure& f : figures()) r.figures.push_back(f.measure(r.design, r.evaluation));
  return r;
}

inline Demands demands() {
  Demands d;
  for (const char* name : {"distortion_pct", "output_impedance_ohm", "balance_pct", "headroom_db"})
    d.objectives.push_back({find_figure(name), 1, find_figure(name)->scale});
  return d;
}

/// A few designs around one, ranked by score; the front is found by comparing all with all.
inline Report report() {
  Report out;
  out.title = "Rehearsal room, EL34 pair";
  out.brief_in_words = {"Long-tailed pair that drives each grid of the output stage with 32 V peak.",
                        "Each output is loaded with 220 kOhm."};
  out.demands = demands();
  std::vector<Record> all;
  for (double plate : {82e3, 100e3, 120e3, 150e3})
    for (double ratio : {1.0, 1.1, 1.2})
      for (double tail : {27e3, 39e3, 56e3})
        for (const Design& base : {self_biased_pair(), rail_pair(), direct_pair()}) {
          Design d = base;
          const double shrink = base.tube[0] == &tube_12au7() ? 0.33 : 1;
          d.plate_ohm = {plate * shrink, plate * ratio * shrink};
          if (d.tail.form == TailForm::resistor) d.tail.ohm = base.tail.ohm * tail / 39e3;
          all.push_back(record(d, out.demands));
        }
  std::sort(all.begin(), all.end(), [](const Record& a, const Record& b) {
    if (a.feasible != b.feasible) return a.feasible;
    return a.score.value_or(1e9) < b.score.value_or(1e9);
  });
  const auto beats = [&](const Record& a, const Record& b) {
    bool better = false;
    for (const Objective& o : out.demands.objectives) {
      const auto i = static_cast<std::size_t>(o.figure - figures().data());
      const double ca = as_cost(*o.figure, a.figures[i].value_or(1e9)),
                   cb = as_cost(*o.figure, b.figures[i].value_or(1e9));
      if (ca > cb) return false;
      better = better || ca < cb;
    }
    return better;
  };
  for (const Record& r : all) {
    if (r.feasible &&
        std::none_of(all.begin(), all.end(), [&](const Record& o) { return o.feasible && beats(o, r); }))
      out.pareto.push_back(r);
    out.cloud.push_back(r.figures);
    out.cloud_family.push_back(r.design.tube[0]->name);
  }
  if (!out.pareto.empty()) out.pareto[out.pareto.size() / 2].remark = "knee";
  for (std::size_t i = 0; i < 5 && i < all.size(); ++i) {
    all[i].rank = static_cast<int>(i) + 1;
    out.candidates.push_back(all[i]);
  }
  out.run.brief_file = "rehearsal_room.json";
  out.run.brief_digest = "0123456789abcdef";
  out.run.seed = 7;
  out.run.effort = "normal";
  out.run.versions = {{"antiphase", "0.1.0"}, {"compiler", "GCC 12.2.0"}};
  out.run.evaluations_asked = 200000;
  out.run.evaluations_made = 187654;
  out.run.evaluations_ideal = 40000;
  out.run.evaluations_parts = 147654;
  out.run.families = {{"12AX7, self-biased, resistor tail", 90000, 1.25},
                      {"12AU7, direct-coupled", 97654, {}}};
  out.run.why_stopped = "finished";
  out.run.times = {3.2, 2.9, 2, "2026-01-02T03:04:05Z"};
  return out;
}

}  // namespace antiphase::sample
