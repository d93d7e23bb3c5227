#include "results/page/circuit_drawing.h"

#include <algorithm>
#include <cmath>

#include "results/describe/node_voltages.h"
#include "results/describe/parts_beside.h"
#include "results/describe/pins.h"
#include "results/describe/safety.h"
#include "results/describe/values.h"
#include "results/text/lines.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/driver_picture.h"
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
      : record_(r),
        d_(r.design),
        circuit_(circuit_of(d_)),
        designators_(d_),
        volts_(d_, r.evaluation),
        values_(d_, r.evaluation) {}

  Schematic paint() {
    const Picture picture = picture_of(d_.circuit, form_of(d_));
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
    write_below();
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
  /// Empty where the design does not give it, and nothing can be proposed.
  std::string value_text(const Element& e) const {
    if (e.kind == ElementKind::triode) return section_of(e, d_).tube->name;
    if (e.kind == ElementKind::output_grid) return d_.output_valve ? d_.output_valve->name : "";
    return values_.text(e);
  }

  /// The numbers of a section's pins, at its ends.
  void number_pins(const Placed& p, const Element& e) {
    const SectionPins pins = pins_of(e, d_, designators_);
    if (!pins.known()) return;
    const int out = p.grid == Side::left ? 1 : -1;  // to the side where no grid is
    const Anchor anchor = out > 0 ? Anchor::start : Anchor::end;
    s_.text(p.a.x + 4 * out, p.a.y - kTriodeReach + 7, std::to_string(pins.plate), anchor, "quiet");
    s_.text(p.a.x + 4 * out, p.a.y + kTriodeReach, std::to_string(pins.cathode), anchor, "quiet");
    s_.text(p.a.x - 35 * out, p.a.y - 5, std::to_string(pins.grid), Anchor::middle, "quiet");
  }

  /// Words under everything else that is painted: pins, what is not drawn, and the caution.
  void write_below() {
    const Schematic::Box all = s_.bounds();
    constexpr double kWidestLetter = 0.98 * Schematic::kFont / 1.5;  // few letters are as wide as an "m"
    constexpr std::size_t kLeastColumns = 60;
    const auto columns =
        std::max(kLeastColumns, static_cast<std::size_t>((all.right - all.left) / kWidestLetter));
    const int x = static_cast<int>(all.left);
    int y = static_cast<int>(all.bottom) + 2 * kLineHeight;
    const auto write = [&](const std::string& words) {
      const std::string lines = wrapped(words, columns, 0);
      for (std::size_t from = 0; from < lines.size();) {
        const std::size_t end = std::min(lines.find('\n', from), lines.size());
        s_.text(x, y, std::string_view(lines).substr(from, end - from), Anchor::start, "quiet");
        y += kLineHeight;
        from = end + 1;
      }
    };
    for (const std::string& pins : all_pins(d_)) write(pins + ".");
    std::string beside;
    for (const PartLine& p : parts_beside(d_, record_.evaluation, {}))
      beside += (beside.empty() ? "" : "; ") + p.designators + " " + p.label + " " + p.what;
    if (!beside.empty()) write("Not drawn, common practice: " + beside + ".");
    write(std::string(kSafetyLine));
  }

  void place(const Placed& p) {
    const Element* e = named(p.element);
    if (!e) return;
    if (e->kind == ElementKind::triode) {
      s_.triode(e->name, p.a, p.grid);
      beside(p.label == Side::right ? at(p.a.x + 22, p.a.y) : at(p.a.x - 22, p.a.y), p.label,
             {{std::string(designators_.of(*e))}, {value_text(*e), "quiet"}});
      number_pins(p, *e);
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
      const auto one = [&](bool first) {
        return designator_of_part(designators_.of(*e), first) + " " +
               engineering_text(first ? two.first : two.second, "ohm", 4);
      };
      lines.push_back({one(true), "quiet"});
      lines.push_back({(two.parallel ? "\u2225 " : "+ ") + one(false), "quiet"});
    }
    if (p.current && e->kind == ElementKind::resistor && volts_.rest()) {
      const double across =
          (*volts_.rest())[static_cast<std::size_t>(e->a)] - (*volts_.rest())[static_cast<std::size_t>(e->b)];
      lines.push_back({"↓ " + engineering_text(across / values_.named(*e), "A"), "amperes"});
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
    constexpr double kNothing_v = 1e-6;  // what grid current leaves at a grid on ground
    for (std::size_t n = 0; n < static_cast<std::size_t>(circuit_.nodes); ++n) {
      if (circuit_.node_name[n] != p.node) continue;
      const double rest_v = (*volts_.rest())[n];
      around(p.at, p.side, {{engineering_text(std::abs(rest_v) < kNothing_v ? 0 : rest_v, "V"), "volts"}});
    }
  }

  const Record& record_;
  const Design& d_;
  const Circuit& circuit_;
  Designators designators_;
  NodeVoltages volts_;
  PartValues values_;
  Schematic s_;
};

}  // namespace

Schematic schematic_of(const Record& r) {
  return Painter(r).paint();
}

std::string circuit_drawing(const Record& r) {
  return schematic_of(r).svg(design_in_words(r));
}

}  // namespace antiphase
