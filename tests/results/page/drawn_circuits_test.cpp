// Every circuit in every form, drawn: the netlist that a reader takes from the strokes is the circuit's list,
// and no words lie on a stroke or on other words.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <functional>
#include <map>
#include <numeric>
#include <random>
#include <regex>
#include <set>
#include <sstream>

#include "optimize/engine/snapping/preferred_values.h"
#include "results/describe/parts_list.h"
#include "results/describe/safety.h"
#include "results/describe/values.h"
#include "results/page/circuit_drawing.h"
#include "results/text/write_quantity.h"
#include "results/writers/netlist.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/driver_picture.h"
#include "stagemodels/circuits/designators.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"
#include "tests/results/support/drawn_designs.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

using Box = Schematic::Box;
using Stroke = Schematic::Stroke;

/// Sets of things that are joined, by number.
class Joined {
 public:
  explicit Joined(std::size_t count) : of_(count) { std::iota(of_.begin(), of_.end(), std::size_t{0}); }
  std::size_t top(std::size_t n) const {
    while (of_[n] != n) n = of_[n];
    return n;
  }
  void join(std::size_t a, std::size_t b) { of_[top(a)] = top(b); }

 private:
  std::vector<std::size_t> of_;
};

bool strictly_between(int v, int one, int other) {
  return v > std::min(one, other) && v < std::max(one, other);
}
bool crosses_at(const Stroke& s, Spot at) {
  return (s.a.x == s.b.x && at.x == s.a.x && strictly_between(at.y, s.a.y, s.b.y)) ||
         (s.a.y == s.b.y && at.y == s.a.y && strictly_between(at.x, s.a.x, s.b.x));
}
bool ends_at(const Stroke& s, Spot at) {
  return s.a == at || s.b == at;
}

/// What a reader of the drawing takes from it.
struct Reading {
  std::vector<std::string> errors;  ///< strokes whose meaning is not plain
  /// Name of the element and number of its end, with its net; "" and a number: a terminal.
  std::map<std::pair<std::string, std::size_t>, std::size_t> net;
  std::optional<std::size_t> ground;
};

