#include "results/page/circuit_drawing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "objectives/diagnosis/test_points.h"
#include "results/describe/node_voltages.h"
#include "results/describe/parts_beside.h"
#include "results/describe/pins.h"
#include "results/describe/safety.h"
#include "results/describe/values.h"
#include "results/text/lines.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/designators.h"
#include "stagemodels/circuits/driver_picture.h"

namespace antiphase {
namespace {

using Anchor = Schematic::Anchor;
using Symbol = Schematic::Symbol;

constexpr int kLineHeight = 15, kHalfLetter = 5;  // half of a letter's height brings a line to the middle

struct Line {
  std::string text;
  std::string_view kind = {};
  std::string_view member = {};  ///< as Schematic::Words has it
};

/// Empty where the element's value is not simply its member's: changing that would change other parts too.
std::string_view pointer_of(const Element& e) {
  return e.member && !e.own ? e.member->pointer : std::string_view();
}

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
  explicit Painter(const Record& r, bool for_bench = false)
      : record_(r),
        d_(r.design),
        circuit_(circuit_of(d_)),
        designators_(d_),
        volts_(d_, r.evaluation),
        values_(d_, r.evaluation) {
    if (for_bench) points_ = test_points(d_);
  }

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
    if (points_.empty()) write_below();
    number_what_is_left();
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
    if (pins.screen > 0)
      s_.text(p.a.x + 33 * out, p.a.y - kScreenUp - 3, std::to_string(pins.screen), Anchor::middle, "quiet");
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
      if (!p.is_drawn) beside += (beside.empty() ? "" : "; ") + p.designators + " " + p.label + " " + p.what;
    if (!beside.empty()) write("Not drawn, common practice: " + beside + ".");
    write(std::string(kSafetyLine));
  }

