#include "results/writers/netlist.h"

#include <algorithm>
#include <charconv>
#include <numbers>
#include <string_view>
#include <variant>

#include "results/describe/parts_beside.h"
#include "results/describe/safety.h"
#include "results/text/lines.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/designators.h"

namespace antiphase {
namespace {

constexpr double kShort_f = 1;  ///< as good as a short at any frequency that is heard
constexpr std::size_t kCommentWidth = 78;

/// Shortest text that gives the number back, with a point whatever the locale.
std::string number(double v) {
  std::array<char, 32> text{};
  const auto end = std::to_chars(text.data(), text.data() + text.size(), v);
  return {text.data(), end.ptr};
}

/// A constant of an expression; brackets keep a sign from running into an operator.
std::string constant(double v) {
  return v < 0 ? "(" + number(v) + ")" : number(v);
}

/// Printable ASCII only: what a simulator may take for the end of a line does not come through.
std::string harmless(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x80) {
      if (byte >= 0xC0) out += '?';  // one for a character, whose further bytes are 0x80 … 0xBF
    } else {
      out += byte < 0x20 || byte == 0x7F ? ' ' : c;
    }
  }
  return out;
}

/// ln(1 + e^x), written so that it never overflows.
std::string softplus(const std::string& x) {
  return "(max(" + x + ",0)+log(1+exp(-abs(" + x + "))))";
}
std::string power(const std::string& base, double exponent) {
  return "pow(max(" + base + ",0)," + constant(exponent) + ")";
}

/// Currents of a section as expressions; empty: none.
struct Expressions {
  std::string plate, grid;
};

/// The equations of the laws' headers. `va`: plate to cathode as the law sees it, vg: grid to cathode.
struct InClosedForm {
  std::string vg, va;

  Expressions operator()(const Koren1996& k) const {
    const std::string bent = constant(1 / k.mu) + "+(" + vg + "+" + constant(k.vct) + ")/sqrt(" +
                             constant(k.kvb) + "+" + va + "*" + va + ")";
    const std::string e1 = va + "/" + constant(k.kp) + "*" + softplus(constant(k.kp) + "*(" + bent + ")");
    return {"2*" + power(e1, k.ex) + "/" + constant(k.kg1), ""};
  }
  Expressions operator()(const DempwolfZoelzer2011& d) const {
    const auto scaled = [](double c, const std::string& v) {
      return softplus(constant(c) + "*" + v) + "/" + constant(c);
    };
    const std::string cathode =
        constant(d.g) + "*" + power(scaled(d.c, "(" + va + "/" + constant(d.mu) + "+" + vg + ")"), d.gamma);
    const std::string grid =
        "(" + constant(d.gg) + "*" + power(scaled(d.cg, vg), d.xi) + "+" + constant(d.ig0) + ")";
    return {cathode + "-" + grid, grid};
  }
  Expressions operator()(const ChildLangmuir& l) const {
    return {
        constant(l.k) + "*" + power(vg + "+" + va + "/" + constant(l.mu) + "+" + constant(l.offset_v), 1.5),
        ""};
  }
  Expressions operator()(const IslandTriode& l) const {
    const double width2 = 0.09 * l.hold_from_v * l.hold_from_v;
    const auto turned = [&](const std::string& y) {
      return "(" + y + "+sqrt((" + y + ")*(" + y + ")+" + constant(width2) + "))/2";
    };
    const std::string hold = constant(l.contact_v) + "+" + vg + "+" + constant(1 - l.hold_share) + "*(" +
                             turned("(-" + vg + "-" + constant(l.hold_from_v) + ")") + "-" +
                             turned(constant(-l.hold_from_v)) + ")";
    const std::string foot = "(" + constant(l.foot_v) + "+" + constant(l.foot_share / l.mu) + "*" + va + ")";
    const auto part = [&](double share, double mu) {
      const std::string u = "(" + hold + "+" + va + "/" + constant(mu) + ")";
      return constant(l.perveance * share) + "*" + power(foot + "*" + softplus(u + "/" + foot), 1.5);
    };
    return {"(" + part(1 - l.open_share, l.mu) + "+" + part(l.open_share, l.mu * l.open_mu_share) + ")*max(" +
                va + ",0)/sqrt(" + constant(l.knee_v * l.knee_v) + "+" + va + "*" + va + ")",
            ""};
  }
  Expressions operator()(const MeasuredSurface&) const { return {}; }
};

