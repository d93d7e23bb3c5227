#include "tests/reference/netlist.h"

namespace antiphase::reference {
namespace {

class Drawing {
 public:
  Drawing(const Design& design, Coupling coupling, const SectionWriter& section)
      : d_(design), coupling_(coupling), section_(section) {}

  StageNetlist pair() {
    start();
    const bool self_biased = d_.bias.form == BiasForm::self_biased;
    const bool direct = d_.bias.form == BiasForm::direct_coupled;
    const double grid_v = direct ? d_.bias.grid_v : 0;
    drive(grid_v);
    std::string leak_foot = "0";
    if (self_biased) leak_foot = "s";
    if (direct) {
      line("vdirect in g1 dc 0");
      line("vgrid gv 0 dc " + exact(grid_v));
      leak_foot = "gv";
    } else {
      capacitor("ci", "in", "g1");
      resistor("g1", "g1", leak_foot, d_.grid_leak_ohm);
    }
    resistor("g2", "g2", leak_foot, d_.grid_leak_ohm);
    capacitor("cg", "g2", "0");

    std::string tail_foot = "0";
    if (d_.bias.form == BiasForm::negative_rail) {
      line("vrail n 0 dc " + exact(d_.bias.rail_v));
      tail_foot = "n";
    }
    if (self_biased) resistor("b", "c", "s", d_.bias.ohm);
    tail(self_biased ? "s" : "c", tail_foot);
    side(0);
    side(1);
    return finish();
  }

  StageNetlist gain_stage() {
    start();
    drive(0);
    capacitor("ci", "in", "g1");
    resistor("g1", "g1", "0", d_.grid_leak_ohm);
    const double bypassed = d_.cathode_ohm - d_.cathode_unbypassed_ohm;
    const bool has_unbypassed = d_.cathode_unbypassed_ohm > 0;
    const std::string top = has_unbypassed ? "m" : "c";  // of the bypassed part
    if (has_unbypassed) resistor("u", "c", bypassed > 0 ? "m" : "0", d_.cathode_unbypassed_ohm);
    if (bypassed > 0) {
      resistor("k", top, "0", bypassed);
      capacitor("ck", top, "0");
    }
    side(0);
    return finish();
  }

 private:
  void line(std::string text) { out_.lines.push_back(std::move(text)); }

  void resistor(const std::string& id, const std::string& from, const std::string& to, double ohm) {
    line("r" + id + " " + from + " " + to + " " + exact(ohm));
  }

  void capacitor(const std::string& id, const std::string& from, const std::string& to) {
    if (coupling_ == Coupling::held) {
      line("v" + id + " " + from + " " + to + " dc 0");
      out_.capacitors.push_back({"v" + id, from, to});
    } else {
      line(id + " " + from + " " + to + " 1");  // 1 F: 0.16 micro-ohm at kShortedAtHz
      out_.capacitors.push_back({"v" + id, from, to});
    }
  }

  void start() {
    line("stage");
    line(tight_options());
    line("vb b 0 dc " + exact(d_.supply_v));
  }

  void drive(double rest_v) {
    if (coupling_ == Coupling::capacitors) {
      line("vin in 0 dc " + exact(rest_v) + " ac 1");
      return;
    }
    line("vamp amp 0 dc 0");
    line("vstep step 0 dc 0");
    line("vphase phase 0 dc 0");
    line("bin in 0 v=" + exact(rest_v) + "+v(amp)*cos(v(phase)*v(step))");
  }

  void tail(const std::string& top, const std::string& foot) {
    if (d_.tail.form == TailForm::resistor) {
      resistor("t", top, foot, d_.tail.ohm);
    } else {
      line("it " + top + " " + foot + " dc " + exact(d_.tail.current_a));
      resistor("t", top, foot, d_.tail.output_ohm);
    }
  }

  void side(int section) {
    const std::string id = std::to_string(section + 1);
    resistor("p" + id + "load", "b", "p" + id, d_.plate_ohm[static_cast<std::size_t>(section)]);
    capacitor("co" + id, "p" + id, "o" + id);
    resistor("l" + id, "o" + id, "0", d_.load_ohm);
    line("itest" + id + " 0 o" + id + " dc 0 ac 0");
    for (std::string& text : section_(section, {.plate = "p" + id, .grid = "g" + id, .cathode = "c"})) {
      line(std::move(text));
    }
  }

  StageNetlist finish() {
    line(".end");
    return std::move(out_);
  }

  const Design& d_;
  Coupling coupling_;
  const SectionWriter& section_;
  StageNetlist out_;
};

}  // namespace

StageNetlist stage_netlist(const Design& design, Coupling coupling, const SectionWriter& section) {
  Drawing drawing(design, coupling, section);
  return design.circuit == CircuitKind::long_tailed_pair ? drawing.pair() : drawing.gain_stage();
}

StageNetlist stage_netlist(const Design& design, Coupling coupling) {
  return stage_netlist(design, coupling, [&](int section, const SectionNodes& nodes) {
    return triode_lines(std::to_string(section + 1), nodes,
                        design.tube[static_cast<std::size_t>(section)]->law());
  });
}

std::string text_of(const Netlist& lines) {
  std::string text;
  for (const std::string& line : lines) text.append(line).push_back('\n');
  return text;
}

}  // namespace antiphase::reference
