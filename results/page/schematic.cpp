#include "results/page/schematic.h"

#include <algorithm>
#include <cmath>

#include "results/page/true_minus.h"
#include "results/text/html.h"

namespace antiphase {
namespace {

using Box = Schematic::Box;
using Stroke = Schematic::Stroke;

constexpr int kHalfBody = 17, kHalfWidth = 7;  // of a resistor's box
constexpr int kGap = 4, kHalfPlate = 10;       // of a capacitor
constexpr int kSink = 14, kDiode = 8, kEnvelope = 28;
constexpr int kOpen = 3;        // radius of a terminal
constexpr int kWideFrom = 560;  // units; from here on a picture is shown wider than a column

/// Path data, and the turn from an upright symbol to a lying one.
class Pen {
 public:
  explicit Pen(std::string& out) : out_(out) {}
  void turn(Spot centre, bool lying, bool back) {
    centre_ = centre;
    lying_ = lying;
    back_ = back;
  }
  /// From the symbol's own middle; y points from end a to end b.
  void move(int x, int y) { put('M', x, y); }
  void line(int x, int y) { put('L', x, y); }
  void close() { out_ += 'Z'; }
  void circle(int radius) {
    const std::string r = std::to_string(radius), to = " " + r + " " + r + " 0 0 0 ";
    move(-radius, 0);
    for (const int end : {radius, -radius}) {
      out_ += 'A' + r + " " + r + " 0 0 0 ";
      pair(end, 0);
    }
  }

