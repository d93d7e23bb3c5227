#include "results/page/circuit_drawing.h"

#include <algorithm>

#include "results/describe/node_voltages.h"
#include "results/describe/values.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/designators.h"

namespace antiphase {
namespace {

using Anchor = Schematic::Anchor;
using Symbol = Schematic::Symbol;

constexpr int kLineHeight = 15, kHalfLetter = 5;  // half of a letter's height brings a line to the middle

struct Line {
  std::string text;
  std::string_view kind = {};
};

Symbol symbol_of(const Element& e) {
  switch (e.kind) {
    case ElementKind::capacitor:
      // Electrolytic as a rule, and node a is the positive one.
      return e.role == Role::reservoir || e.role == Role::decoupling_capacitor ||
                     e.role == Role::cathode_bypass
                 ? Symbol::polarized_capacitor
                 : Symbol::capacitor;
    case ElementKind::stray:
      return Symbol::capacitor;
    case ElementKind::sink:
      return Symbol::sink;
    case ElementKind::clamp:
      return Symbol::diode;
    case ElementKind::triode:
      return Symbol::triode;
    case ElementKind::resistor:
    case ElementKind::held:
    case ElementKind::driven:
    case ElementKind::output_grid:
      break;
  }
  return Symbol::resistor;
}

std::string in_words(const Said& said, const std::string& value) {
  return std::string(said.before) + value + std::string(said.after);
}

class Painter {
 public:
  explicit Painter(const Record& r)
      : record_(r), d_(r.design), circuit_(circuit_of(d_)), designators_(d_), volts_(d_, r.evaluation) {}

  Schematic paint() {
    const Picture picture = circuit(d_.circuit).picture(form_of(d_));
    for (int i = 0; i < picture.wires; ++i) {
      const Wire& w = picture.wire[static_cast<std::size_t>(i)];
      if (painted(w.with)) s_.wire(w.a, w.b);
    }
    for (int i = 0; i < picture.grounds; ++i) {
      const GroundSign& g = picture.ground[static_cast<std::size_t>(i)];
      if (painted(g.with)) s_.ground(g.at);
    }
    for (int i = 0; i < picture.placings; ++i) place(picture.placed[static_cast<std::size_t>(i)]);
    for (int i = 0; i < picture.terminals; ++i) lead_out(picture.terminal[static_cast<std::size_t>(i)]);
    for (int i = 0; i < picture.probes; ++i) tell(picture.probe[static_cast<std::size_t>(i)]);
    s_.join();
    return std::move(s_);
  }

 private:
  const Element* named(std::string_view name) const {
    const auto* found =
        std::find_if(circuit_.begin(), circuit_.end(), [&](const Element& e) { return e.name == name; });
    return found == circuit_.end() ? nullptr : found;
  }
  /// A feedback resistor stands even where the design leaves its value to what is wanted of it; a lead
  /// capacitor of 0 does not.
  bool stands(const Element& e) const {
    return bought(e, d_) || (e.stands(d_) && e.role != Role::feedback_lead);
  }
  bool painted(std::string_view with) const {
    const Element* e = named(with);
    return with.empty() || (e && stands(*e));
  }
  double value(const Element& e) const {
    const FeedbackFigures& feedback = record_.evaluation.feedback;
    return e.role == Role::feedback && feedback.known ? feedback.resistor_ohm : e.value(d_);
  }
  /// Empty where the design does not give it.
  std::string value_text(const Element& e) const {
    const double v = value(e);
    switch (e.kind) {
      case ElementKind::resistor:
        return v > 0 ? engineering_text(v, "ohm", 4) : "";
      case ElementKind::capacitor:
      case ElementKind::stray:
        return v > 0 ? engineering_text(v, "F") : "";
      case ElementKind::sink:
        return engineering_text(v, "A");
      case ElementKind::held:
      case ElementKind::driven:
        return engineering_text(v, "V", 4);
      case ElementKind::triode:
        return section_of(e, d_).tube->name;
      case ElementKind::output_grid:
        return d_.output_valve ? d_.output_valve->name : "";
      case ElementKind::clamp:
        break;
    }
    return "";
  }

