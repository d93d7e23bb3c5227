#include "tests/reference/netlist.h"

#include <algorithm>
#include <numbers>

#include "stagemodels/circuits/coefficients.h"
#include "stagemodels/circuits/surroundings.h"

namespace antiphase::reference {
namespace {

class Drawing {
 public:
  Drawing(const Design& design, Coupling coupling, const SectionWriter& section, const DrawingExtras& extras)
      : d_(design), coupling_(coupling), section_(section), extras_(extras) {}

  StageNetlist pair() {
    start();
    const bool self_biased = d_.bias.form == BiasForm::self_biased;
    const bool direct = d_.bias.form == BiasForm::direct_coupled;
    const bool chain = d_.circuit == CircuitKind::gain_and_splitter;
    const double grid_v = direct && !chain ? d_.bias.grid_v : 0;
    drive(grid_v);
    std::string leak_foot = "0";
    if (self_biased) leak_foot = "s";
    if (chain) first_stage();
    if (direct) {
      line(std::string("vdirect ") + (chain ? "pf" : "a") + " g1 dc 0");
      leak_foot = "g1";  // the plate that grid 1 hangs on
    } else if (chain) {
      capacitor("cx", "pf", "g1", d_.first_stage.coupling_f);
      resistor("g1", "g1", leak_foot, d_.grid_leak_ohm);
    } else {
      capacitor("ci", "a", "g1", d_.input_coupling_f);
      resistor("g1", "g1", leak_foot, d_.grid_leak_ohm);
    }
    resistor("g2", "g2", leak_foot, d_.grid_leak_ohm);
    capacitor("cg", "g2", "0", d_.grid_bypass_f);

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

  /// Equal resistors in the plate and the cathode of one section: output 1 at the plate, output 2 at the
  /// upper end of the cathode's.
  StageNetlist split_load() {
    start();
    const bool self_biased = d_.bias.form == BiasForm::self_biased;
    const bool chain = d_.circuit == CircuitKind::gain_and_split_load;
    drive(self_biased || chain ? 0 : d_.bias.grid_v);
    if (chain) first_stage();
    const std::string top = self_biased ? "s" : "c";
    if (self_biased) {
      to_grid_1(chain);
      resistor("g1", "g1", top, d_.grid_leak_ohm);
      resistor("b", "c", top, d_.bias.ohm);
    } else {
      line(std::string("vdirect ") + (chain ? "pf" : "a") + " g1 dc 0");
    }
    resistor("p1load", "b", "p1", d_.plate_ohm[0]);
    resistor("k", top, "0", d_.plate_ohm[1]);
    output(0, "p1");
    output(1, top);
    section_at(0, *d_.tube[0], {.plate = "p1", .grid = "g1", .cathode = "c"});
    return finish();
  }

  StageNetlist gain_stage() {
    start();
    drive(0);
    to_grid_1(false);
    resistor("g1", "g1", "0", d_.grid_leak_ohm);
    cathode_resistor();
    side(0);
    return finish();
  }

  /// Two gain stages on one cathode resistor: the first is driven at its grid, the second by what resistors
  /// from output 1 and to ground leave of that output; floating, another comes from output 2.
  StageNetlist paraphase() {
    start();
    drive(0);
    const bool chain = has_first_stage(d_);
    if (chain) first_stage();
    to_grid_1(chain);
    resistor("g1", "g1", "0", d_.grid_leak_ohm);
    cathode_resistor();
    side(0);
    side(1);
    resistor("divider", "o1", "g2", d_.divider_ohm);
    if (is_floating(d_)) resistor("balancing", "o2", "g2", d_.balancing_ohm);
    resistor("foot", "g2", "0", d_.divider_foot_ohm);
    return finish();
  }

 private:
  /// The capacitor before grid 1, behind the source or the first stage's plate.
  void to_grid_1(bool chain) {
    if (chain)
      capacitor("cx", "pf", "g1", d_.first_stage.coupling_f);
    else
      capacitor("ci", "a", "g1", d_.input_coupling_f);
  }

  void cathode_resistor() {
    const double bypassed = d_.cathode_ohm - d_.cathode_unbypassed_ohm;
    const bool has_unbypassed = d_.cathode_unbypassed_ohm > 0;
    const std::string top = has_unbypassed ? "m" : "c";  // of the bypassed part
    if (has_unbypassed) resistor("u", "c", bypassed > 0 ? "m" : "0", d_.cathode_unbypassed_ohm);
    if (bypassed > 0) {
      resistor("k", top, "0", bypassed);
      capacitor("ck", top, "0", d_.cathode_bypass_f);
    }
  }

  void line(std::string text) { out_.lines.push_back(std::move(text)); }

  void resistor(const std::string& id, const std::string& from, const std::string& to, double ohm) {
    line("r" + id + " " + from + " " + to + " " + exact(ohm));
  }

  void capacitor(const std::string& id, const std::string& from, const std::string& to, double farad) {
    const std::string between = " " + from + " " + to + " ";
    if (coupling_ == Coupling::held)
      line("v" + id + between + "dc 0");
    else if (coupling_ == Coupling::capacitors)
      line(id + between + "1");  // 1 F: 0.16 micro-ohm at kShortedAtHz
    else if (farad > 0)
      line(id + between + exact(farad));
    else
      line("v" + id + between + "dc " + exact(extras_.capacitor_v.at(out_.capacitors.size())));
    out_.capacitors.push_back({"v" + id, from, to});
  }

  /// Only of the real circuit: wiring and electrodes.
  void stray(const std::string& id, const std::string& from, const std::string& to, double farad) {
    if (coupling_ == Coupling::real && farad > 0) line("c" + id + " " + from + " " + to + " " + exact(farad));
  }

  void start() {
    line("stage");
    line(tight_options());
    if (coupling_ == Coupling::real) line(".options temp=26.85 tnom=26.85");  // 300 K, for the noise
    if (extras_.output_grids && d_.output_valve)
      line("vobias vobias 0 dc " +
           exact(d_.driver.form == DriverForm::cathode_followers ? 0 : d_.output_valve_bias_v));
    if (!(d_.main_supply_v > 0)) {
      line("vb b 0 dc " + exact(d_.supply_v));
      return;
    }
    line("vb bm 0 dc " + exact(d_.main_supply_v));
    resistor("drop", "bm", "b", d_.dropping_ohm);
    capacitor("cr", "b", "0", d_.reservoir_f);
  }

  void drive(double rest_v) {
    if (coupling_ == Coupling::held) {
      for (const char* source : {"vamp amp", "vamp2 amp2", "vstep step", "vphase phase", "vphase2 phase2"})
        line(std::string(source) + " 0 dc 0");
      line("bin in 0 v=" + exact(rest_v) + "+v(amp)*cos(v(phase)*v(step))+v(amp2)*cos(v(phase2)*v(step))");
    } else {
      line("vin in 0 dc " + exact(rest_v) + " ac 1");
    }
    // Where the solver needs its whole equations, its source without resistance has a milliohm of wire.
    const bool whole = surroundings_of(d_) == Surroundings::real || extras_.output_grids;
    const double wire_ohm = coupling_ == Coupling::held && whole ? kLeastSource_ohm : 0;
    if (const double ohm = std::max(d_.source_ohm, wire_ohm); ohm > 0)
      resistor("source", "in", "a", ohm);
    else
      line("vwire in a dc 0");
    stray("source", "a", "0", d_.source_f);
  }

  void tail(const std::string& top, const std::string& foot) {
    if (d_.tail.form == TailForm::resistor) {
      resistor("t", top, foot, d_.tail.ohm);
    } else {
      line("it " + top + " " + foot + " dc " + exact(d_.tail.current_a));
      resistor("t", top, foot, d_.tail.output_ohm);
    }
  }

  void output_stage() {
    const Feedback& f = d_.feedback;
    line("eout x1 0 o1 o2 " + exact(f.output_gain / 2));
    const double kilohm = 1e3;
    const auto farad = [&](double hz) { return exact(1 / (2 * std::numbers::pi * hz * kilohm)); };
    if (f.low_hz > 0) {
      line("clow x1 x2 " + farad(f.low_hz));
      resistor("low", "x2", "0", kilohm);
    } else {
      line("vlow x1 x2 dc 0");
    }
    line("ebuf x3 0 x2 0 1");
    resistor("high", "x3", "x4", kilohm);
    if (f.high_hz > 0) line("chigh x4 0 " + farad(f.high_hz));
    line("eload load 0 x4 0 1");
    const std::string rest = " dc " + exact(extras_.feedback.rest_v) + " ac 0";
    line((extras_.feedback.closed ? "vfb fbk load" : "vfb fbk 0") + rest);
  }

  void first_stage() {
    const FirstStage& f = d_.first_stage;
    capacitor("ci", "a", "gf", d_.input_coupling_f);
    resistor("gf", "gf", "0", f.grid_leak_ohm);
    resistor("pfload", "b", "pf", f.plate_ohm);
    const double bypassed = f.cathode_ohm - f.cathode_unbypassed_ohm;
    if (extras_.feedback.resistor_ohm > 0) {
      const std::string injection = bypassed > 0 ? "mf" : "cf";
      if (bypassed > 0) {
        resistor("kf", "cf", "mf", bypassed);
        capacitor("ckf", "cf", "mf", f.cathode_bypass_f);
      }
      resistor("uf", injection, "0", f.cathode_unbypassed_ohm);
      resistor("fb", injection, "fbk", extras_.feedback.resistor_ohm);
      output_stage();
    } else {
      if (f.cathode_unbypassed_ohm > 0)
        resistor("uf", "cf", bypassed > 0 ? "mf" : "0", f.cathode_unbypassed_ohm);
      if (bypassed > 0) {
        const std::string top = f.cathode_unbypassed_ohm > 0 ? "mf" : "cf";
        resistor("kf", top, "0", bypassed);
        capacitor("ckf", top, "0", f.cathode_bypass_f);
      }
    }
    section_at(2, *f.tube, {.plate = "pf", .grid = "gf", .cathode = "cf"});
  }

  /// A section with what stands between its electrodes.
  void section_at(int section, const Tube& tube, const SectionNodes& nodes) {
    const std::string id = std::to_string(section + 1);
    const auto index = static_cast<std::size_t>(section);
    if (coupling_ == Coupling::real) {
      const TubeCapacitances& c = tube.capacitance;
      stray("gp" + id, nodes.grid, nodes.plate, c.grid_plate_f);
      stray("gk" + id, nodes.grid, nodes.cathode, c.grid_cathode_f);
      stray("pk" + id, nodes.plate, nodes.cathode, c.plate_cathode_f);
      if (extras_.noise_ohm[index] > 0) {
        // The voltages of resistors that carry nothing else, turned into currents of the section: into the
        // plate as if the first stood at the grid, and the shot noise of the grid's own current (2 q i, as
        // 4kT times 1 ohm times that slope squared).
        resistor("n" + id, "n" + id, "0", extras_.noise_ohm[index]);
        line("gn" + id + " " + nodes.plate + " " + nodes.cathode + " n" + id + " 0 " +
             exact(extras_.noise_gm_s[index]));
        resistor("s" + id, "s" + id, "0", 1);
        line("gs" + id + " " + nodes.grid + " " + nodes.cathode + " s" + id + " 0 " +
             exact(extras_.grid_shot_s[index]));
      }
    }
    for (std::string& text : section_(section, nodes)) line(std::move(text));
  }

  void side(int section) {
    const std::string id = std::to_string(section + 1), plate = "p" + id, grid = "g" + id;
    const auto index = static_cast<std::size_t>(section);
    resistor("p" + id + "load", "b", plate, d_.plate_ohm[index]);
    output(section, plate);
    if (coupling_ == Coupling::real)
      section_at(section, *d_.tube[index], {.plate = plate, .grid = grid, .cathode = "c"});
    else
      for (std::string& text : section_(section, {.plate = plate, .grid = grid, .cathode = "c"}))
        line(std::move(text));
  }

  /// A follower, or one half of a second pair, with its grid at `grid`.
  void driver(int number, const std::string& grid, const std::string& output) {
    const std::string id = std::to_string(number + 1), plate = "pd" + id;
    const Driver& driver = d_.driver;
    if (number == 0) {
      line("vdbias dbias 0 dc " + exact(driver.bias_v));
      line("vdrail drail 0 dc " + exact(driver.rail_v));
    }
    resistor("gd" + id, grid, "dbias", driver.grid_leak_ohm);
    if (driver.form == DriverForm::cathode_followers) {
      resistor("kd" + id, output, "drail", driver.cathode_ohm);
      section_at(3 + number, *driver.tube, {.plate = "b", .grid = grid, .cathode = output});
    } else {
      resistor("pd" + id, "b", plate, driver.plate_ohm);
      if (number == 0) resistor("td", "cd", "drail", driver.cathode_ohm);
      section_at(3 + number, *driver.tube, {.plate = plate, .grid = grid, .cathode = "cd"});
      capacitor("cd" + id, plate, output, driver.coupling_f);
    }
  }

  /// Coupling capacitor and load of an output that is taken at the node `from`, or what drives that load.
  void output(int number, const std::string& from) {
    const std::string id = std::to_string(number + 1), output = "o" + id, grid = "gd" + id;
    const bool driven = d_.driver.form != DriverForm::none;
    capacitor("co" + id, from, driven ? grid : output, d_.coupling_f);
    if (driven) driver(number, grid, output);
    resistor("l" + id, output, "0", d_.load_ohm);
    stray("load" + id, output, "0", d_.load_f);
    line("itest" + id + " 0 " + output + " dc 0 ac 0");
    if (extras_.output_grids && d_.output_valve) {
      line("vog" + id + " " + output + " og" + id + " dc 0");
      line("bog" + id + " og" + id +
           " 0 i=" + grid_diode_current(d_.output_valve->grid, "(v(og" + id + ")+v(vobias))"));
    }
  }

  StageNetlist finish() {
    line(".end");
    return std::move(out_);
  }

  const Design& d_;
  Coupling coupling_;
  const SectionWriter& section_;
  const DrawingExtras& extras_;
  StageNetlist out_;
};

}  // namespace

StageNetlist stage_netlist(const Design& design, Coupling coupling, const SectionWriter& section,
                           const DrawingExtras& extras) {
  Drawing drawing(design, coupling, section, extras);
  if (is_split_load(design)) return drawing.split_load();
  if (is_paraphase(design)) return drawing.paraphase();
  return design.circuit != CircuitKind::common_cathode ? drawing.pair() : drawing.gain_stage();
}

StageNetlist stage_netlist(const Design& design, Coupling coupling, const DrawingExtras& extras) {
  return stage_netlist(
      design, coupling,
      [&](int section, const SectionNodes& nodes) {
        const Tube& tube = section >= 3   ? *design.driver.tube
                           : section == 2 ? *design.first_stage.tube
                                          : *design.tube[static_cast<std::size_t>(section)];
        return triode_lines(std::to_string(section + 1), nodes, tube.law(), tube.grid_diode);
      },
      extras);
}

std::string driven_grid(const Design& design) {
  return has_first_stage(design) ? "gf" : "g1";
}

std::string text_of(const Netlist& lines) {
  std::string text;
  for (const std::string& line : lines) text.append(line).push_back('\n');
  return text;
}

}  // namespace antiphase::reference