 private:
  void put(char command, int x, int y) {
    out_ += command;
    pair(x, y);
  }
  void pair(int x, int y) {
    if (back_) y = -y;
    if (lying_) std::swap(x, y);
    out_ += std::to_string(centre_.x + x) + " " + std::to_string(centre_.y + y);
  }
  std::string& out_;
  Spot centre_{};
  bool lying_ = false, back_ = false;
};

/// From the middle of a symbol to where its leads begin.
int half_length(Schematic::Symbol s) {
  switch (s) {
    case Schematic::Symbol::resistor:
      return kHalfBody;
    case Schematic::Symbol::capacitor:
    case Schematic::Symbol::polarized_capacitor:
      return kGap;
    case Schematic::Symbol::sink:
      return kSink;
    case Schematic::Symbol::diode:
      return kDiode;
    case Schematic::Symbol::triode:
    case Schematic::Symbol::pentode:
      break;
  }
  return kEnvelope;
}

int half_width(Schematic::Symbol s) {
  switch (s) {
    case Schematic::Symbol::resistor:
      return kHalfWidth;
    case Schematic::Symbol::capacitor:
    case Schematic::Symbol::polarized_capacitor:
      return kHalfPlate;
    case Schematic::Symbol::sink:
      return kSink;
    case Schematic::Symbol::diode:
      return kDiode;
    case Schematic::Symbol::triode:
    case Schematic::Symbol::pentode:
      break;
  }
  return kEnvelope;
}

void draw_body(Pen& pen, Schematic::Symbol s) {
  const int h = half_length(s), w = half_width(s);
  switch (s) {
    case Schematic::Symbol::resistor:
      pen.move(-w, -h);
      pen.line(w, -h);
      pen.line(w, h);
      pen.line(-w, h);
      pen.close();
      break;
    case Schematic::Symbol::polarized_capacitor:  // a plus at the end of node a
      pen.move(-w, -h - 7);
      pen.line(-w + 6, -h - 7);
      pen.move(-w + 3, -h - 10);
      pen.line(-w + 3, -h - 4);
      [[fallthrough]];
    case Schematic::Symbol::capacitor:
      pen.move(-w, -h);
      pen.line(w, -h);
      pen.move(-w, h);
      pen.line(w, h);
      break;
    case Schematic::Symbol::sink:
      pen.circle(h);
      pen.move(0, -9);
      pen.line(0, 9);
      pen.move(-5, 3);
      pen.line(0, 9);
      pen.line(5, 3);
      break;
    case Schematic::Symbol::diode:
      pen.move(-w, -h);
      pen.line(w, -h);
      pen.line(0, h);
      pen.close();
      pen.move(-w, h);
      pen.line(w, h);
      break;
    case Schematic::Symbol::triode:
    case Schematic::Symbol::pentode:
      break;
  }
}

std::string spot(Spot s) {
  return std::to_string(s.x) + " " + std::to_string(s.y);
}

/// Paths of a triode: envelope, plate and cathode; the grid is a row of dashes.
void draw_triode(const Schematic::Part& part, std::string& whole, std::string& dashed) {
  const int x = part.ends[0].x, y = part.ends[1].y;
  Pen pen(whole);
  pen.turn(at(x, y), false, false);
  pen.circle(kEnvelope);
  pen.move(0, -kEnvelope);
  pen.line(0, -14);
  pen.move(-12, -14);
  pen.line(12, -14);
  pen.move(0, kEnvelope);
  pen.line(0, 14);
  whole += "M" + spot(at(x - 12, y + 18)) + "q12-9 24 0";
  const bool left = part.ends[1].x < x;
  pen.move(left ? -kEnvelope : kEnvelope, 0);
  pen.line(left ? -15 : 15, 0);
  dashed += "M" + spot(at(x - 15, y)) + "H" + std::to_string(x + 15);
}

/// Envelope, plate, cathode and three grids, of which the uppermost is wired to the cathode.
void draw_pentode(const Schematic::Part& part, std::string& whole, std::string& dashed) {
  constexpr int kPlate = 19, kSuppressor = 13, kHalf = 14, kBeside = 18;
  const int x = part.ends[0].x, y = part.ends[1].y;
  const int grid_side = part.ends[1].x < x ? -1 : 1;
  Pen pen(whole);
  pen.turn(at(x, y), false, false);
  pen.circle(kEnvelope);
  pen.move(0, -kEnvelope);
  pen.line(0, -kPlate);
  pen.move(-10, -kPlate);
  pen.line(10, -kPlate);
  pen.move(0, kEnvelope);
  pen.line(0, 14);
  whole += "M" + spot(at(x - 12, y + 18)) + "q12-9 24 0";
  pen.move(grid_side * kEnvelope, 0);
  pen.line(grid_side * kHalf, 0);
  pen.move(-grid_side * kEnvelope, -kScreenUp);
  pen.line(-grid_side * kHalf, -kScreenUp);
  pen.move(-grid_side * kHalf, -kSuppressor);
  pen.line(-grid_side * kBeside, -kSuppressor);
  pen.line(-grid_side * kBeside, 14);
  pen.line(-grid_side * 12, 17);
  for (const int up : {0, static_cast<int>(kScreenUp), kSuppressor})
    dashed += "M" + spot(at(x - kHalf, y - up)) + "H" + std::to_string(x + kHalf);
}

bool within(int v, int one, int other) {
  return v > std::min(one, other) && v < std::max(one, other);
}

/// True if `s` lies on the stroke, but at neither of its ends.
bool on_its_way(Spot s, const Stroke& w) {
  return (w.a.x == w.b.x && s.x == w.a.x && within(s.y, w.a.y, w.b.y)) ||
         (w.a.y == w.b.y && s.y == w.a.y && within(s.x, w.a.x, w.b.x));
}

std::string path(const std::string& data, std::string_view more = "") {
  return data.empty() ? "" : "<path d=\"" + data + "\" fill=\"none\"" + std::string(more) + "/>";
}

}  // namespace

Box Schematic::Words::box() const {
  double width = 0;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if ((byte & 0xC0) == 0x80) continue;  // it goes on with a letter of several bytes
    const bool wide = byte >= 0xC0 || (c >= 'A' && c <= 'Z') || c == '+' || c == '=';
    const bool narrow = c == ' ' || c == '.' || c == ',';
    width += kFont * (wide ? 0.79 : narrow ? 0.32 : c == 'm' ? 0.98 : 0.64);
  }
  const double left = anchor == Anchor::start ? x : anchor == Anchor::middle ? x - width / 2 : x - width;
  return {left, y - 0.77 * kFont, left + width, y + 0.24 * kFont};
}