/// Strokes that end at one place are joined; three or more want a dot, and so does an end on another's way;
/// crossing strokes are joined where there is a dot. A symbol's ends stay apart.
Reading read(const Schematic& s) {
  Reading out;
  struct Line {
    Stroke stroke;
    std::string of;  ///< element, or ""
    std::size_t end = 0;
  };
  std::vector<Line> lines;
  for (const Stroke& w : s.wires()) lines.push_back({w, "", 0});
  for (const Schematic::Part& p : s.parts())
    for (std::size_t k = 0; k < p.leads.size(); ++k) lines.push_back({p.leads[k], p.name, k});
  const std::size_t grounds = lines.size(), terminals = grounds + s.grounds().size();
  Joined joined(terminals + s.terminals().size());

  const auto description = [](Spot at) {
    return " at " + std::to_string(at.x) + ", " + std::to_string(at.y);
  };
  const auto has_dot = [&](Spot at) {
    return std::find(s.dots().begin(), s.dots().end(), at) != s.dots().end();
  };
  std::vector<Spot> spots;
  for (const Line& l : lines) {
    if (l.stroke.a == l.stroke.b) out.errors.push_back("a stroke without length" + description(l.stroke.a));
    if (l.stroke.a.x != l.stroke.b.x && l.stroke.a.y != l.stroke.b.y)
      out.errors.push_back("a slanting stroke" + description(l.stroke.a));
    spots.push_back(l.stroke.a);
    if (l.of.empty()) spots.push_back(l.stroke.b);  // a lead ends at its symbol's body
  }
  spots.insert(spots.end(), s.grounds().begin(), s.grounds().end());
  spots.insert(spots.end(), s.terminals().begin(), s.terminals().end());
  spots.insert(spots.end(), s.dots().begin(), s.dots().end());

  for (const Spot& at : spots) {
    std::vector<std::size_t> ending, passing;
    for (std::size_t n = 0; n < lines.size(); ++n) {
      const bool ends = lines[n].of.empty() ? ends_at(lines[n].stroke, at) : lines[n].stroke.a == at;
      if (ends) ending.push_back(n);
      if (crosses_at(lines[n].stroke, at)) passing.push_back(n);
    }
    for (std::size_t n = 0; n < s.grounds().size(); ++n)
      if (s.grounds()[n] == at) ending.push_back(grounds + n);
    for (std::size_t n = 0; n < s.terminals().size(); ++n)
      if (s.terminals()[n] == at) ending.push_back(terminals + n);
    if (ending.size() + 2 * passing.size() < 2) out.errors.push_back("a loose end" + description(at));
    if (ending.size() + 2 * passing.size() > 2 && !has_dot(at))
      out.errors.push_back("no dot" + description(at));
    if (has_dot(at) && ending.size() + 2 * passing.size() < 3)
      out.errors.push_back("a dot without a joint" + description(at));
    ending.insert(ending.end(), passing.begin(), passing.end());
    for (std::size_t k = 1; k < ending.size(); ++k) joined.join(ending[0], ending[k]);
  }
  // Strokes along one another: nobody can tell them apart.
  for (std::size_t i = 0; i < lines.size(); ++i)
    for (std::size_t k = 0; k < i; ++k) {
      const Stroke &p = lines[i].stroke, &q = lines[k].stroke;
      const bool upright = p.a.x == p.b.x && q.a.x == q.b.x && p.a.x == q.a.x;
      const bool lying = p.a.y == p.b.y && q.a.y == q.b.y && p.a.y == q.a.y;
      const auto over = [](int a, int b, int c, int d) {
        return std::min(std::max(a, b), std::max(c, d)) > std::max(std::min(a, b), std::min(c, d));
      };
      if ((upright && over(p.a.y, p.b.y, q.a.y, q.b.y)) || (lying && over(p.a.x, p.b.x, q.a.x, q.b.x)))
        out.errors.push_back("strokes over one another" + description(p.a));
    }

  for (std::size_t n = 1; n < s.grounds().size(); ++n) joined.join(grounds, grounds + n);
  if (!s.grounds().empty()) out.ground = joined.top(grounds);
  for (std::size_t n = 0; n < lines.size(); ++n)
    if (!lines[n].of.empty()) out.net[{lines[n].of, lines[n].end}] = joined.top(n);
  for (std::size_t n = 0; n < s.terminals().size(); ++n) out.net[{"", n}] = joined.top(terminals + n);
  return out;
}

/// Nodes of the list, as the design's wires join them.
Joined nodes_of(const Circuit& c, const Design& d) {
  Joined nodes(static_cast<std::size_t>(c.nodes));
  for (const Element& e : c)
    if (e.role != Role::feedback && e.joins(d))
      nodes.join(static_cast<std::size_t>(e.a), static_cast<std::size_t>(e.b));
  return nodes;
}

std::vector<Node> ends_of(const Element& e) {
  return e.kind == ElementKind::triode ? std::vector<Node>{e.a, e.b, e.c} : std::vector<Node>{e.a, e.b};
}

bool stands(const Element& e, const Design& d) {
  return e.stands(d) || bought(e, d);
}

const Element* find(const Circuit& c, std::string_view name) {
  const auto* e = std::find_if(c.begin(), c.end(), [&](const Element& x) { return x.name == name; });
  return e == c.end() ? nullptr : e;
}

