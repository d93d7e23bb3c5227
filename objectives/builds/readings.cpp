#include "objectives/builds/readings.h"

#include <algorithm>
#include <array>

#include "objectives/builds/build_model.h"
#include "objectives/limits/result.h"
#include "stagemodels/circuits/circuit.h"

namespace antiphase {
namespace {

using Measured = std::optional<double>;
using D = const Design&;
using E = const Evaluation&;

bool second_section(D d) {
  return circuit_of(d).section(1) != nullptr;
}
/// Neither on the supply itself nor on another section's plate, where it would be read twice.
bool second_plate_free(D d) {
  const Circuit& c = circuit_of(d);
  return c.section(kGainSecond) != nullptr && c.section(kGainSecond)->a != c.first_supply;
}
bool second_cathode_free(D d) {
  const Circuit& c = circuit_of(d);
  return c.section(kGainSecond) != nullptr && c.section(kGainSecond)->c != c.section(kFirstStage)->a;
}
bool first_stage(D d) {
  return circuit_of(d).section(kFirstStage) != nullptr;
}
bool has(D d, Role role) {
  const Circuit& c = circuit_of(d);
  return std::any_of(c.begin(), c.end(), [&](const Element& e) { return e.role == role && e.there(d); });
}
Measured if_at_rest(E e, bool applies, double value) {
  return applies && rest_known(e) ? Measured(value) : std::nullopt;
}
Measured if_at_target(E e, bool applies, double value) {
  return applies && target_known(e) ? Measured(value) : std::nullopt;
}

Measured of_driver(D d, E e, std::size_t i, double SectionRest::*what) {
  return if_at_rest(e, has_driver(d), e.operating_point.driver[i].*what);
}
/// A follower's plate is the supply.
Measured plate_of_driver(D d, E e, std::size_t i) {
  return d.driver.form == DriverForm::long_tailed_pair ? of_driver(d, e, i, &SectionRest::plate_v)
                                                       : std::nullopt;
}

constexpr Figure at_rest(std::string_view name, std::string_view label, std::string_view unit,
                         std::string_view description, Measured (*measure)(D, E)) {
  return {.name = name,
          .label = label,
          .unit = unit,
          .description = description,
          .direction = Direction::nearer_zero,
          .scale = 1,
          .needs = Depth::rest,
          .measure = measure};
}
constexpr Figure at_target(std::string_view name, std::string_view label, std::string_view description,
                           Measured (*measure)(D, E)) {
  return {.name = name,
          .label = label,
          .unit = "V",
          .description = description,
          .direction = Direction::nearer_zero,
          .scale = 1,
          .needs = Depth::at_target,
          .measure = measure};
}
/// A reading that a builder takes first when a part is faulty: at a plate or cathode, across bias or tail.
constexpr Figure looked_at(Figure reading) {
  reading.shown.defects = true;
  return reading;
}

constexpr std::size_t kAtRest = 20;
constexpr std::array kReadings{
    at_rest("supply_v", "supply of the stage", "V", "at the plate resistors, behind any dropping resistor",
            [](D, E e) { return if_at_rest(e, true, e.operating_point.supply_v); }),
    looked_at(at_rest("plate_1_v", "plate 1", "V", "plate 1 to ground",
                      [](D, E e) { return if_at_rest(e, true, e.operating_point.plate_v[0]); })),
    looked_at(
        at_rest("plate_2_v", "plate 2", "V", "plate 2 to ground",
                [](D d, E e) { return if_at_rest(e, second_section(d), e.operating_point.plate_v[1]); })),
    looked_at(at_rest("cathode_v", "cathode", "V", "cathode to ground",
                      [](D, E e) { return if_at_rest(e, true, e.operating_point.cathode_v); })),
    at_rest("leak_node_v", "leak node", "V", "foot of the grid leaks, where bias and tail resistor meet",
            [](D d, E e) { return if_at_rest(e, has(d, Role::bias), e.operating_point.leak_node_v); }),
    at_rest("grid_v", "grid 1", "V", "grid 1 to ground; a meter of 10 megohms pulls it down",
            [](D, E e) { return if_at_rest(e, true, e.operating_point.grid_v[0]); }),
    looked_at(at_rest("bias_v", "across the bias resistor", "V", "cathode to leak node",
                      [](D d, E e) {
                        return if_at_rest(e, has(d, Role::bias),
                                          e.operating_point.cathode_v - e.operating_point.leak_node_v);
                      })),
    looked_at(at_rest("tail_v", "across the tail", "V", "upper end of the tail to its foot",
                      [](D d, E e) { return if_at_rest(e, has(d, Role::tail), e.operating_point.tail_v); })),
    at_rest("plate_difference_v", "plate 1 above plate 2", "V", "between the plates",
            [](D d, E e) {
              return if_at_rest(e, second_section(d),
                                e.operating_point.plate_v[0] - e.operating_point.plate_v[1]);
            }),
    at_rest("across_plate_1_v", "across plate resistor 1", "V", "supply of the stage to plate 1",
            [](D, E e) {
              return if_at_rest(e, true, e.operating_point.supply_v - e.operating_point.plate_v[0]);
            }),
    at_rest("across_plate_2_v", "across plate resistor 2", "V", "supply of the stage to plate 2",
            [](D d, E e) {
              return if_at_rest(e, second_section(d),
                                e.operating_point.supply_v - e.operating_point.plate_v[1]);
            }),
    looked_at(
        at_rest("first_plate_v", "first stage: plate", "V", "plate of the first stage to ground",
                [](D d, E e) { return if_at_rest(e, first_stage(d), e.operating_point.first.plate_v); })),
    looked_at(
        at_rest("first_cathode_v", "first stage: cathode", "V", "cathode of the first stage to ground",
                [](D d, E e) { return if_at_rest(e, first_stage(d), e.operating_point.first.cathode_v); })),
    looked_at(at_rest("first_screen_v", "first stage: screen", "V", "screen of the first stage to ground",
                      [](D d, E e) {
                        return if_at_rest(e, first_stage(d) && d.first_stage.form == GainForm::pentode,
                                          e.operating_point.first.screen_v);
                      })),
    looked_at(at_rest(
        "first_second_plate_v", "first stage: second plate", "V",
        "plate of the first stage's second section to ground",
        [](D d, E e) { return if_at_rest(e, second_plate_free(d), e.operating_point.second.plate_v); })),
    looked_at(at_rest(
        "first_second_cathode_v", "first stage: second cathode", "V",
        "cathode of the first stage's second section to ground",
        [](D d, E e) { return if_at_rest(e, second_cathode_free(d), e.operating_point.second.cathode_v); })),
    looked_at(at_rest("driver_1_cathode_v", "driver 1: cathode", "V", "cathode of driver 1 to ground",
                      [](D d, E e) { return of_driver(d, e, 0, &SectionRest::cathode_v); })),
    looked_at(at_rest("driver_2_cathode_v", "driver 2: cathode", "V", "cathode of driver 2 to ground",
                      [](D d, E e) {
                        return d.driver.form == DriverForm::cathode_followers
                                   ? of_driver(d, e, 1, &SectionRest::cathode_v)
                                   : std::nullopt;
                      })),
    looked_at(at_rest("driver_1_plate_v", "driver 1: plate", "V", "plate of driver 1 to ground",
                      [](D d, E e) { return plate_of_driver(d, e, 0); })),
    looked_at(at_rest("driver_2_plate_v", "driver 2: plate", "V", "plate of driver 2 to ground",
                      [](D d, E e) { return plate_of_driver(d, e, 1); })),
    at_target("input_peak_v", "first grid, peak", "first grid, behind the input capacitor",
              [](D, E e) { return if_at_target(e, true, e.at_target.input_peak_v); }),
    at_target("output_1_peak_v", "output 1, peak", "fundamental behind the coupling capacitor",
              [](D, E e) { return if_at_target(e, true, e.at_target.output_peak_v[0]); }),
    at_target(
        "output_2_peak_v", "output 2, peak", "fundamental behind the coupling capacitor",
        [](D d, E e) { return if_at_target(e, circuit_of(d).outputs == 2, e.at_target.output_peak_v[1]); }),
    at_target(
        "cathode_swing_v", "cathode, peak to peak", "cathode, AC",
        [](D, E e) { return if_at_target(e, true, e.at_target.cathode_high_v - e.at_target.cathode_low_v); }),
};
static_assert(kReadings[kAtRest - 1].needs == Depth::rest && kReadings[kAtRest].needs == Depth::at_target);

}  // namespace

std::span<const Figure> readings() {
  return kReadings;
}
std::size_t readings_at_rest() {
  return kAtRest;
}

}  // namespace antiphase
