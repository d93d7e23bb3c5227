// Which types can be plugged in for one another: pins as the basing diagrams 9A, 9AJ and 8BD have them.
#include "stagemodels/tubes/base.h"

#include <doctest/doctest.h>

using namespace antiphase;

namespace {

TubeBase noval(Pin nine) {
  return {"noval",
          "",
          {Pin::plate_2, Pin::grid_2, Pin::cathode_2, Pin::heater, Pin::heater, Pin::plate_1, Pin::grid_1,
           Pin::cathode_1, nine},
          "test"};
}

}  // namespace

TEST_CASE("a base matches itself, whichever section is called the first") {
  TubeBase a = noval(Pin::heater_tap), b = a;
  CHECK(match(a, b) == BaseMatch::same);
  b.pins = {Pin::plate_1, Pin::grid_1, Pin::cathode_1, Pin::heater,    Pin::heater,
            Pin::plate_2, Pin::grid_2, Pin::cathode_2, Pin::heater_tap};
  CHECK(match(a, b) == BaseMatch::same);
  CHECK(match(b, a) == BaseMatch::same);
  CHECK(shield_pins(a, a).empty());
}

TEST_CASE("a shield where the other is free fits and is told, a heater tap there does not fit") {
  const TubeBase tapped = noval(Pin::heater_tap), shielded = noval(Pin::shield), plain = noval(Pin::none);
  CHECK(match(shielded, plain) == BaseMatch::same);
  CHECK(shield_pins(shielded, plain) == std::vector<int>{9});
  CHECK(match(tapped, shielded) == BaseMatch::heater_differs);
  CHECK(match(shielded, tapped) == BaseMatch::heater_differs);
  CHECK(match(tapped, plain) == BaseMatch::heater_differs);
}

TEST_CASE("one electrode on another pin, one section turned about, or another socket do not match") {
  const TubeBase a = noval(Pin::shield);
  TubeBase b = a;
  std::swap(b.pins[1], b.pins[2]);  // grid and cathode of one section
  CHECK(match(a, b) == BaseMatch::other);
  b = a;
  std::swap(b.pins[0], b.pins[5]);  // only the plates of the two sections
  CHECK(match(a, b) == BaseMatch::other);
  b = a;
  std::swap(b.pins[3], b.pins[2]);  // a heater on a cathode's pin
  CHECK(match(a, b) == BaseMatch::other);
  b = a;
  b.socket = "octal";
  CHECK(match(a, b) == BaseMatch::other);
  b = a;
  b.pins.pop_back();
  CHECK(match(a, b) == BaseMatch::other);
  CHECK(match(TubeBase{}, TubeBase{}) == BaseMatch::other);  // nothing known is no match
}