  void place(const Placed& p) {
    const Element* e = named(p.element);
    if (!e) return;
    if (e->kind == ElementKind::triode) {
      s_.triode(e->name, p.a, p.grid);
      beside(p.label == Side::right ? at(p.a.x + 22, p.a.y) : at(p.a.x - 22, p.a.y), p.label,
             {{std::string(designators_.of(*e))}, {value_text(*e), "quiet"}});
      return;
    }
    if (!stands(*e)) {
      if (e->joins(d_)) s_.wire(p.a, p.b);
      return;
    }
    s_.part(e->name, symbol_of(*e), p.a, p.b);
    std::vector<Line> lines{{std::string(designators_.of(*e))}};
    if (const std::string text = value_text(*e); !text.empty()) lines.push_back({text});
    const Spot middle = at((p.a.x + p.b.x) / 2, (p.a.y + p.b.y) / 2);
    if (p.a.y == p.b.y) {
      const int out = half_height(*e) + 4;
      s_.text(middle.x, middle.y - out, lines[0].text, Anchor::middle);
      if (lines.size() > 1) s_.text(middle.x, middle.y + out + 10, lines[1].text, Anchor::middle);
      return;
    }
    if (e->member == &member::plate_ohm_1 && record_.plate_2_of) {
      const engine::TwoPart& two = *record_.plate_2_of;
      // The parts list calls them by the resistor's designator with a and b.
      lines.push_back({"a " + engineering_text(two.first, "ohm", 4), "quiet"});
      lines.push_back({(two.parallel ? "∥ b " : "+ b ") + engineering_text(two.second, "ohm", 4), "quiet"});
    }
    if (p.current && e->kind == ElementKind::resistor && volts_.rest()) {
      const double across =
          (*volts_.rest())[static_cast<std::size_t>(e->a)] - (*volts_.rest())[static_cast<std::size_t>(e->b)];
      lines.push_back({"↓ " + engineering_text(across / value(*e), "A"), "amperes"});
    }
    if (const Element* said = named(p.said.element); said && stands(*said))
      lines.push_back({in_words(p.said, value_text(*said)), "quiet"});
    const int sink = e->kind == ElementKind::sink ? 6 : 0;
    beside(at(p.label == Side::left ? middle.x - sink : middle.x + sink, middle.y), p.label, lines);
  }

  int half_height(const Element& e) const { return e.kind == ElementKind::resistor ? 7 : 10; }

  /// Lines left or right of a body, in its middle.
  void beside(Spot middle, Side side, const std::vector<Line>& lines) {
    constexpr int kOut = 14;
    int y = middle.y + kHalfLetter - static_cast<int>(lines.size() - 1) * kLineHeight / 2;
    for (const Line& line : lines) {
      if (side == Side::left)
        s_.text(middle.x - kOut, y, line.text, Anchor::end, line.kind);
      else
        s_.text(middle.x + kOut, y, line.text, Anchor::start, line.kind);
      y += kLineHeight;
    }
  }

  /// Lines at a spot: the first is the nearest to it.
  void around(Spot s, Side side, const std::vector<Line>& lines) {
    constexpr int kOut = 8, kUp = 7, kDown = 17;
    const bool up = side == Side::above || side == Side::upper_left || side == Side::upper_right;
    const bool down = side == Side::below || side == Side::lower_left || side == Side::lower_right;
    const bool left = side == Side::left || side == Side::upper_left || side == Side::lower_left;
    const bool right = side == Side::right || side == Side::upper_right || side == Side::lower_right;
    const Anchor anchor = left ? Anchor::end : right ? Anchor::start : Anchor::middle;
    const int x = left ? s.x - kOut : right ? s.x + kOut : s.x;
    int y = down ? s.y + kDown : s.y + kHalfLetter;
    if (up) y = s.y - kUp - static_cast<int>(lines.size() - 1) * kLineHeight;
    for (const Line& line : lines) {
      s_.text(x, y, line.text, anchor, line.kind);
      y += kLineHeight;
    }
  }

  void lead_out(const Terminal& t) {
    s_.terminal(t.at);
    std::vector<Line> lines;
    for (const std::string_view words : t.words)
      if (!words.empty()) lines.push_back({std::string(words)});
    for (const Said& said : t.said) {
      const Element* e = named(said.element);
      if (!e || !stands(*e)) continue;
      const bool voltage = e->kind == ElementKind::held || e->kind == ElementKind::driven;
      if (e->kind == ElementKind::driven && !e->member) continue;  // it stands at ground
      if (const std::string text = value_text(*e); !text.empty())
        lines.push_back({in_words(said, text), voltage ? "" : "quiet"});
    }
    around(t.words_at, t.side, lines);
  }

  void tell(const Probe& p) {
    if (!volts_.rest() || !painted(p.with)) return;
    for (Node n = 0; n < circuit_.nodes; ++n)
      if (circuit_.node_name[static_cast<std::size_t>(n)] == p.node)
        around(p.at, p.side,
               {{engineering_text((*volts_.rest())[static_cast<std::size_t>(n)], "V"), "volts"}});
  }

  const Record& record_;
  const Design& d_;
  const Circuit& circuit_;
  Designators designators_;
  NodeVoltages volts_;
  Schematic s_;
};

}  // namespace

Schematic schematic_of(const Record& r) {
  return Painter(r).paint();
}

std::string circuit_drawing(const Record& r) {
  return schematic_of(r).svg(design_in_words(r.design));
}

}  // namespace antiphase