/// Plate and screen current of a pentode; vs its screen to its cathode.
struct PentodeExpressions {
  std::string plate, screen;
};
PentodeExpressions in_closed_form(const SuppressorPentode& p, const std::string& vg, const std::string& va,
                                  const std::string& vs) {
  const std::string plate = "max(" + va + ",0)", screen = "max(" + vs + ",1e-6)";
  const std::string w = "(" + screen + "+" + constant(p.through) + "*" + plate + ")";
  const std::string e = w + "/" + constant(p.kp) + "*" +
                        softplus(constant(p.kp) + "*(" + constant(1 / p.mu) + "+" + vg + "/" + w + ")");
  const std::string all = constant(2 / p.kg) + "*" + power(e, p.ex);
  const std::string r =
      "(" + constant(p.division) + "*" + plate + "/(" + plate + "+" + constant(p.knee_v) + "))";
  return {all + "*" + r + "/(1+" + r + ")", all + "/(1+" + r + ")"};
}

bool has_closed_form(const TriodeLaw& law) {
  return !std::holds_alternative<MeasuredSurface>(law);
}

/// The section's own law, or the first of its card in closed form; null: there is none.
const TriodeLaw* written_law(const TriodeSection& section) {
  if (has_closed_form(*section.law)) return section.law;
  for (const TubeModel& model : section.tube->models)
    if (has_closed_form(model.law)) return &model.law;
  return nullptr;
}

class Lines {
 public:
  explicit Lines(const Record& r)
      : d_(r.design),
        e_(r.evaluation),
        plate_2_of_(r.plate_2_of),
        names_(d_),
        c_(names_.circuit()),
        values_(d_, e_) {}

  std::string all() {
    text_ = "antiphase: " + harmless(circuit(d_.circuit).label) + "\n";
    comment(kSafetyLine);
    comment("Predicted with the laws below, for typical tubes. Values in volts, amperes, ohms and farads.");
    for (const Element& e : c_) element(e);
    beside();
    if (has_second_section(d_)) start_of_stack();
    text_ += ".op\n.ac dec 20 10 100k\n.end\n";
    return std::move(text_);
  }

 private:
  void comment(std::string_view words) {
    const std::string lines = wrapped(harmless(words), kCommentWidth, 0);
    for (std::size_t from = 0; from < lines.size();) {
      const std::size_t end = std::min(lines.find('\n', from), lines.size());
      text_ += "* " + lines.substr(from, end - from) + "\n";
      from = end + 1;
    }
  }
  std::string node(Node n) const { return std::string(c_.node_name[static_cast<std::size_t>(n)]); }
  /// "C1", or "C_load_capacitance_1"; the first letter says to a simulator what it is.
  std::string name(const Element& e, char letter) const {
    const std::string_view designator = bought(e, d_) ? names_.of(e) : std::string_view{};
    if (!designator.empty() && designator.front() == letter) return std::string(designator);
    return std::string(1, letter) + "_" + std::string(designator.empty() ? e.name : designator);
  }
  void line(const std::string& name, Node a, Node b, const std::string& rest) {
    text_ += name + " " + node(a) + " " + node(b) + " " + rest + "\n";
  }