/// All that is wrong with the drawing of a design, as a list of sentences.
std::vector<std::string> against_the_list(const Record& r) {
  const Design& d = r.design;
  const Circuit& c = circuit_of(d);
  const Picture picture = picture_of(d.circuit, form_of(d));
  const Reading reading = read(schematic_of(r));
  std::vector<std::string> wrong = reading.errors;
  const Joined nodes = nodes_of(c, d);
  const auto node = [&](Node n) { return nodes.top(static_cast<std::size_t>(n)); };

  // Every end of a symbol lies on the net of its node: nets and nodes pair off, one to one.
  std::map<std::size_t, std::size_t> node_of_net, net_of_node;
  const auto pair_off = [&](std::size_t net, std::size_t n, const std::string& what) {
    const auto a = node_of_net.try_emplace(net, n).first->second;
    const auto b = net_of_node.try_emplace(n, net).first->second;
    if (a != n)
      wrong.push_back(what + ": " + std::string(c.node_name[n]) + " is joined with " +
                      std::string(c.node_name[a]));
    else if (b != net)
      wrong.push_back(what + ": " + std::string(c.node_name[n]) + " falls in two");
  };
  if (!reading.ground) wrong.push_back("nothing is at ground");
  if (reading.ground) pair_off(*reading.ground, node(kGround), "ground");
  std::set<std::string> drawn;
  for (const auto& [end, net] : reading.net) {
    if (end.first.empty()) continue;
    drawn.insert(end.first);
    const Element* e = find(c, end.first);
    if (!e || !stands(*e, d)) {
      wrong.push_back(end.first + " is drawn but does not stand");
      continue;
    }
    pair_off(net, node(ends_of(*e)[end.second]), end.first);
  }

  // Said elements hang together with the place where they are said.
  std::map<std::string, int> placed;
  for (int i = 0; i < picture.placings; ++i) {
    const Placed& p = picture.placed[static_cast<std::size_t>(i)];
    ++placed[std::string(p.element)];
    const Element* e = find(c, p.element);
    if (!e) wrong.push_back(std::string(p.element) + " is not in the list");
    if (p.said.element.empty()) continue;
    ++placed[std::string(p.said.element)];
    const Element* said = find(c, p.said.element);
    if (!e || !said || node(e->a) != node(said->a) || node(e->b) != node(said->b))
      wrong.push_back(std::string(p.said.element) + " does not lie across " + std::string(p.element));
  }
  for (int t = 0; t < picture.terminals; ++t) {
    const auto net = reading.net.at({"", static_cast<std::size_t>(t)});
    std::vector<const Element*> said;
    for (const Said& one : picture.terminal[static_cast<std::size_t>(t)].said) {
      if (one.element.empty()) continue;
      ++placed[std::string(one.element)];
      const Element* e = find(c, one.element);
      if (!e) wrong.push_back(std::string(one.element) + " is not in the list");
      if (e && e->there(d)) said.push_back(e);
    }
    if (said.empty()) {
      if (!node_of_net.contains(net) || (c.feedback != kNoNode && node_of_net.at(net) != node(c.feedback)))
        wrong.push_back("a terminal of nothing");
      continue;
    }
    if (!node_of_net.contains(net)) {
      wrong.push_back("the terminal of " + std::string(said[0]->name) + " leads to no symbol");
      continue;
    }
    std::set<std::size_t> reached{node_of_net.at(net)};
    for (std::size_t round = 0; round < said.size(); ++round)
      for (const Element* e : said)
        if (reached.contains(node(e->a)) || (e->b != kGround && reached.contains(node(e->b))))
          reached.insert(node(e->a));
    for (const Element* e : said)
      if (!reached.contains(node(e->a))) wrong.push_back(std::string(e->name) + " is said at a wrong place");
  }
  for (int i = 0; i < picture.probes; ++i) {
    const Probe& p = picture.probe[static_cast<std::size_t>(i)];
    const auto* name = std::find(c.node_name.begin(), c.node_name.begin() + c.nodes, p.node);
    if (name == c.node_name.begin() + c.nodes) wrong.push_back(std::string(p.node) + " is no node");
  }
  for (const Element& e : c) {
    const int times = placed[std::string(e.name)];
    if (times != 1) wrong.push_back(std::string(e.name) + " is placed " + std::to_string(times) + " times");
    if (bought(e, d) && !drawn.contains(std::string(e.name)))
      wrong.push_back(std::string(e.name) + " is bought but not drawn");
  }
  return wrong;
}

