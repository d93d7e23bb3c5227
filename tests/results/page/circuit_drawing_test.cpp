#include "results/page/circuit_drawing.h"

#include <doctest/doctest.h>

#include "results/page/schematic.h"
#include "results/text/html.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

/// Every element is closed, by itself or by its end tag, in order.
bool well_formed(const std::string& svg) {
  std::vector<std::string> open;
  for (auto at = svg.find('<'); at != std::string::npos; at = svg.find('<', at + 1)) {
    const auto end = svg.find('>', at);
    if (end == std::string::npos) return false;
    const std::string tag = svg.substr(at + 1, end - at - 1);
    const std::string name =
        tag.substr(tag[0] == '/' ? 1 : 0, tag.find_first_of(" /", 1) - (tag[0] == '/' ? 1 : 0));
    if (tag[0] == '/') {
      if (open.empty() || open.back() != tag.substr(1)) return false;
      open.pop_back();
    } else if (tag.back() != '/') {
      open.push_back(name);
    }
  }
  return open.empty();
}

}  // namespace

TEST_CASE("every form of stage is drawn with its values") {
  for (const Design& d :
       {sample::self_biased_pair(), sample::direct_pair(), sample::rail_pair(), sample::gain_stage()}) {
    const std::string svg = circuit_drawing(sample::record(d));
    CHECK(well_formed(svg));
    CHECK(svg.find("style=") == std::string::npos);
  }
  const std::string self = circuit_drawing(sample::record(sample::self_biased_pair()));
  for (const char* value : {">+320 V<", ">100 kΩ<", ">110 kΩ<", ">820 Ω<", ">39 kΩ<", ">1 MΩ<", "220 kΩ<"})
    CHECK_MESSAGE(self.find(value) != std::string::npos, value);
  CHECK(circuit_drawing(sample::record(sample::rail_pair())).find(">\u2212100 V<") != std::string::npos);
  CHECK(circuit_drawing(sample::record(sample::gain_stage())).find(">220 Ω<") != std::string::npos);
}

TEST_CASE("voltages stand in the drawing only where the circuit was solved") {
  Record r = sample::record(sample::self_biased_pair());
  CHECK(circuit_drawing(r).find("class=\"volts\"") != std::string::npos);
  r.evaluation = {};
  CHECK(circuit_drawing(r).find("class=\"volts\"") == std::string::npos);
}

TEST_CASE("a tube's name cannot break out of the drawing") {
  Tube tube = sample::tube_12ax7();
  tube.name = "<script>&";
  Record r;
  r.design = sample::self_biased_pair(tube);
  const std::string svg = circuit_drawing(r);
  CHECK(svg.find("<script>") == std::string::npos);
  CHECK(svg.find(html(tube.name)) != std::string::npos);
}

TEST_CASE("no wire runs between the plates of a capacitor, whichever end is named first") {
  for (const bool back : {false, true})
    for (const bool lying : {false, true}) {
      const auto turned = [&](int along) { return lying ? at(along, 5) : at(5, along); };
      Schematic s;
      s.part("c", Schematic::Symbol::capacitor, turned(back ? 60 : 10), turned(back ? 10 : 60));
      const auto& leads = s.parts().front().leads;
      REQUIRE(leads.size() == 2);
      const auto along = [&](Spot spot) { return lying ? spot.x : spot.y; };
      for (const auto& lead : leads) {
        CHECK((lead.a == turned(10) || lead.a == turned(60)));
        // The gap's middle is at 35: each lead ends on its own side of it.
        CHECK((along(lead.a) < 35) == (along(lead.b) < 35));
        CHECK(along(lead.b) != 35);
      }
    }
}
