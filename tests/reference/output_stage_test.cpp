// The output stage against the independent library: the transformer's ladder against frequency, and the cycle
// of a pair, written as a netlist from the definitions of stagemodels/README.md.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "stagemodels/output/pair_solver.h"
#include "stagemodels/output/transformer_response.h"
#include "tests/reference/circuit_library.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

using Complex = std::complex<double>;

Netlist ladder(const OutputTransformer& t, double plates_ohm) {
  const double to_primary = t.plate_to_plate_ohm / t.load_ohm;
  return {"transformer of four elements",
          tight_options(),
          "i1 0 p dc 0 ac 1",
          "rp p 0 " + exact(plates_ohm),
          "cp p 0 " + exact(t.primary_f),
          "r1 p a " + exact(t.primary_ohm),
          "l1 a m " + exact(0.5 * t.leakage_h),
          "lp m 0 " + exact(t.primary_h),
          "l2 m b " + exact(0.5 * t.leakage_h),
          "r2 b s " + exact(to_primary * t.secondary_ohm),
          "rl s 0 " + exact(to_primary * t.load_ohm),
          "cs s 0 " + exact(t.secondary_f),
          ".end"};
}

/// A pair in balance: the transformer carries no direct current, and both valves are one law.
Netlist pair_netlist(const OutputPair& p) {
  const auto& law = std::get<SpaceCurrentPentode>(p.valve[0]->law->law);
  const OutputTransformer& t = p.transformer;
  const double turns2 = t.plate_to_plate_ohm / t.load_ohm;
  const double per_a = 0.25 * turns2 * (t.load_ohm + t.secondary_ohm);
  Netlist lines{"output pair",
                tight_options(),
                "vs sup 0 dc " + exact(p.supply_v),
                "vsc sc 0 dc " + exact(p.screen_v),
                "vb bias 0 dc " + exact(p.bias_v),
                "vd drive 0 dc 0"};
  for (const auto& [n, other, sign] : {std::tuple{"1", "2", "+"}, std::tuple{"2", "1", "-"}}) {
    // Until it has settled the library may try a plate below its cathode, where the law takes it for nothing.
    const std::string k = n, plate = "max(v(p" + k + "),1e-6)",
                      w = "(v(sc)+" + exact(law.through) + "*" + plate + ")";
    const std::string base = "(" + w + "/" + exact(law.kp) + "*ln(1+exp(" + exact(law.kp) + "*(1/" +
                             exact(law.mu) + "+v(g" + k + ")/" + w + "))))";
    const std::string space = "(2/" + exact(law.kg) + "*exp(" + exact(law.ex) + "*ln(" + base + ")))";
    const std::string ratio =
        "(" + exact(law.division) + "*" + plate + "/sqrt(v(sc)*(" + plate + "+" + exact(law.knee_v) + ")))";
    lines.push_back("bg" + k + " g" + k + " 0 v=v(bias)" + sign + "v(drive)");
    lines.push_back("vm" + k + " sup a" + k + " dc 0");
    lines.push_back("rh" + k + " a" + k + " b" + k + " " + exact(0.5 * t.primary_ohm));
    lines.push_back("bu" + k + " b" + k + " p" + k + " v=" + exact(per_a) + "*(i(vm" + k + ")-i(vm" + other +
                    "))");
    lines.push_back("bp" + k + " p" + k + " 0 i=" + space + "*" + ratio + "/(1+" + ratio + ")");
    lines.push_back("bs" + k + " sc 0 i=" + space + "/(1+" + ratio + ")");
  }
  // Half the primary's voltage, through the turns and the secondary's resistance, is the load's.
  lines.push_back("bl load 0 v=(v(b1)-v(p1))*" +
                  exact(2 / std::sqrt(turns2) * t.load_ohm / (t.load_ohm + t.secondary_ohm)));
  lines.push_back("rload load 0 1k");
  lines.push_back(".end");
  return lines;
}

}  // namespace

TEST_CASE("the transformer's ladder is that of the circuit library at every frequency") {
  testing::RandomNumbers draws{std::mt19937_64(11)};
  double worst = 0;
  for (int n = 0; n < 20; ++n) {
    const OutputTransformer t{.plate_to_plate_ohm = draws.between(3e3, 12e3),
                              .load_ohm = draws.between(4, 16),
                              .primary_ohm = draws.between(50, 400),
                              .secondary_ohm = draws.between(0.1, 0.8),
                              .primary_h = draws.log_between(5, 200),
                              .leakage_h = draws.log_between(5e-3, 0.3),
                              .primary_f = draws.log_between(1e-10, 3e-9),
                              .secondary_f = draws.log_between(1e-10, 3e-9)};
    const double plates = draws.log_between(1e3, 60e3);
    const TransformerResponse response(t, plates);
    CircuitLibrary& library = CircuitLibrary::instance();
    library.load(ladder(t, plates));
    library.analyse("ac dec 10 1 1meg");
    const auto hz = library.complex("frequency"), v = library.complex("s");
    for (std::size_t k = 0; k < hz.size(); ++k) {
      const Complex got = response.at(hz[k].real()) / response.at(hz[30].real()), want = v[k] / v[30];
      worst = std::max(worst, std::abs(got - want) / std::abs(want));
    }
  }
  std::printf("transformer's ladder against the circuit library: worst %.1e\n", worst);
  CHECK(worst < 1e-9);  // both solve the same few equations in doubles
}

TEST_CASE("the cycle of a balanced pair is that of the circuit library at each instant") {
  double worst_v = 0;
  for (const auto& [name, supply_v, screen_v, bias_v, load_ohm] :
       {std::tuple{"6L6GC", 360., 270., -22.5, 6600.}, std::tuple{"EL84", 300., 300., -14.7, 8000.},
        std::tuple{"KT88", 560., 300., -34., 4500.}}) {
    OutputPair p;
    const OutputValve& valve = *testing::shipped().find_output_valve(name);
    p.valve = {&valve, &valve};
    p.supply_v = supply_v;
    p.screen_v = screen_v;
    p.bias_v = bias_v;
    p.transformer = {.plate_to_plate_ohm = load_ohm, .load_ohm = 8, .primary_ohm = 200, .secondary_ohm = 0.4};
    PairSolver solver(p);
    PairRest rest;
    REQUIRE(solver.rest(rest) == Solved::yes);
    solver.drive_with_cosine();
    PairState state;
    const double drive_v = 0.9 * std::abs(bias_v);
    REQUIRE(solver.at(drive_v, state) == Solved::yes);
    CircuitLibrary& library = CircuitLibrary::instance();
    library.load(pair_netlist(p));
    for (std::size_t k = 0; k < PairSolver::kCycleInstants; k += 3) {
      library.alter("vd[dc]", drive_v * PairSolver::instants().cosine[k]);
      library.analyse("op");
      worst_v = std::max(worst_v, std::abs(library.real("load").front() - solver.load_v()[k]));
    }
  }
  std::printf("cycle of a pair against the circuit library: worst %.1e V at the load\n", worst_v);
  CHECK(worst_v < 1e-6);  // the library's own tolerance at the plates is 1e-7 V (circuit_library.h)
}

}  // namespace antiphase::reference
