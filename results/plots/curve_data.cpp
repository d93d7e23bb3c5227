#include "results/plots/curve_data.h"

#include <algorithm>
#include <cmath>

#include "results/plots/nice_steps.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/tubes/law.h"

namespace antiphase {
namespace {

constexpr double kMargin = 1.05;  // air at the ends of the axes
constexpr int kMostCurves = 15;   // more than that is a thicket
constexpr double kFaint = 0.02;   // a curve that stays below this share of the picture is not drawn
constexpr double kLowestGrid_v = -200;

/// The line through `at` with slope -1/ohm.
CurveLine line_through(PicturePoint at, double ohm) {
  return {PicturePoint{at.plate_v + at.current_a * ohm, 0}, PicturePoint{0, at.current_a + at.plate_v / ohm}};
}

double parallel_ohm(double a_ohm, double b_ohm) {
  return a_ohm * b_ohm / (a_ohm + b_ohm);
}

std::vector<PicturePoint> path_at_target(const Evaluation& e, std::size_t section) {
  std::vector<PicturePoint> path;
  if (e.at_target.solved != Solved::yes) return path;
  const Waveforms& w = e.waveforms;
  for (std::size_t k = 0; k < static_cast<std::size_t>(w.instants); ++k)
    path.push_back({w.plate_v[section][k] - w.cathode_v[k], w.plate_current_a[section][k]});
  return path;
}

double highest_grid_v(const Evaluation& e, std::size_t section) {
  double highest = e.operating_point.grid_to_cathode_v[section];
  if (e.at_target.solved == Solved::yes)
    highest = std::max(highest, e.at_target.grid_to_cathode_peak_v[section]);
  return highest;
}

void add_curves(SectionPicture& p, const TriodeLaw& law, double top_grid_v) {
  double low = -0.1;
  while (low > kLowestGrid_v && currents_at(law, low, p.plate_v_end).plate_a > kFaint * p.current_a_end)
    low *= 1.1;
  const double step = nice_above((std::max(top_grid_v, 0.0) - low) / kMostCurves);
  const double first = step * std::ceil(std::max(top_grid_v, 0.0) / step - 1e-9);
  for (int n = 0; first - n * step > low; ++n) {
    const double grid_v = first - n * step;
    std::vector<double> curve;
    for (int k = 0; k <= kCurveSteps; ++k) {
      curve.push_back(std::max(0.0, currents_at(law, grid_v, p.plate_v_end * k / kCurveSteps).plate_a));
      if (curve.back() > p.current_a_end) break;
    }
    p.grid_v.push_back(grid_v);
    p.curve_a.push_back(std::move(curve));
  }
}

double plate_load_ohm(const Circuit& list, const Design& d, const Element& triode) {
  for (const Element& e : list)
    if (e.role == Role::plate_load && (e.a == triode.a || e.b == triode.a)) return e.value(d);
  return 0;
}

/// What the section's current alone runs through from its cathode down; 0 where others share the cathode.
double own_cathode_ohm(const Circuit& list, const Design& d, const Element& triode) {
  double ohm = 0;
  for (const Element& e : list)
    if (e.kind == ElementKind::triode && &e != &triode && e.c == triode.c) return 0;
  for (Node at = triode.c; at != kGround;) {
    const auto down = std::find_if(list.begin(), list.end(), [&](const Element& e) {
      return e.kind == ElementKind::resistor && e.a == at &&
             (e.role == Role::bias || e.role == Role::cathode || e.role == Role::cathode_unbypassed ||
              e.role == Role::cathode_load || e.role == Role::tail);
    });
    if (down == list.end()) break;
    ohm += down->value(d);
    at = down->b;
  }
  return ohm;
}

/// What an output at the section's cathode works into, its load included; 0 where there is none.
double cathode_output_ohm(const Circuit& list, const Design& d, const Element& triode) {
  if (own_cathode_ohm(list, d, triode) == 0) return 0;
  for (const Element& e : list)
    if (e.role == Role::cathode_load) return parallel_ohm(e.value(d), d.load_ohm);
  return 0;
}

}  // namespace

SectionPicture section_picture(const Design& d, const Evaluation& e, int section) {
  const auto i = static_cast<std::size_t>(section);
  const OperatingPoint& op = e.operating_point;
  const Circuit& list = circuit_of(d);
  const Element& triode = *list.section(section);
  const double plate_ohm = plate_load_ohm(list, d, triode);
  SectionPicture p;
  p.rest = {op.plate_to_cathode_v[i], op.plate_current_a[i]};
  p.dc_line = line_through(p.rest, plate_ohm + own_cathode_ohm(list, d, triode));
  p.ac_line = line_through(p.rest, parallel_ohm(plate_ohm, d.load_ohm) + cathode_output_ohm(list, d, triode));
  if (const HandEstimate& hand = e.hand_from_supply; hand.valid && section == 0) {
    p.supply_line_rest = PicturePoint{hand.rest_plate_v, hand.rest_current_a};
    p.supply_line = line_through(*p.supply_line_rest, hand.ac_load_ohm);
  }
  p.path = path_at_target(e, i);
  if (d.tube[i]->ratings.plate_w_max) p.plate_w_max = d.tube[i]->ratings.plate_w_max->value;

  double v = std::max(p.dc_line[0].plate_v, p.supply_line ? (*p.supply_line)[0].plate_v : 0.0);
  double a = p.dc_line[1].current_a;
  for (const PicturePoint& point : p.path) {
    v = std::max(v, point.plate_v);
    a = std::max(a, point.current_a);
  }
  p.plate_v_end = v * kMargin;
  p.current_a_end = a * kMargin;
  add_curves(p, d.tube[i]->law(d.law), highest_grid_v(e, i));
  return p;
}

}  // namespace antiphase