/// The net of a spot on a stroke, or nothing.
std::optional<std::size_t> net_at(const Schematic& s, const Reading& reading, Spot at) {
  // A symbol's end that can be reached along wires from there: by flooding the strokes once more.
  std::vector<Spot> reached{at};
  std::vector<bool> used(s.wires().size());
  for (bool more = true; more;) {
    more = false;
    for (std::size_t n = 0; n < s.wires().size(); ++n) {
      const Stroke& w = s.wires()[n];
      if (used[n]) continue;
      if (std::any_of(reached.begin(), reached.end(),
                      [&](Spot r) { return ends_at(w, r) || (crosses_at(w, r) && r == at); })) {
        used[n] = more = true;
        reached.push_back(w.a);
        reached.push_back(w.b);
      }
    }
  }
  for (const Schematic::Part& p : s.parts())
    for (std::size_t k = 0; k < p.ends.size(); ++k)
      if (std::find(reached.begin(), reached.end(), p.ends[k]) != reached.end())
        return reading.net.at({p.name, k});
  return std::nullopt;
}

bool overlap(const Box& a, const Box& b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/// A stroke with the width of its line.
Box box_of(const Stroke& s) {
  constexpr double kHalf = 0.75;
  return {std::min(s.a.x, s.b.x) - kHalf, std::min(s.a.y, s.b.y) - kHalf, std::max(s.a.x, s.b.x) + kHalf,
          std::max(s.a.y, s.b.y) + kHalf};
}

/// Everything that lies over something else, as a list of sentences.
std::vector<std::string> overlaps(const Schematic& s) {
  struct Thing {
    std::string what;
    Box box;
  };
  std::vector<Thing> words, solid, strokes;
  for (const Schematic::Words& w : s.texts()) words.push_back({"\"" + w.text + "\"", w.box()});
  for (const Schematic::Part& p : s.parts()) solid.push_back({p.name, p.body});
  for (const Spot& g : s.grounds()) solid.push_back({"a ground sign", Schematic::box_of_ground(g)});
  for (const Spot& t : s.terminals()) solid.push_back({"a terminal", Schematic::box_of_terminal(t)});
  const auto at = [](const char* what, Spot spot) {
    return what + std::to_string(spot.x) + ", " + std::to_string(spot.y);
  };
  for (const Stroke& w : s.wires()) strokes.push_back({at("the wire at ", w.a), box_of(w)});
  for (const Schematic::Part& p : s.parts())
    for (const Stroke& lead : p.leads) strokes.push_back({"a lead of " + p.name, box_of(lead)});
  for (const Spot& dot : s.dots())
    strokes.push_back({at("the dot at ", dot), Schematic::box_of_terminal(dot)});

  std::vector<std::string> out;
  const auto look = [&](const Thing& a, const Thing& b) {
    if (overlap(a.box, b.box)) out.push_back(a.what + " lies over " + b.what);
  };
  for (std::size_t i = 0; i < words.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) look(words[i], words[k]);
    for (const Thing& thing : solid) look(words[i], thing);
    for (const Thing& thing : strokes) look(words[i], thing);
  }
  for (std::size_t i = 0; i < solid.size(); ++i)
    for (std::size_t k = 0; k < i; ++k) look(solid[i], solid[k]);
  // A wire may touch a symbol only from outside, at its lead's end; none runs through a body.
  for (const Stroke& w : s.wires())
    for (const Schematic::Part& p : s.parts()) {
      const Box wire{1.0 * std::min(w.a.x, w.b.x), 1.0 * std::min(w.a.y, w.b.y), 1.0 * std::max(w.a.x, w.b.x),
                     1.0 * std::max(w.a.y, w.b.y)};
      if (wire.left <= p.body.right && p.body.left <= wire.right && wire.top <= p.body.bottom &&
          p.body.top <= wire.bottom)
        out.push_back(at("the wire at ", w.a) + " runs through " + p.name);
    }
  return out;
}

