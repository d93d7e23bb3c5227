// Short names of parts, against lists written out by hand.
#include "stagemodels/circuits/designators.h"

#include <doctest/doctest.h>

#include <string>

using namespace antiphase;

namespace {

Tube type_with(int sections) {
  Tube t;
  t.sections = sections;
  t.models = {{Koren1996{}, "test"}};
  return t;
}

const Tube& twin() {
  static const Tube tube = type_with(2);
  return tube;
}
const Tube& other_twin() {
  static const Tube tube = type_with(2);
  return tube;
}
const Tube& single() {
  static const Tube tube = type_with(1);
  return tube;
}

Design pair() {
  Design d;
  d.tube = {&twin(), &twin()};
  d.supply_v = 300;
  d.plate_ohm = {100e3, 110e3};
  d.bias.ohm = 1e3;
  d.tail.ohm = 39e3;
  return d;
}

/// "section_1 V1a, plate_resistor_1 R1, …", in the order of the list.
std::string all_of(const Design& d) {
  const Designators names(d);
  std::string text;
  for (const Element& e : names.circuit())
    if (!names.of(e).empty())
      text += (text.empty() ? "" : ", ") + std::string(e.name) + " " + std::string(names.of(e));
  return text;
}

std::string tubes_of(const Design& d) {
  const Designators names(d);
  std::string text;
  for (const Element& e : names.circuit())
    if (e.kind == ElementKind::triode) text += (text.empty() ? "" : " ") + std::string(names.of(e));
  return text;
}

}  // namespace

TEST_CASE("parts are numbered in the order of the circuit's list") {
  CHECK(all_of(pair()) ==
        "input_capacitor C1, section_1 V1a, section_2 V1b, plate_resistor_1 R1, plate_resistor_2 R2, "
        "bias_resistor R3, tail R4, grid_leak_1 R5, grid_leak_2 R6, grid_2_bypass C2, output_capacitor_1 C3, "
        "output_capacitor_2 C4");
}

TEST_CASE("what does not stand in a design takes no number, and what is not bought has none") {
  Design d = pair();
  d.main_supply_v = 400;
  d.dropping_ohm = 0;  // a wire: the reservoir stands, the resistor does not
  d.bias.form = BiasForm::negative_rail;
  d.tail.form = TailForm::constant_current;
  CHECK(all_of(d) ==
        "reservoir_capacitor C1, input_capacitor C2, section_1 V1a, section_2 V1b, plate_resistor_1 R1, "
        "plate_resistor_2 R2, tail I1, grid_leak_1 R3, grid_leak_2 R4, grid_2_bypass C3, "
        "output_capacitor_1 C4, output_capacitor_2 C5");
}

TEST_CASE("a gain stage's cathode resistor is two parts where a part of it has no capacitor") {
  Design d = pair();
  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 1800;
  d.cathode_unbypassed_ohm = 220;
  CHECK(all_of(d) ==
        "input_capacitor C1, section_1 V1a, plate_resistor_1 R1, cathode_resistor_unbypassed R2, "
        "cathode_resistor R3, cathode_bypass C2, grid_leak_1 R4, output_capacitor_1 C3");
  d.cathode_unbypassed_ohm = 1800;
  CHECK(all_of(d) ==
        "input_capacitor C1, section_1 V1a, plate_resistor_1 R1, cathode_resistor_unbypassed R2, "
        "grid_leak_1 R3, output_capacitor_1 C2");
}

TEST_CASE("a pair shares a bottle of one type, and a stage ahead takes a section that is left over") {
  Design d = pair();
  CHECK(tubes_of(d) == "V1a V1b");
  CHECK(Designators(d).bottles() == 1);
  d.tube[1] = &other_twin();
  CHECK(tubes_of(d) == "V1a V2a");
  d.tube = {&single(), &single()};
  CHECK(tubes_of(d) == "V1 V2");

  d = pair();
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.tube = &twin();
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.cathode_ohm = 1500;
  CHECK(tubes_of(d) == "V1a V2a V2b");  // the first stage first, in a bottle of its own
  d.first_stage.tube = &single();
  CHECK(tubes_of(d) == "V1 V2a V2b");
  const Designators names(d);
  CHECK(names.bottles() == 2);
  CHECK(names.bottle_of(*names.circuit().section(1)) == "V2");
  CHECK(names.spare_sections() == 0);

  d.first_stage.tube = &twin();
  CHECK(Designators(d).spare_sections() == 1);
  d.tube = {&other_twin(), &twin()};  // two bottles of which half is used each
  CHECK(tubes_of(d) == "V1a V2a V1b");
  CHECK(Designators(d).bottles() == 2);
  CHECK(Designators(d).spare_sections() == 1);
  d.first_stage.tube = &single();
  CHECK(tubes_of(d) == "V1 V2a V3a");
  CHECK(Designators(d).spare_sections() == 2);

  d.circuit = CircuitKind::gain_and_split_load;  // one section ahead, one behind: a double triode does both
  d.first_stage.tube = d.tube[0] = &twin();
  CHECK(tubes_of(d) == "V1a V1b");
  d.first_stage.tube = &other_twin();
  CHECK(tubes_of(d) == "V1a V2a");
  d.first_stage.tube = d.tube[0] = &single();
  CHECK(tubes_of(d) == "V1 V2");
}

TEST_CASE("a feedback resistor is a part though its value is left open") {
  Design d = pair();
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.tube = &twin();
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.cathode_ohm = 1500;
  d.first_stage.cathode_unbypassed_ohm = 100;
  CHECK(all_of(d).find("feedback_resistor") == std::string::npos);
  d.feedback.given = true;
  CHECK(all_of(d).find("feedback_resistor R5") != std::string::npos);
}

TEST_CASE("clamp diodes are parts where the design has them") {
  Design d = pair();
  d.bias.form = BiasForm::direct_coupled;
  CHECK(all_of(d).find("grid_clamp") == std::string::npos);
  d.bias.grid_clamp = true;
  CHECK(all_of(d).find("grid_clamp_1 D1, grid_clamp_2 D2") != std::string::npos);
}
