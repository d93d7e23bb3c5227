#include "tests/reference/triode_lines.h"

#include <doctest/doctest.h>

#include "tests/reference/published_tubes.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

/// Currents and slopes of the sets, evaluated by hand from the published equations; 4 digits.
struct PublishedValue {
  const char* tube;
  double va, vg, plate_ma, gm_ma_v, rp_kohm;
};
const PublishedValue kValues[] = {
    {"12AX7", 100, -1, 0.1004, 0.588, 140.6},
    {"12AX7", 250, -2, 0.9518, 1.670, 53.7},
    {"12AX7", 200, -1.5, 0.8625, 1.726, 53.0},
    {"high mu, offset", 100, -1, 0.4645, 1.2433, 78.83},
    {"high mu, offset", 250, -2, 1.2565, 1.6450, 58.78},
    {"12AU7", 100, 0, 12.585, 3.380, 6.11},
    {"12AU7", 250, -8.5, 10.394, 2.480, 7.25},
    {"12AT7", 250, -2, 12.844, 7.221, 7.88},
    {"6DJ8", 90, -1.3, 14.324, 9.426, 2.96},
    {"RSD-2", 100, -1, 0.3061, 0.903, 111.0},
    {"RSD-2", 250, -2, 1.0198, 1.954, 51.3},
};

/// One section between fixed grid and plate voltages.
Netlist alone(const TriodeLaw& law, double vg, double va) {
  Netlist lines{"section", tight_options(), "vp p 0 dc " + exact(va), "vg g 0 dc " + exact(vg)};
  for (std::string& line : triode_lines("1", {"p", "g", "0"}, law)) lines.push_back(std::move(line));
  lines.emplace_back(".end");
  return lines;
}

TEST_CASE("published equations give the published currents and slopes") {
  CircuitLibrary& library = CircuitLibrary::instance();
  for (const PublishedValue& v : kValues) {
    CAPTURE(v.tube);
    CAPTURE(v.va);
    library.load(alone(published_tube(v.tube).law(), v.vg, v.va));
    library.analyse("op");
    CHECK(within_ratio(library.real("vip1#branch").front(), v.plate_ma * 1e-3, 5e-4));
    library.alter("vg[acmag]", 1);
    library.analyse("ac lin 1 1 1");
    CHECK(within_ratio(library.complex("vip1#branch").front().real(), v.gm_ma_v * 1e-3, 1e-3));
    library.alter("vg[acmag]", 0);
    library.alter("vp[acmag]", 1);
    library.analyse("ac lin 1 1 1");
    CHECK(within_ratio(1 / library.complex("vip1#branch").front().real(), v.rp_kohm * 1e3, 1.5e-3));
  }
}

TEST_CASE("grid current of the RSD-2 set is the published one") {
  // K. Dempwolf, U. Zoelzer, DAFx-11, 2011, evaluated by hand to 3 or 4 digits.
  const double points[][2] = {{-0.6, 0.0467}, {-0.3, 0.215}, {0, 12.69},
                              {0.3, 116.6},   {0.5, 230.8},  {1, 591.1}};
  CircuitLibrary& library = CircuitLibrary::instance();
  for (const auto& [vg, micro] : points) {
    library.load(alone(published_tube("RSD-2").law(), vg, 200));
    library.analyse("op");
    CHECK(within_ratio(library.real("vig1#branch").front(), micro * 1e-6, 3e-3));
  }
}

TEST_CASE("the netlist's expression and the plain function are the same law") {
  CircuitLibrary& library = CircuitLibrary::instance();
  std::vector<TriodeLaw> laws{IslandTriode{90, 3.2e-3, 0.75, 29, 0.22, 0.085, 0.71, 2.1, 0.57, 0.22}};
  for (const Tube& tube : published_tubes()) laws.push_back(tube.law());
  for (const TriodeLaw& law : laws) {
    CAPTURE(law.index());
    library.load(alone(law, 0, 0));
    for (const double va : {0.0, 0.5, 30.0, 250.0, 600.0}) {
      for (const double vg : {-60.0, -4.0, -1.5, -0.2, 0.0, 0.4, 3.0}) {
        library.alter("vp[dc]", va);
        library.alter("vg[dc]", vg);
        library.analyse("op");
        const PublishedCurrents want = published_currents(law, vg, va);
        CAPTURE(va);
        CAPTURE(vg);
        CHECK(
            within(library.real("vip1#branch").front(), want.plate_a, 1e-13 + 1e-9 * std::abs(want.plate_a)));
        CHECK(within(library.real("vig1#branch").front(), want.grid_a, 1e-13 + 1e-9 * std::abs(want.grid_a)));
      }
    }
  }
}

}  // namespace
}  // namespace antiphase::reference