std::string all_of(const std::vector<std::string>& sentences) {
  std::string out;
  for (const std::string& s : sentences) out += s + "; ";
  return out;
}

}  // namespace

TEST_CASE(
    "the strokes of every drawing are the circuit's list: nets are nodes, and each element stands once") {
  int looked = 0;
  for (const sample::DrawnDesign& one : sample::drawn_designs()) {
    CAPTURE(one.name);
    const auto wrong = against_the_list(one.record);
    CHECK_MESSAGE(wrong.empty(), all_of(wrong));
    ++looked;
  }
  CHECK(looked > 60);
}

TEST_CASE("voltages in a drawing stand at their own nodes") {
  for (const sample::DrawnDesign& one : sample::drawn_designs()) {
    CAPTURE(one.name);
    const Design& d = one.record.design;
    const Circuit& c = circuit_of(d);
    const Picture picture = picture_of(d.circuit, form_of(d));
    const Schematic s = schematic_of(one.record);
    const Reading reading = read(s);
    const Joined nodes = nodes_of(c, d);
    for (int i = 0; i < picture.probes; ++i) {
      const Probe& p = picture.probe[static_cast<std::size_t>(i)];
      if (!p.with.empty() && !stands(*find(c, p.with), d)) continue;
      CAPTURE(p.node);
      const auto net = net_at(s, reading, p.at);
      REQUIRE(net);
      const auto n = static_cast<std::size_t>(
          std::find(c.node_name.begin(), c.node_name.begin() + c.nodes, p.node) - c.node_name.begin());
      bool same = false;
      for (const auto& [end, of] : reading.net) {
        if (end.first.empty() || of != *net) continue;
        same = nodes.top(static_cast<std::size_t>(ends_of(*find(c, end.first))[end.second])) == nodes.top(n);
        break;
      }
      CHECK(same);
    }
  }
}

TEST_CASE("no words of a drawing lie on other words or on a stroke, and no wire runs through a part") {
  for (const sample::DrawnDesign& one : sample::drawn_designs()) {
    CAPTURE(one.name);
    const auto found = overlaps(schematic_of(one.record));
    CHECK_MESSAGE(found.empty(), all_of(found));
  }
}

TEST_CASE("a drawing has every part's designator once, and its value or type with it") {
  for (const sample::DrawnDesign& one : sample::drawn_designs()) {
    CAPTURE(one.name);
    const Design& d = one.record.design;
    const Schematic s = schematic_of(one.record);
    const Designators designators(d);
    for (const Element& e : designators.circuit()) {
      const auto name = designators.of(e);
      if (name.empty()) continue;
      CAPTURE(name);
      const auto is_it = [&](const Schematic::Words& w) { return w.text == name; };
      REQUIRE(std::count_if(s.texts().begin(), s.texts().end(), is_it) == 1);
      const auto value = std::next(std::find_if(s.texts().begin(), s.texts().end(), is_it));
      const auto text = value == s.texts().end() ? "" : value->text;
      if (e.kind == ElementKind::triode) CHECK(text == sample::drawn_tube().name);
      if (e.kind == ElementKind::resistor && e.role != Role::feedback)
        CHECK(text == engineering_text(e.value(d), "ohm", 4));
      if (e.kind == ElementKind::capacitor && e.value(d) > 0)
        CHECK(text == engineering_text(e.value(d), "F", 4));
      if (e.kind == ElementKind::sink) CHECK(text == engineering_text(d.tail.current_a, "A", 4));
      if (e.role == Role::feedback && one.record.evaluation.feedback.known)
        CHECK(text == engineering_text(one.record.evaluation.feedback.resistor_ohm, "ohm", 4));
    }
  }
}