Box Schematic::box_of_ground(Spot s) {
  return {s.x - 10.0, s.y + 0.0, s.x + 10.0, s.y + 8.0};
}

Box Schematic::box_of_terminal(Spot s) {
  return {s.x - 1.0 * kOpen, s.y - 1.0 * kOpen, s.x + 1.0 * kOpen, s.y + 1.0 * kOpen};
}

void Schematic::part(std::string_view name, Symbol symbol, Spot a, Spot b) {
  const bool lying = a.y == b.y;
  const int x = (a.x + b.x) / 2, y = (a.y + b.y) / 2;
  const int h = half_length(symbol), w = half_width(symbol);
  const int to_b = (lying ? b.x < a.x : b.y < a.y) ? -1 : 1;
  const Spot first = lying ? at(x - to_b * h, y) : at(x, y - to_b * h);
  const Spot second = lying ? at(x + to_b * h, y) : at(x, y + to_b * h);
  Part p{std::string(name), symbol, {a, b}, {{a, first}, {b, second}}, {}};
  p.body = lying ? Box{x - 1.0 * h, y - 1.0 * w, x + 1.0 * h, y + 1.0 * w}
                 : Box{x - 1.0 * w, y - 1.0 * h, x + 1.0 * w, y + 1.0 * h};
  if (symbol == Symbol::polarized_capacitor) {  // its plus stands above the plate of end a
    constexpr int kPlus = 10;
    double& edge = lying ? (to_b > 0 ? p.body.left : p.body.right) : (to_b > 0 ? p.body.top : p.body.bottom);
    edge -= to_b * kPlus;
  }
  parts_.push_back(p);
}

void Schematic::triode(std::string_view name, Spot c, Side grid, bool pentode) {
  const int out = grid == Side::left ? -1 : 1;
  const Spot plate = at(c.x, c.y - kTriodeReach), cathode = at(c.x, c.y + kTriodeReach);
  const Spot lead = at(c.x + out * kTriodeReach, c.y);
  parts_.push_back(
      {std::string(name),
       pentode ? Symbol::pentode : Symbol::triode,
       {plate, lead, cathode},
       {{plate, at(c.x, c.y - kEnvelope)},
        {lead, at(c.x + out * kEnvelope, c.y)},
        {cathode, at(c.x, c.y + kEnvelope)}},
       {c.x - 1.0 * kEnvelope, c.y - 1.0 * kEnvelope, c.x + 1.0 * kEnvelope, c.y + 1.0 * kEnvelope}});
  if (!pentode) return;
  const Spot screen = at(c.x - out * kTriodeReach, c.y - kScreenUp);
  parts_.back().ends.push_back(screen);
  parts_.back().leads.push_back({screen, at(c.x - out * kEnvelope, c.y - kScreenUp)});
}

void Schematic::text(int x, int y, std::string_view words, Anchor anchor, std::string_view kind,
                     std::string_view member) {
  texts_.push_back({x, y, anchor, std::string(words), std::string(kind), std::string(member)});
}

void Schematic::join() {
  std::vector<Stroke> strokes = wires_;
  std::vector<Spot> ends;
  for (const Part& p : parts_) {
    strokes.insert(strokes.end(), p.leads.begin(), p.leads.end());
    ends.insert(ends.end(), p.ends.begin(), p.ends.end());
  }
  for (const Stroke& w : wires_) ends.insert(ends.end(), {w.a, w.b});
  ends.insert(ends.end(), grounds_.begin(), grounds_.end());
  ends.insert(ends.end(), terminals_.begin(), terminals_.end());
  for (const Spot& s : ends) {
    auto branches = std::count(ends.begin(), ends.end(), s);
    for (const Stroke& w : strokes) branches += on_its_way(s, w) ? 2 : 0;
    if (branches > 2 && std::find(dots_.begin(), dots_.end(), s) == dots_.end()) dots_.push_back(s);
  }
}

