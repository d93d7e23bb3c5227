// What the meter reads with a faulty part, from the independent side: the sound stage's netlist with one
// element changed.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "objectives/builds/faulty_parts.h"
#include "tests/reference/cases.h"
#include "tests/reference/netlist.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

/// Lines with the fault put in; empty if the drawing has no such element.
Netlist with_fault(const Design& d, FaultKind fault) {
  Netlist lines = stage_netlist(d, Coupling::capacitors).lines;
  const auto find = [&](const std::string& name) {
    return std::find_if(lines.begin(), lines.end(),
                        [&](const std::string& l) { return l.starts_with(name + " "); });
  };
  const auto set = [&](const std::string& name, const std::string& ohm) {
    const auto it = find(name);
    REQUIRE_MESSAGE(it != lines.end(), name);
    *it = it->substr(0, it->rfind(' ') + 1) + ohm;
  };
  const auto add = [&](const std::string& line) { lines.insert(lines.end() - 1, line); };
  const auto kill = [&](const std::string& id) {
    std::erase_if(lines, [&](const std::string& l) {
      return l.starts_with("bp" + id + " ") || l.starts_with("bg" + id + " ");
    });
  };
  const double supply = d.main_supply_v > 0 ? d.main_supply_v : d.supply_v;
  switch (fault) {
    case FaultKind::none:
      break;
    case FaultKind::plate_resistor_1_open:
      set("rp1load", "1e9");
      break;
    case FaultKind::plate_resistor_2_open:
      set("rp2load", "1e9");
      break;
    case FaultKind::tail_open:
      set("rt", "1e9");
      break;
    case FaultKind::tail_shorted:
      set("rt", "1e-3");
      break;
    case FaultKind::bias_resistor_open:
      set("rb", "1e9");
      break;
    case FaultKind::bias_resistor_shorted:
      set("rb", "1e-3");
      break;
    case FaultKind::section_1_dead:
      kill("1");
      break;
    case FaultKind::section_2_dead:
      kill("2");
      break;
    case FaultKind::input_capacitor_leaks:
      add("vbefore before 0 dc " + exact(supply / 2));
      add("rleak before g1 " + exact(kLeakage_ohm));
      break;
    case FaultKind::output_capacitor_1_leaks:
      add("rleak p1 o1 " + exact(kLeakage_ohm));
      break;
    case FaultKind::output_capacitor_2_leaks:
      add("rleak p2 o2 " + exact(kLeakage_ohm));
      break;
    case FaultKind::grid_2_to_ground:
      add("rleak g2 0 1e-3");
      break;
    default:
      return {};
  }
  return lines;
}

TEST_CASE("a faulty part makes the readings that the circuit library gives") {
  int compared = 0, refused = 0;
  for (const Case& c : draw_pairs(20261125, 3).all) {
    for (const FaultRow* row : faults_of(c.design)) {
      if (c.design.tail.form == TailForm::constant_current && row->kind == FaultKind::tail_open) continue;
      const Netlist lines = with_fault(c.design, row->kind);
      if (lines.empty()) continue;
      CAPTURE(row->name);
      CircuitLibrary& library = CircuitLibrary::instance();
      try {
        library.load(lines);
        library.analyse("op");
      } catch (const CircuitError&) {
        ++refused;  // a node that nothing holds
        continue;
      }
      const FaultPoint f = solve_fault(c.design, row->kind);
      REQUIRE(f.point.solved == Solved::yes);
      ++compared;
      // Both solve Kirchhoff's law far below a meter's millivolt; what is left are the library's smallest
      // conductances (1e-12 S) behind megohms and the gain of the stage.
      constexpr double kMeter_v = 0.05;
      const std::string told = "ours " + exact(f.point.plate_v[0]) + " " + exact(f.point.plate_v[1]) + " " +
                               exact(f.point.cathode_v) + " theirs " + exact(library.real("p1").front()) +
                               " " + exact(library.real("p2").front()) + " " +
                               exact(library.real("c").front());
      INFO(told);
      CHECK(within(f.point.plate_v[0], library.real("p1").front(), kMeter_v));
      CHECK(within(f.point.plate_v[1], library.real("p2").front(), kMeter_v));
      CHECK(within(f.point.cathode_v, library.real("c").front(), kMeter_v));
      CHECK(within(f.output_v[0], library.real("o1").front(), kMeter_v));
      CHECK(within(f.output_v[1], library.real("o2").front(), kMeter_v));
    }
  }
  MESSAGE(compared << " faults compared, " << refused << " refused by the library");
  CHECK(compared >= 100);
  CHECK(refused <= compared / 10);
}

}  // namespace
}  // namespace antiphase::reference