namespace {

/// Of every circuit in every form, with values a builder could have taken, drawn at random.
Record random_candidate(std::mt19937& random) {
  const auto pick = [&](std::size_t of) {
    return std::uniform_int_distribution<std::size_t>(0, of - 1)(random);
  };
  const auto e24 = [&](double low, double high) {
    const auto all = engine::members(engine::Series::e24, low, high);
    return all[pick(all.size())];
  };
  static const std::array<Tube, 2> types = [] {
    std::array<Tube, 2> all{sample::tube_12ax7(), sample::tube_12au7()};
    for (Tube& t : all) {
      t.base = sample::drawn_tube().base;
      t.heater.current_a = 0.3;
    }
    all[1].sections = 1;
    return all;
  }();
  const CircuitEntry& entry = circuits()[pick(circuits().size())];
  Record r;
  Design& d = r.design;
  d.circuit = entry.kind;
  if (!entry.bias_forms.empty()) d.bias.form = entry.bias_forms[pick(entry.bias_forms.size())];
  if (!entry.tail_forms.empty()) d.tail.form = entry.tail_forms[pick(entry.tail_forms.size())];
  const Tube* type = &types[pick(2)];
  d.tube = {type, type};
  d.first_stage.tube = &types[pick(2)];
  for (const DesignField& f : design_fields()) {
    if (f.role == FieldRole::resistor) f.at(d) = e24(47e3, 180e3);
    if (f.role == FieldRole::capacitor) f.at(d) = pick(2) == 0 ? 0 : e24(10e-9, 1e-6);
  }
  d.grid_leak_ohm = d.first_stage.grid_leak_ohm = d.load_ohm = e24(220e3, 1e6);
  d.bias.ohm = e24(470, 2.2e3);
  d.cathode_ohm = e24(820, 3.3e3);
  d.first_stage.cathode_ohm = e24(820, 3.3e3);
  d.feedback.given = entry.describe({d.bias.form, d.tail.form, true}).feedback != kNoNode && pick(2) == 0;
  d.feedback.output_gain = 0.4;
  const bool bare = d.feedback.given || pick(2) == 0;
  d.cathode_unbypassed_ohm = d.first_stage.cathode_unbypassed_ohm = bare ? e24(100, 470) : 0;
  d.feedback.resistor_ohm = e24(1e3, 10e3);
  d.bias.grid_v = 80;
  d.bias.rail_v = -100;
  d.bias.grid_clamp = pick(2) == 0;
  d.tail.ohm = e24(22e3, 56e3);
  d.tail.current_a = 1.5e-3;
  (pick(2) == 0 ? d.supply_v : d.main_supply_v) = 320;
  d.dropping_ohm = e24(4.7e3, 22e3);
  if (pick(2) == 0) d.output_valve = &sample::drawn_valve();
  d.output_valve_bias_v = d.output_valve ? -20 : 0;
  d.swing_peak_v = 10;
  if (plate_resistors(d.circuit) == 2 && pick(2) == 0) {
    r.plate_2_of = engine::two_part_combinations(engine::Series::e12, d.plate_ohm[1] * 1.03, 1).front();
    d.plate_ohm[1] = r.plate_2_of->value;
  }
  evaluate(d, Depth::at_target, r.evaluation);
  return r;
}

/// Designator and what stands on the part.
using Values = std::map<std::string, std::string>;

/// As somebody reads them who has only the drawing: a designator alone, and the words that follow it; or both
/// in one line where two resistors make one.
Values read_off_the_drawing(const Schematic& s) {
  const auto designator = [](const std::string& text) {
    static const std::regex form("[RCDIV][0-9]+[ab]?");
    return std::regex_match(text, form);
  };
  static const std::regex one_of_two("(?:\\+ |\u2225 )?(R[0-9]+[ab]) (.+)");
  Values values;
  for (std::size_t k = 0; k < s.texts().size(); ++k) {
    const std::string& text = s.texts()[k].text;
    std::smatch found;
    if (designator(text))
      values[text] =
          k + 1 < s.texts().size() && !designator(s.texts()[k + 1].text) ? s.texts()[k + 1].text : "";
    else if (std::regex_match(text, found, one_of_two))
      values[found[1]] = found[2];
  }
  for (auto it = values.begin(); it != values.end();)  // the whole stands only as a heading of the two
    it = values.contains(it->first + "a") && it->first[0] == 'R' ? values.erase(it) : std::next(it);
  return values;
}

/// As a simulator reads them; a value that is proposed, from the comment before its line.
Values read_off_the_netlist(const std::string& text) {
  static const std::regex part("\\*?([RCI][0-9]+[ab]?) \\S+ \\S+ (?:DC )?(\\S+)"), diode("(D[0-9]+) .*"),
      section("B_(V[0-9]+[a-z]?)_plate .*"), named("\\* (V[0-9]+[a-z]?): .*, (.*)"),
      proposal("\\* .*Proposed: (\\S+) or more.*");
  Values values;
  std::map<std::string, std::string> type;
  std::string proposed;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    std::smatch found;
    if (std::regex_match(line, found, proposal)) {
      proposed = found[1];
    } else if (std::regex_match(line, found, named)) {
      type[found[1]] = found[2];
    } else if (std::regex_match(line, found, part)) {
      const std::string name = found[1], unit = name[0] == 'R' ? "ohm" : name[0] == 'C' ? "F" : "A";
      values[name] = proposed.empty() ? engineering_text(std::stod(found[2]), unit, 4)
                                      : "\u2265 " + engineering_text(std::stod(proposed), unit, 4);
      proposed.clear();
    } else if (std::regex_match(line, found, diode)) {
      values[found[1]] = "silicon";
    } else if (std::regex_match(line, found, section)) {
      values[found[1]] = type[found[1]];
    }
  }
  return values;
}

