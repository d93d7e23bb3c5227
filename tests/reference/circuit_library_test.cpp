#include "tests/reference/circuit_library.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

TEST_CASE("the circuit library solves a divider to the last digits and keeps altered values exactly") {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.load({"divider", tight_options(), "v1 a 0 dc 300", "r1 a b 100k", "r2 b 0 47k", ".end"});
  library.analyse("op");
  CHECK(within_ratio(library.real("b").front(), 300.0 * 47 / 147, 1e-12));  // Ohm's law
  CHECK(within_ratio(library.real("v1#branch").front(), -300.0 / 147e3, 1e-12));
  const double volt = -100.0 * std::numbers::pi;
  library.alter("v1[dc]", volt);
  library.analyse("op");
  CHECK(within_ratio(library.real("a").front(), volt, 1e-15));
}

TEST_CASE("the circuit library gives the corner of a resistor and capacitor") {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.load(
      {"corner", "v1 a 0 dc 0 ac 1", "r1 a b 1k", "c1 b 0 " + exact(1e-3 / (2 * std::numbers::pi)), ".end"});
  library.analyse("ac lin 1 1 1");
  CHECK(within_ratio(std::abs(library.complex("b").front()), std::numbers::sqrt2 / 2, 1e-12));  // 1/sqrt(1+1)
}

TEST_CASE("the circuit library gives the thermal noise of a resistor at 300 K over a band") {
  // 4 k T R B, k = 1.380649e-23 J/K (SI, exact)
  CircuitLibrary& library = CircuitLibrary::instance();
  library.load(
      {"noise", ".options temp=26.85 tnom=26.85", "v1 a 0 dc 0 ac 1", "r1 a b 47k", "r2 b 0 1e12", ".end"});
  library.analyse("noise v(b) v1 dec 50 20 20000");
  CHECK(within_ratio(library.real("onoise_total").front(),
                     std::sqrt(4 * 1.380649e-23 * 300 * 47e3 * (20e3 - 20)), 1e-5));
}

TEST_CASE("the circuit library reports what it cannot do as text and goes on") {
  CircuitLibrary& library = CircuitLibrary::instance();
  library.load({"divider", "v1 a 0 dc 10", "r1 a b 1k", "r2 b 0 1k", ".end"});
  library.analyse("op");
  CHECK_THROWS_AS(library.real("nowhere"), CircuitError);
  CHECK_THROWS_AS(library.complex("b"), CircuitError);
  CHECK_THROWS_AS(library.analyse("dc vnone 0 1 1"), CircuitError);
  CHECK_THROWS_AS(library.analyse("no_such_command"), CircuitError);
  // No rest point: a current that is never zero, whichever way the library looks for one.
  library.load({"none", "b1 a 0 i=1+v(a)*v(a)", ".end"});
  CHECK_THROWS_AS(library.analyse("op"), CircuitError);
  library.load({"divider", "v1 a 0 dc 10", "r1 a b 1k", "r2 b 0 1k", ".end"});
  library.analyse("op");
  CHECK(within(library.real("b").front(), 5, 1e-9));
}

}  // namespace
}  // namespace antiphase::reference
