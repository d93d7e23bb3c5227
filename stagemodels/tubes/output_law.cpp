#include "stagemodels/tubes/output_law.h"

#include "stagemodels/tubes/law.h"

namespace antiphase {
namespace {

OutputCurrents of(const SpaceCurrentPentode& law, const ElectrodeVoltages& v) {
  return law.currents(v);
}

OutputCurrents of(const SuppressorPentode& law, const ElectrodeVoltages& v) {
  return law.currents(v);
}

OutputCurrents of(const Koren1996& law, const ElectrodeVoltages& v) {
  const TriodeCurrents c = currents_at(law, v.grid, v.plate);
  OutputCurrents out;
  out.plate_a = c.plate_a;
  out.plate_per_grid_s = c.plate_per_grid_s;
  out.plate_per_plate_s = c.plate_per_plate_s;
  return out;
}

}  // namespace

OutputCurrents currents_of(const OutputLaw& law, const ElectrodeVoltages& v) {
  return std::visit([&](const auto& l) { return of(l, v); }, law);
}

Koren1996 screen_on_plate(const SuppressorPentode& p) {
  const double wider = 1 + p.through;  // w of the law over the plate's voltage
  return {.mu = p.mu / wider, .ex = p.ex, .kg1 = p.kg, .kp = p.kp / wider, .kvb = 0, .vct = 0};
}

bool has_screen(const OutputLaw& law) {
  return std::visit([](const auto& l) { return !std::is_same_v<std::decay_t<decltype(l)>, Koren1996>; }, law);
}

OutputValvePoint modelled(const OutputLaw& law, const OutputValvePoint& where) {
  OutputValvePoint out = where;
  const bool triode = where.as_triode || !has_screen(law);
  const OutputCurrents c =
      currents_of(law, {where.grid_v, triode ? where.plate_v : where.screen_v, where.plate_v});
  if (triode) {
    const double slope =
        c.plate_per_plate_s + c.plate_per_screen_s + c.screen_per_plate_s + c.screen_per_screen_s;
    out.plate_current_a = c.plate_a + c.screen_a;
    out.screen_current_a.reset();
    out.gm_s = c.plate_per_grid_s + c.screen_per_grid_s;
    out.rp_ohm = 1 / slope;
    out.mu = *out.gm_s / slope;
  } else {
    out.plate_current_a = c.plate_a;
    out.screen_current_a = c.screen_a;
    out.gm_s = c.plate_per_grid_s;
    out.rp_ohm = 1 / c.plate_per_plate_s;
    // As sheets define it: grid 1 against the screen, at a constant plate current.
    out.mu = c.plate_per_grid_s / c.plate_per_screen_s;
  }
  return out;
}

}  // namespace antiphase