/// The list, a line for each piece; of a bottle for each of its sections that the others know.
Values read_off_the_list(const std::vector<PartLine>& parts, const Values& others) {
  Values values;
  for (const PartLine& p : parts) {
    std::istringstream all(p.designators);
    for (std::string one; std::getline(all >> std::ws, one, ',');) {
      bool sections = false;
      for (const char* letter : {"a", "b"})
        if (p.kind == PartKind::tube && others.contains(one + letter)) {
          values[one + letter] = p.what;
          sections = true;
        }
      if (!sections) values[one] = p.what;
    }
  }
  return values;
}

std::string in_one(const Values& values) {
  std::string text;
  for (const auto& [name, value] : values) text += name + " = " + value + "; ";
  return text;
}

}  // namespace

TEST_CASE("list, drawing and netlist of random candidates have the same parts with the same values") {
  std::mt19937 random(20261130);
  int solved = 0, of_two = 0, proposals = 0, diodes = 0, sinks = 0, bare = 0, chains = 0;
  std::set<CircuitKind> kinds;
  for (int k = 0; k < 200; ++k) {
    const Record r = random_candidate(random);
    CAPTURE(k);
    CAPTURE(design_in_words(r));
    const Schematic s = schematic_of(r);
    Values drawing = read_off_the_drawing(s);
    const Values net = read_off_the_netlist(netlist(r));
    const auto parts = parts_list(r.design, r.evaluation, {}, r.plate_2_of);
    const Values list = read_off_the_list(parts, drawing);
    for (auto& [name, value] : drawing) {
      if (name[0] == 'D') value = "silicon";  // its symbol says so
      if (r.evaluation.operating_point.solved == Solved::yes) continue;
      const auto in_list = list.find(name);  // nothing can be proposed then, and nothing stands there
      if (in_list != list.end() && in_list->second == "not given") value = "not given";
    }
    CHECK_MESSAGE(drawing == list, ("drawing: " + in_one(drawing) + "\nlist: " + in_one(list)));
    Values wanted = list;
    for (auto& [name, value] : wanted)
      if (value == "not given") value = "1 F";
    CHECK_MESSAGE(net == wanted, ("netlist: " + in_one(net) + "\nlist: " + in_one(wanted)));
    const auto wrong = against_the_list(r);
    CHECK_MESSAGE(wrong.empty(), all_of(wrong));
    const auto over = overlaps(s);
    CHECK_MESSAGE(over.empty(), all_of(over));

    kinds.insert(r.design.circuit);
    solved += r.evaluation.operating_point.solved == Solved::yes;
    of_two += r.plate_2_of.has_value();
    chains += has_first_stage(r.design);
    for (const PartLine& p : parts) {
      proposals += p.proposed_value.has_value();
      diodes += p.kind == PartKind::diode;
      sinks += p.kind == PartKind::sink;
      bare += p.label.ends_with("unbypassed");
    }
  }
  // The sample has what the check is for.
  CHECK(kinds.size() == circuits().size());
  for (const int count : {of_two, proposals, diodes, sinks, bare, chains}) CHECK(count > 10);
  CHECK(solved > 150);
}

