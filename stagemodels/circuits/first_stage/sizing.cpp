#include "stagemodels/circuits/first_stage/sizing.h"

#include "stagemodels/sizing_steps.h"

namespace antiphase::first_stage {

double size(const SizingInputs& w, double (*splitter)(const SizingInputs&, Design&), Design& d) {
  if (const double short_v = splitter(w, d); short_v > 0) return short_v;
  FirstStage& f = d.first_stage;
  f.plate_ohm = w.first_plate_ohm;
  const double from_supply_ohm = f.plate_ohm + f.decoupling_ohm;
  const double current_a =
      coupled_directly(d) ? (w.supply_v - d.bias.grid_v) / from_supply_ohm : w.first_plate_current_a;
  d.bias.grid_v = 0;  // a result
  const double short_v =
      sizing::fill_cathode_resistor(f.tube->law(d.law), w.supply_v - current_a * from_supply_ohm, current_a,
                                    sizing::kLeastOhm + f.cathode_unbypassed_ohm, f.cathode_ohm);
  if (short_v > 0) return short_v;
  return sizing::fill_supply(w, sections(d.circuit) * w.plate_current_a + current_a, d);
}

}  // namespace antiphase::first_stage
