/// Stages that somebody might draw, from a seed: every form, usual currents and voltages, with and without
/// source resistance and dropping resistor; grids conduct where they are driven far enough.
#pragma once

#include <array>

#include "tests/support/stages.h"

namespace antiphase::testing {

class RandomStages {
 public:
  explicit RandomStages(std::uint64_t seed) : dice_{std::mt19937_64(seed)} {
    for (Tube& t : tubes_) t.grid_diode = grid_diode(t.grid_conduction_v.value);
  }
  RandomStages(const RandomStages&) = delete;  // its designs point to its tubes
  RandomStages& operator=(const RandomStages&) = delete;

  /// Ideal surroundings: no source resistance, a stiff supply. The tubes live as long as this object.
  Design draw_ideal() {
    Design d =
        pair_of(tubes_[0], static_cast<BiasForm>(dice_.below(3)), static_cast<TailForm>(dice_.below(2)));
    if (dice_.below(4) == 0) d.circuit = CircuitKind::common_cathode;
    const auto any = [&] { return &tubes_[static_cast<std::size_t>(dice_.below(kTubes))]; };
    d.tube[0] = d.tube[1] = any();
    if (dice_.below(4) == 0) d.tube[1] = any();
    d.supply_v = dice_.between(200, 420);
    const double ohm = dice_.log_between(22e3, 180e3);
    d.plate_ohm = {ohm, ohm * dice_.between(0.95, 1.3)};
    const double each = dice_.between(0.2, 0.55) * d.supply_v / ohm;
    const double tail_v = dice_.between(0.1, 0.3) * d.supply_v;
    d.bias.ohm = dice_.between(1, 6) / (2 * each);
    d.bias.grid_v = tail_v;
    d.bias.rail_v = -tail_v;
    d.tail.ohm = tail_v / (2 * each);
    d.tail.current_a = 2 * each;
    d.cathode_ohm = dice_.between(0.7, 5) / each;
    d.cathode_unbypassed_ohm = dice_.below(3) * 0.5 * d.cathode_ohm;
    d.load_ohm = ohm * dice_.between(1.5, 6);
    d.grid_leak_ohm = dice_.log_between(220e3, 2.2e6);
    d.swing_peak_v = dice_.between(5, 30);
    return d;
  }

  /// The same, most of them with a source that has resistance, a dropping resistor or both.
  Design draw() {
    Design d = draw_ideal();
    if (dice_.below(2)) d.source_ohm = dice_.log_between(100, 220e3);
    if (dice_.below(3) == 0) {
      d.main_supply_v = d.supply_v * dice_.between(1.03, 1.3);
      d.dropping_ohm = (d.main_supply_v - d.supply_v) / d.tail.current_a;  // both sections' current
      d.supply_v = 0;
    }
    return d;
  }

 private:
  static constexpr int kTubes = 6;
  std::array<Tube, kTubes> tubes_{tube_with(kKoren12AX7), tube_with(kKoren12AT7),
                                  tube_with(kKoren12AU7), tube_with(kKoren6DJ8),
                                  tube_with(kRsd2, -0.3), tube_with(ChildLangmuir{2e-3, 60, 0.5}, -0.2)};
  RandomNumbers dice_;
};

}  // namespace antiphase::testing