  void element(const Element& e) {
    if (e.role == Role::feedback) {
      if (e.there(d_)) feedback(e);
      return;
    }
    if (e.role == Role::feedback_lead) {  // it belongs to the loop, which is closed by hand
      if (e.value(d_) > 0)
        text_ += "*" + name(e, 'C') + " " + node(e.a) + " " + node(e.b) + " " + number(e.value(d_)) + "\n";
      return;
    }
    if (e.joins(d_)) return line(name(e, 'V'), e.a, e.b, "DC 0");  // a wire
    if (!e.stands(d_)) return;
    if (const std::string_view designator = names_.of(e); !designator.empty())
      comment(std::string(designator) + ": " + std::string(e.label) +
              (e.kind == ElementKind::triode ? ", " + section_of(e, d_).tube->name : ""));
    const double value = e.value(d_);
    switch (e.kind) {
      case ElementKind::held:
        return line(name(e, 'V'), e.a, e.b, "DC " + number(value));
      case ElementKind::driven:
        return source(e);
      case ElementKind::triode:
        return triode(e);
      case ElementKind::resistor:
        if (e.member == &member::plate_ohm_1 && plate_2_of_) return two_resistors(e, *plate_2_of_);
        return line(name(e, 'R'), e.a, e.b, number(value));
      case ElementKind::capacitor:
        if (!(value > 0)) not_given(e);
        return line(name(e, 'C'), e.a, e.b, number(value > 0 ? value : kShort_f));
      case ElementKind::stray:
        if (value > 0) line(name(e, 'C'), e.a, e.b, number(value));
        return;
      case ElementKind::sink:
        return line(name(e, 'I'), e.a, e.b, "DC " + number(value));
      case ElementKind::clamp:
        line(name(e, 'D'), e.a, e.b, "CLAMP");
        if (!clamp_described_) text_ += ".model CLAMP D(IS=1e-14)\n";
        clamp_described_ = true;
        return;
      case ElementKind::output_grid:  // plays no part up to the target
        return;
    }
  }

  void source(const Element& e) {
    const double rest_v = e.value(d_);
    std::string drive = "DC " + number(rest_v) + " AC 1";
    if (e_.at_target.solved == Solved::yes)
      drive += " SIN(" + number(rest_v) + " " + number(e_.at_target.input_peak_v) + " 1000)";
    line(name(e, 'V'), e.a, e.b, drive);
  }

  void triode(const Element& e) {
    const TriodeSection section = section_of(e, d_);
    const TriodeLaw* law = written_law(section);
    if (section.pentode) return pentode(e, section);
    if (!law) return comment("No law of its card has a closed form: the section is left out.");
    if (law != section.law)
      comment(
          "Its law is a measured surface, which has no closed form; this is another law of its card, "
          "and figures differ.");
    const std::string designator(names_.of(e));
    const std::string vg = "V(" + node(e.b) + "," + node(e.c) + ")";
    std::string va = "V(" + node(e.a) + "," + node(e.c) + ")";
    if (section.spread.mu != 1) va = "(" + va + "/" + constant(section.spread.mu) + ")";
    Expressions i = std::visit(InClosedForm{vg, va}, *law);
    if (section.spread.current != 1) i.plate = constant(section.spread.current) + "*(" + i.plate + ")";
    line("B_" + designator + "_plate", e.a, e.c, "I=" + i.plate);
    grid_and_strays(e, section, i.grid);
  }

  void pentode(const Element& e, const TriodeSection& section) {
    const std::string designator(names_.of(e));
    const auto to_cathode = [&](Node n) { return "V(" + node(n) + "," + node(e.c) + ")"; };
    const auto scaled = [&](const std::string& v) {
      return section.spread.mu == 1 ? v : "(" + v + "/" + constant(section.spread.mu) + ")";
    };
    const PentodeExpressions i = in_closed_form(*section.pentode, to_cathode(e.b), scaled(to_cathode(e.a)),
                                                scaled(to_cathode(e.screen)));
    const std::string current = constant(section.spread.current) + "*(";
    line("B_" + designator + "_plate", e.a, e.c, "I=" + current + i.plate + ")");
    line("B_" + designator + "_screen", e.screen, e.c, "I=" + current + i.screen + ")");
    grid_and_strays(e, section, "");
  }

  /// `grid`: its current by the section's law; empty: the card's diode.
  void grid_and_strays(const Element& e, const TriodeSection& section, std::string grid) {
    const std::string designator(names_.of(e));
    const std::string vg = "V(" + node(e.b) + "," + node(e.c) + ")";
    const GridDiode& diode = section.tube->grid_diode;
    if (grid.empty() && diode.conducts())
      grid = constant(diode.siemens * diode.slope_v) + "*" +
             softplus("((" + vg + "-" + constant(diode.knee_v) + ")/" + constant(diode.slope_v) + ")");
    if (!grid.empty()) line("B_" + designator + "_grid", e.b, e.c, "I=" + grid);
    const TubeCapacitances& c = section.tube->capacitance;
    const auto stray = [&](const char* between, Node a, Node b, double farad) {
      if (farad > 0) line("C_" + designator + between, a, b, number(farad));
    };
    stray("_grid_plate", e.b, e.a, c.grid_plate_f);
    stray("_grid_cathode", e.b, e.c, c.grid_cathode_f);
    stray("_plate_cathode", e.a, e.c, c.plate_cathode_f);
  }

