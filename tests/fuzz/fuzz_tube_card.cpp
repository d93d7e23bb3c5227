#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const auto read = read_tube_text(fuzz::text_of(bytes, size), "card.json");
  fuzz::check_errors(read);
  if (const Tube* tube = std::get_if<Tube>(&read))
    for (const auto& model : tube->models)
      for (const double grid_v : {-50.0, -2.0, 0.0, 2.0})
        for (const double plate_v : {-10.0, 0.0, 100.0, 400.0}) {
          const TriodeCurrents c = currents_at(model.law, grid_v, plate_v);
          fuzz::promise(c.plate_a == c.plate_a && c.plate_per_grid_s >= 0 && c.plate_per_plate_s >= 0);
        }
  return 0;
}