TEST_CASE("a drawing has pins, what is not drawn, and the caution under it") {
  std::mt19937 random(7);
  for (int k = 0; k < 20; ++k) {
    const Record r = random_candidate(random);
    const Schematic drawing = schematic_of(r);
    std::string words;
    for (const Schematic::Words& w : drawing.texts()) words += w.text + " ";
    const auto says = [&](std::string_view text) { return words.find(text) != std::string::npos; };
    CHECK(says("V1a plate 6, grid 7, cathode 8") !=
          says("V1 plate 6, grid 7, cathode 8"));  // one or two sections
    CHECK(says("heater 4 and 5 joined, against its tap 9"));
    CHECK(says("RS1"));
    CHECK(says(kSafetyLine));
  }
}

TEST_CASE("the reading of a drawing notices what is wrong with it") {
  Schematic apart;  // a wire stops short of the resistor that it should reach
  apart.part("r", Schematic::Symbol::resistor, at(0, 0), at(0, 60));
  apart.wire(at(0, 70), at(50, 70));
  apart.join();
  CHECK(read(apart).errors.size() >= 3);

  Schematic crossing;  // two wires cross: apart without a dot
  crossing.part("left", Schematic::Symbol::resistor, at(-60, 0), at(0, 0));
  crossing.part("right", Schematic::Symbol::resistor, at(60, 0), at(120, 0));
  crossing.part("up", Schematic::Symbol::resistor, at(30, -90), at(30, -30));
  crossing.part("down", Schematic::Symbol::resistor, at(30, 30), at(30, 90));
  crossing.wire(at(0, 0), at(60, 0));
  crossing.wire(at(30, -30), at(30, 30));
  crossing.join();
  CHECK(crossing.dots().empty());
  const Reading apart_at_crossing = read(crossing);
  CHECK(apart_at_crossing.net.at({"left", 1}) == apart_at_crossing.net.at({"right", 0}));
  CHECK(apart_at_crossing.net.at({"up", 1}) == apart_at_crossing.net.at({"down", 0}));
  CHECK(apart_at_crossing.net.at({"left", 1}) != apart_at_crossing.net.at({"up", 1}));

  Schematic tee;  // an end on another's way: joined, with a dot
  tee.wire(at(0, 0), at(60, 0));
  tee.part("down", Schematic::Symbol::resistor, at(30, 0), at(30, 60));
  tee.part("left", Schematic::Symbol::resistor, at(-60, 0), at(0, 0));
  tee.ground(at(60, 0));
  tee.join();
  REQUIRE(tee.dots().size() == 1);
  CHECK(tee.dots()[0] == at(30, 0));
  CHECK(read(tee).net.at({"down", 0}) == read(tee).ground);

  Schematic over;
  over.text(0, 0, "on the wire");
  over.wire(at(-10, -4), at(100, -4));
  CHECK(overlaps(over).size() == 1);
}