  /// What the design leaves open is a short in its figures, whatever is proposed for the bench.
  void not_given(const Element& e) {
    const auto farad = values_.proposed(e);
    comment("Its value is not given: 1 F stands for a short." +
            (farad ? " Proposed: " + number(*farad) + " or more, for " + number(kProposedDownTo_hz) + " Hz."
                   : std::string()));
  }

  /// In series they meet at a node of their own.
  void two_resistors(const Element& e, const engine::TwoPart& two) {
    const std::string whole = name(e, 'R'), between = "N_" + whole;
    const auto one = [&](bool first, const std::string& a, const std::string& b) {
      text_ += designator_of_part(whole, first) + " " + a + " " + b + " " +
               number(first ? two.first : two.second) + "\n";
    };
    one(true, node(e.a), two.parallel ? node(e.b) : between);
    one(false, two.parallel ? node(e.a) : between, node(e.b));
  }

  void beside() {
    for (const PartLine& p : parts_beside(d_, e_, {}))
      if (!p.is_drawn)
        comment((p.is_load ? "Here as the load: " : "Not here: ") + p.designators + ": " + p.label + ", " +
                (p.value > 0 ? number(p.value) : p.what));
  }

  /// The output stage is a gain with two simple poles, and the loop is closed by hand.
  void feedback(const Element& e) {
    const Feedback& f = d_.feedback;
    const double ohm = f.resistor_ohm > 0 ? f.resistor_ohm : e_.feedback.resistor_ohm;
    comment(
        "Overall feedback. To close the loop take the stars from the lines that follow. At rest the "
        "circuit then differs by the little that flows through the resistor.");
    const auto commented = [&](const std::string& words) { text_ += "*" + words + "\n"; };
    std::string sum;
    for (int i = 0; i < c_.outputs; ++i) {
      const Output& out = c_.output[static_cast<std::size_t>(i)];
      sum += (out.sign < 0 ? "-" : sum.empty() ? "" : "+") + ("V(" + node(out.node) + ")");
    }
    const auto corner = [](double hz) { return number(1 / (2 * std::numbers::pi * hz * 1e3)); };
    commented("B_stage FB1 0 V=" + constant(f.output_gain / c_.outputs) + "*(" + sum + ")");
    commented(f.low_hz > 0 ? "C_low FB1 FB2 " + corner(f.low_hz) : "V_low FB1 FB2 DC 0");
    commented("R_low FB2 0 1000");
    commented("E_between FB3 0 FB2 0 1");
    commented("R_high FB3 FB4 1000");
    if (f.high_hz > 0) commented("C_high FB4 0 " + corner(f.high_hz));
    commented("E_load " + node(e.a) + " 0 FB4 0 1");
    commented(ohm > 0 ? name(e, 'R') + " " + node(e.a) + " " + node(e.b) + " " + number(ohm)
                      : name(e, 'R') + ": its value is not given");
  }

  /// Where a plate hangs on another section's cathode, nothing but currents of tubes says at first where it
  /// stands: a simulator is told where to begin.
  void start_of_stack() {
    if (e_.operating_point.solved != Solved::yes) return;
    for (const int section : {kFirstStage, kGainSecond}) {
      const SectionRest& own = own_rest(e_.operating_point, section);
      const Element& e = *c_.section(section);
      if (e.a != c_.supply) text_ += ".nodeset V(" + node(e.a) + ")=" + number(own.plate_v) + "\n";
      text_ += ".nodeset V(" + node(e.c) + ")=" + number(own.cathode_v) + "\n";
    }
  }

  const Design& d_;
  const Evaluation& e_;
  const std::optional<engine::TwoPart>& plate_2_of_;
  const Designators names_;
  const Circuit& c_;
  const PartValues values_;
  std::string text_;
  bool clamp_described_ = false;
};

}  // namespace

std::string netlist(const Record& r) {
  return Lines(r).all();
}

}  // namespace antiphase