  void place(const Placed& p) {
    const Element* e = named(p.element);
    if (!e) return;
    if (e->kind == ElementKind::triode) {
      const bool screen = e->screen != kNoNode;
      const int below_lead = p.a.y + (screen ? 22 : 0);  // the screen's comes out on this side
      s_.triode(e->name, p.a, p.grid, screen);
      beside(p.label == Side::right ? at(p.a.x + 22, below_lead) : at(p.a.x - 22, below_lead), p.label,
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
    if (const std::string text = value_text(*e); !text.empty()) lines.push_back({text, "", pointer_of(*e)});
    const Spot middle = at((p.a.x + p.b.x) / 2, (p.a.y + p.b.y) / 2);
    if (p.a.y == p.b.y) {
      const int out = half_height(*e) + 4;
      s_.text(middle.x, middle.y - out, lines[0].text, Anchor::middle);
      if (lines.size() > 1)
        s_.text(middle.x, middle.y + out + 10, lines[1].text, Anchor::middle, "", lines[1].member);
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
      lines.push_back({in_words(p.said, value_text(*said)), "quiet", pointer_of(*said)});
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
        s_.text(middle.x - kOut, y, line.text, Anchor::end, line.kind, line.member);
      else
        s_.text(middle.x + kOut, y, line.text, Anchor::start, line.kind, line.member);
      y += kLineHeight;
    }
  }

  /// One line at a spot.
  static Schematic::Words words_at(Spot s, Side side, std::string text) {
    constexpr int kOut = 8, kUp = 7, kDown = 17;
    const bool up = side == Side::above || side == Side::upper_left || side == Side::upper_right;
    const bool down = side == Side::below || side == Side::lower_left || side == Side::lower_right;
    const bool left = side == Side::left || side == Side::upper_left || side == Side::lower_left;
    const bool right = side == Side::right || side == Side::upper_right || side == Side::lower_right;
    return {left    ? s.x - kOut
            : right ? s.x + kOut
                    : s.x,
            down ? s.y + kDown
            : up ? s.y - kUp
                 : s.y + kHalfLetter,
            left    ? Anchor::end
            : right ? Anchor::start
                    : Anchor::middle,
            std::move(text),
            "volts",
            ""};
  }

  /// Lines at a spot: the first is the nearest to it.
  void around(Spot s, Side side, const std::vector<Line>& lines) {
    const bool up = side == Side::above || side == Side::upper_left || side == Side::upper_right;
    const Schematic::Words first = words_at(s, side, "");
    int y = first.y - (up ? static_cast<int>(lines.size() - 1) * kLineHeight : 0);
    for (const Line& line : lines) {
      s_.text(first.x, y, line.text, first.anchor, line.kind, line.member);
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
        lines.push_back({in_words(said, text), voltage ? "" : "quiet", pointer_of(*e)});
      // An output's point stands in its words, beside which there is no room.
      if (e->role == Role::load && !t.words.front().empty()) lines.front().text += number_at(e->a);
    }
    around(t.words_at, t.side, lines);
  }

  /// ", TP12" of a node that is a test point and not numbered yet; it is then.
  std::string number_at(Node node) {
    for (TestPoint& point : points_) {
      if (point.node != node) continue;
      point.node = kNoPoint;
      return ", TP" + std::to_string(point.number);
    }
    return "";
  }

  /// The first probe of a node tells its number.
  void number(const Probe& p) {
    if (!painted(p.with)) return;
    for (TestPoint& point : points_) {
      if (circuit_.node_name[static_cast<std::size_t>(point.node)] != p.node) continue;
      around(p.at, p.side, {{"TP" + std::to_string(point.number), "volts"}});
      point.node = kNoPoint;
      return;
    }
  }

  /// Points whose voltage no probe tells: at an end of a part there, on a side where nothing stands.
  void number_what_is_left() {
    for (TestPoint& point : points_) {
      if (point.node == kNoPoint) continue;
      const std::string words = "TP" + std::to_string(point.number);
      std::optional<Schematic::Words> best;
      for (const Spot& end : ends_at(point.node))
        for (const Side side : {Side::upper_right, Side::upper_left, Side::lower_right, Side::lower_left,
                                Side::right, Side::left, Side::above, Side::below}) {
          const Schematic::Words w = words_at(end, side, words);
          if (!best || (!clear(*best) && clear(w))) best = w;
        }
      if (best) s_.text(best->x, best->y, best->text, best->anchor, best->kind);
    }
  }

  std::vector<Spot> ends_at(Node node) const {
    std::vector<Spot> ends;
    for (const Schematic::Part& part : s_.parts()) {
      const Element* e = named(part.name);
      const std::array<Node, 3> nodes{e->a, e->b, e->c};
      for (std::size_t k = 0; k < part.ends.size(); ++k)
        if (nodes[k] == node) ends.push_back(part.ends[k]);
    }
    return ends;
  }

  /// True if they lie on no words, no symbol and no line.
  bool clear(const Schematic::Words& w) const {
    const Schematic::Box box = w.box();
    const auto apart = [&](const Schematic::Box& other) {
      constexpr double kAir = 1;
      return box.right + kAir < other.left || other.right + kAir < box.left ||
             box.bottom + kAir < other.top || other.bottom + kAir < box.top;
    };
    const auto off_line = [&](const Schematic::Stroke& l) {
      return apart({1.0 * std::min(l.a.x, l.b.x), 1.0 * std::min(l.a.y, l.b.y), 1.0 * std::max(l.a.x, l.b.x),
                    1.0 * std::max(l.a.y, l.b.y)});
    };
    const auto all = [](const auto& list, const auto& holds) {
      return std::all_of(list.begin(), list.end(), holds);
    };
    return all(s_.texts(), [&](const Schematic::Words& other) { return apart(other.box()); }) &&
           all(s_.wires(), off_line) &&
           all(s_.parts(),
               [&](const Schematic::Part& part) { return apart(part.body) && all(part.leads, off_line); }) &&
           all(s_.grounds(), [&](Spot s) { return apart(Schematic::box_of_ground(s)); }) &&
           all(s_.terminals(), [&](Spot s) { return apart(Schematic::box_of_terminal(s)); });
  }

  void tell(const Probe& p) {
    if (!points_.empty()) return number(p);
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
  static constexpr Node kNoPoint = kGround;  ///< of a point that is told: ground is none
  std::vector<TestPoint> points_;            ///< for the bench: what stands in place of voltages
  Schematic s_;
};

}  // namespace

Schematic schematic_of(const Record& r) {
  return Painter(r).paint();
}

Schematic test_point_schematic(const Record& r) {
  return Painter(r, true).paint();
}

std::string test_point_drawing(const Record& r) {
  return test_point_schematic(r).svg("Test points: " + design_in_words(r));
}

std::string circuit_drawing(const Record& r) {
  return schematic_of(r).svg(design_in_words(r));
}

}  // namespace antiphase