Box Schematic::bounds() const {
  constexpr double kFar = 1e6;
  Box all{kFar, kFar, -kFar, -kFar};
  const auto take = [&](const Box& b) {
    all = {std::min(all.left, b.left), std::min(all.top, b.top), std::max(all.right, b.right),
           std::max(all.bottom, b.bottom)};
  };
  const auto take_spot = [&](Spot s) { take({1.0 * s.x, 1.0 * s.y, 1.0 * s.x, 1.0 * s.y}); };
  for (const Stroke& w : wires_) {
    take_spot(w.a);
    take_spot(w.b);
  }
  for (const Part& p : parts_) {
    take(p.body);
    for (const Spot& s : p.ends) take_spot(s);
  }
  for (const Spot& s : grounds_) take(box_of_ground(s));
  for (const Spot& s : terminals_) take(box_of_terminal(s));
  for (const Words& w : texts_) take(w.box());
  return all;
}

std::string Schematic::svg(std::string_view title) const {
  std::string whole, dashed, marks;
  for (const Stroke& w : wires_) whole += "M" + spot(w.a) + "L" + spot(w.b);
  Pen pen(whole);
  for (const Part& p : parts_) {
    for (const Stroke& lead : p.leads) whole += "M" + spot(lead.a) + "L" + spot(lead.b);
    if (p.symbol == Symbol::triode) {
      draw_triode(p, whole, dashed);
      continue;
    }
    if (p.symbol == Symbol::pentode) {
      draw_pentode(p, whole, dashed);
      continue;
    }
    const Spot a = p.ends[0], b = p.ends[1];
    const bool lying = a.y == b.y;
    pen.turn(at((a.x + b.x) / 2, (a.y + b.y) / 2), lying, lying ? b.x < a.x : b.y < a.y);
    draw_body(pen, p.symbol);
  }
  for (const Spot& s : grounds_)
    for (const int step : {0, 1, 2}) {
      const int half = 10 - 4 * step;
      whole += "M" + spot(at(s.x - half, s.y + 4 * step)) + "h" + std::to_string(2 * half);
    }
  const auto round = [&](Spot s, std::string_view fill) {
    marks += "<circle cx=\"" + std::to_string(s.x) + "\" cy=\"" + std::to_string(s.y) + "\" r=\"" +
             std::to_string(kOpen) + "\"" + std::string(fill) + "/>";
  };
  for (const Spot& s : dots_) round(s, " fill=\"currentColor\"");
  for (const Spot& s : terminals_) round(s, " fill=\"none\"");
  for (const Words& w : texts_) {
    constexpr std::string_view kAnchors[] = {"start", "middle", "end"};
    marks += "<text x=\"" + std::to_string(w.x) + "\" y=\"" + std::to_string(w.y) + "\" text-anchor=\"" +
             std::string(kAnchors[static_cast<int>(w.anchor)]) + "\"";
    if (!w.kind.empty()) marks += " class=\"" + w.kind + "\"";
    if (!w.member.empty()) marks += " data-part=\"" + html(w.member) + "\"";
    marks += " fill=\"currentColor\" stroke=\"none\">" + html(with_true_minus(w.text)) + "</text>";
  }
  constexpr int kMargin = 8;
  const Box all = bounds();
  const int left = static_cast<int>(std::floor(all.left)) - kMargin,
            top = static_cast<int>(std::floor(all.top)) - kMargin,
            width = static_cast<int>(std::ceil(all.right)) + kMargin - left,
            height = static_cast<int>(std::ceil(all.bottom)) + kMargin - top;
  return "<svg class=\"circuit" + std::string(width > kWideFrom ? " wide" : "") + "\" viewBox=\"" +
         spot(at(left, top)) + " " + spot(at(width, height)) +
         "\" role=\"img\" stroke=\"currentColor\" stroke-width=\"1.5\" font-size=\"" + std::to_string(kFont) +
         "\"><title>" + html(title) + "</title>" + path(whole) + path(dashed, " stroke-dasharray=\"5 4\"") +
         marks + "</svg>";
}

}  // namespace antiphase
