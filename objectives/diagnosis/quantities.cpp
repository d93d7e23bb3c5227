#include "objectives/diagnosis/quantities.h"

#include "stagemodels/circuits/designators.h"
#include "stagemodels/circuits/places.h"

namespace antiphase {
namespace {

constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

double scaled_by(const Fault& f, int scattered, const Deviates& z, int element) {
  double times = 1;
  for (const Alteration& a : f.alterations())
    if (a.element == element && a.what == Alteration::What::scaled) times *= a.number;
  for (int m = 0; m < f.magnitudes; ++m)
    if (f.magnitude[at(m)].kind == Magnitude::Kind::scaled && f.magnitude[at(m)].element == element)
      times *= BenchModel::size_of(f, m, z[at(scattered + m)]);
  return times;
}

bool told(const Element& e, const Design& d) {
  if (e.kind == ElementKind::resistor) return e.role != Role::feedback && bought(e, d) && e.stands(d);
  if (e.kind == ElementKind::held || e.kind == ElementKind::driven)
    return e.there(d) && e.member && e.value(d) != 0;
  return e.kind == ElementKind::sink;
}

}  // namespace

Quantities::Quantities(const BenchModel& model) {
  const Design& d = model.nominal();
  const Circuit& c = circuit_of(d);
  BenchPoint rest;
  const Fault none{};
  if (!model.read(none, {}, false, 0, rest)) return;
  for (int k = 0; k < c.elements; ++k) {
    const Element& e = c.element[at(k)];
    if (e.kind != ElementKind::triode) continue;
    const auto s = at(e.section);
    grid_v_[s] = rest.volts[at(e.b)] - rest.volts[at(e.c)];
    plate_v_[s] = rest.volts[at(e.a)] - rest.volts[at(e.c)];
    screen_v_[s] = e.screen == kNoNode ? 0 : rest.volts[at(e.screen)] - rest.volts[at(e.c)];
    const TriodeCurrents i = section_of(d, e).currents_at(grid_v_[s], plate_v_[s], screen_v_[s]);
    type_a_[s] = i.plate_a;
    const std::string name(e.name), label(e.label);
    list_.push_back(
        {Quantity::Kind::current_share, name + "/current_share", "current of " + label, "", k, 1});
    list_.push_back({Quantity::Kind::mu, name + "/mu", "mu of " + label, "1", k,
                     i.plate_per_plate_s > 0 ? i.plate_per_grid_s / i.plate_per_plate_s : 0});
    list_.push_back({Quantity::Kind::plate_current, name + "/plate_current_a", "plate current of " + label,
                     "A", k, i.plate_a});
  }
  for (int k = 0; k < c.elements; ++k) {
    const Element& e = c.element[at(k)];
    if (!told(e, d)) continue;
    const char* const unit = e.kind == ElementKind::resistor ? "ohm"
                             : e.kind == ElementKind::sink   ? "A"
                                                             : "V";
    list_.push_back({Quantity::Kind::part, std::string(e.name), std::string(e.label), unit, k, e.value(d)});
  }
}

double Quantities::value(std::size_t quantity, const BenchModel& model, const Fault& f, const Deviates& z,
                         const Design& build, const NodeVolts& v) const {
  const Quantity& q = list_[quantity];
  const Element& e = circuit_of(build).element[at(q.element)];
  if (q.kind == Quantity::Kind::part) return e.value(build) * scaled_by(f, model.scattered(), z, q.element);
  for (const Alteration& a : f.alterations())
    if (a.element == q.element && a.what == Alteration::What::dead) return 0;
  const TriodeSection section = section_of(build, e);
  if (q.kind == Quantity::Kind::plate_current) return currents_of(section, e, v).plate_a;
  const auto s = at(e.section);
  const TriodeCurrents i = section.currents_at(grid_v_[s], plate_v_[s], screen_v_[s]);
  if (q.kind == Quantity::Kind::mu)
    return i.plate_per_plate_s > 0 ? i.plate_per_grid_s / i.plate_per_plate_s : 0;
  return type_a_[s] > 0 ? i.plate_a / type_a_[s] : 0;
}

}  // namespace antiphase
