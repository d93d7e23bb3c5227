#include "results/page/circuit_drawing.h"

#include "results/describe/values.h"
#include "results/page/schematic.h"
#include "results/text/engineering.h"

namespace antiphase {
namespace {

using Anchor = Schematic::Anchor;

constexpr int kRail = 30, kTap = 128, kTube = 190, kCathode = 240;  // heights
constexpr int kWidth = 480;

std::string ohm(double v) {
  return engineering_text(v, "ohm", 4);
}

/// Draws one stage; voltages only where the rest point is known.
class Drawing {
 public:
  explicit Drawing(const Record& r)
      : d_(r.design),
        op_(r.evaluation.operating_point),
        feedback_(r.evaluation.feedback),
        solved_(op_.solved == Solved::yes) {}

  std::string pair() {
    rail(140, 340);
    half(0, 140, 16, Anchor::end);
    half(1, 340, 464, Anchor::start);
    s_.line(140, kTube + 28, 140, kCathode);
    s_.line(340, kTube + 28, 340, kCathode);
    s_.line(140, kCathode, 340, kCathode);
    s_.dot(240, kCathode);
    volts(240, kCathode - 8, op_.cathode_v, Anchor::middle);
    below_cathodes();
    return s_.svg(kWidth, 400, design_in_words(d_));
  }

  std::string gain_stage() {
    const int x = 240;
    gain_stage_at(x, {d_.tube[0], d_.plate_ohm[0], d_.cathode_ohm, d_.cathode_unbypassed_ohm,
                      d_.grid_leak_ohm, op_.plate_v[0], op_.cathode_v, op_.plate_current_a[0]});
    output(x, 400, Anchor::start, "output");
    return s_.svg(kWidth, 400, design_in_words(d_));
  }

  /// The gain stage ahead of the pair, up to where grid 1 begins.
  std::string first_stage() {
    const int x = 240;
    const FirstStage& f = d_.first_stage;
    gain_stage_at(
        x, {f.tube, f.plate_ohm, f.cathode_ohm, f.cathode_unbypassed_ohm, f.grid_leak_ohm, op_.first.plate_v,
            op_.first.cathode_v, op_.first.plate_current_a, feedback_.known ? feedback_.resistor_ohm : 0});
    if (direct_first_stage(d_)) {
      s_.line(x, kTap, 400, kTap);
    } else {
      s_.capacitor_across(x, x + 50, kTap);
      s_.line(x + 50, kTap, 400, kTap);
    }
    s_.text(400, kTap - 10, "to grid 1", Anchor::end);
    return s_.svg(kWidth, 400, "First stage: " + design_in_words(d_));
  }

 private:
  struct GainStage {
    const Tube* tube;
    double plate_ohm, cathode_ohm, unbypassed_ohm, leak_ohm, plate_v, cathode_v, plate_current_a;
    double feedback_ohm = 0;  ///< 0: none
  };
  void gain_stage_at(int x, const GainStage& g) {
    rail(x - 60, x + 60);
    s_.resistor(x, kRail, kTap, ohm(g.plate_ohm), Anchor::end);
    amperes(x, kRail, kTap, g.plate_current_a, Anchor::end);
    s_.dot(x, kTap);
    volts(x - 8, kTap + 5, g.plate_v, Anchor::end);
    s_.line(x, kTap, x, kTube - 28);
    s_.triode(x, kTube, 110);
    input(110);
    s_.dot(140, kTube);
    s_.resistor(140, kTube, 290, ohm(g.leak_ohm), Anchor::end);
    s_.ground(140, 290);
    s_.text(x + 34, kTube + 5, g.tube->name);
    if (g.feedback_ohm > 0)
      cathode_with_feedback(x, g);
    else
      cathode_of_gain_stage(x, g);
  }

  void volts(int x, int y, double v, Anchor anchor) {
    if (solved_) s_.text(x, y, engineering_text(v, "V"), anchor, "volts");
  }

  /// Where directly coupled grids rest.
  double grids_v() const { return has_first_stage(d_) ? op_.grid_v[0] : d_.bias.grid_v; }
  /// Below the label of a part between `y1` and `y2`, with the arrow that a current needs.
  void amperes(int x, int y1, int y2, double a, Anchor side) {
    if (solved_)
      s_.text(side == Anchor::end ? x - 14 : x + 14, (y1 + y2) / 2 + 22, "\u2193 " + engineering_text(a, "A"),
              side, "amperes");
  }

  void rail(int x1, int x2) {
    s_.line(x1, kRail, x2, kRail);
    const auto supply = [](double v, int digits) { return "+" + engineering_text(v, "V", digits); };
    if (!(d_.main_supply_v > 0))
      return s_.text((x1 + x2) / 2, kRail - 9, supply(d_.supply_v, 4), Anchor::middle);
    s_.text((x1 + x2) / 2, kRail - 9, supply(d_.main_supply_v, 4) + " through " + ohm(d_.dropping_ohm),
            Anchor::middle);
    if (solved_) s_.text(x2 + 8, kRail + 5, supply(op_.supply_v, 3), Anchor::start, "volts");
  }

  void output(int x, int out_x, Anchor side, std::string_view name) {
    const int beyond = side == Anchor::end ? x - 50 : x + 50;
    s_.capacitor_across(x, beyond, kTap);
    s_.line(beyond, kTap, out_x, kTap);
    s_.text(out_x, kTap - 10, name, side == Anchor::end ? Anchor::start : Anchor::end);
    s_.text(out_x, kTap + 18, "into " + ohm(d_.load_ohm), side == Anchor::end ? Anchor::start : Anchor::end,
            "quiet");
  }

  void input(int x) {
    s_.line(16, kTube, 40, kTube);
    s_.capacitor_across(40, x, kTube);
    s_.text(16, kTube - 14, "in");
  }

  /// One section with its plate resistor, output and grid lead; `out_x` is the edge on its side.
  void half(std::size_t i, int x, int out_x, Anchor side) {
    const Anchor inside = side == Anchor::end ? Anchor::start : Anchor::end;
    s_.resistor(x, kRail, kTap, ohm(d_.plate_ohm[i]), inside);
    amperes(x, kRail, kTap, op_.plate_current_a[i], inside);
    s_.dot(x, kTap);
    volts(i == 0 ? x + 8 : x - 8, kTap + 14, op_.plate_v[i], i == 0 ? Anchor::start : Anchor::end);
    s_.line(x, kTap, x, kTube - 28);
    output(x, out_x, side, i == 0 ? "output 1" : "output 2");
    const int grid_x = i == 0 ? 80 : 400;
    s_.triode(x, kTube, grid_x);
    s_.text(i == 0 ? x + 32 : x - 32, kTube + 5, d_.tube[i]->name, i == 0 ? Anchor::start : Anchor::end,
            "quiet");
    s_.dot(grid_x, kTube);
    if (i == 0) {
      if (d_.bias.form == BiasForm::direct_coupled) {  // no capacitor: the plate before holds this grid
        s_.line(16, kTube, grid_x, kTube);
        s_.text(16, kTube - 14, "in");
        s_.text(16, kTube + 38, "from the plate", Anchor::start, "quiet");
        s_.text(16, kTube + 55, "of the stage before", Anchor::start, "quiet");
      } else if (has_first_stage(d_)) {  // its capacitor is drawn there
        s_.line(16, kTube, grid_x, kTube);
        s_.text(16, kTube - 14, "from the first plate");
      } else {
        input(grid_x);
      }
    } else {
      s_.line(grid_x, kTube, 440, kTube);
      s_.capacitor_down(440, kTube, 240, "", Anchor::start);
      s_.ground(440, 240);
    }
  }

  void tail(int y1, int y2) {
    if (d_.tail.form == TailForm::resistor) {
      s_.resistor(240, y1, y2, ohm(d_.tail.ohm), Anchor::start);
      amperes(240, y1, y2, op_.tail_current_a, Anchor::start);
    } else {
      s_.sink(240, y1, y2, engineering_text(d_.tail.current_a, "A"), Anchor::start);
    }
  }

  void leaks(int y, bool first) {
    if (first) s_.resistor(80, kTube, y, ohm(d_.grid_leak_ohm), Anchor::start);
    s_.resistor(400, kTube, y, ohm(d_.grid_leak_ohm), Anchor::end);
  }

  void below_cathodes() {
    switch (d_.bias.form) {
      case BiasForm::self_biased:
        s_.resistor(240, kCathode, 300, ohm(d_.bias.ohm), Anchor::start);
        leaks(300, true);
        s_.line(80, 300, 400, 300);
        s_.dot(240, 300);
        volts(232, 318, op_.leak_node_v, Anchor::end);
        tail(300, 370);
        s_.ground(240, 370);
        break;
      case BiasForm::direct_coupled:
        tail(kCathode, 340);
        s_.ground(240, 340);
        leaks(300, false);
        s_.text(400, 316, "to grid 1's", Anchor::middle, "quiet");
        s_.text(400, 332, engineering_text(grids_v(), "V") + " DC", Anchor::middle, "volts");
        s_.text(80, kTube + 20, engineering_text(grids_v(), "V"), Anchor::middle, "volts");
        break;
      case BiasForm::negative_rail:
        tail(kCathode, 340);
        s_.text(240, 358, engineering_text(d_.bias.rail_v, "V", 4), Anchor::middle);
        leaks(300, true);
        s_.ground(80, 300);
        s_.ground(400, 300);
        break;
    }
  }

  void cathode_of_gain_stage(int x, const GainStage& g) {
    const double bare = g.unbypassed_ohm, bypassed = g.cathode_ohm - bare;
    s_.line(x, kTube + 28, x, kCathode);
    s_.dot(x, kCathode);
    volts(x - 8, kCathode + 4, g.cathode_v, Anchor::end);
    int y = kCathode;
    if (bare > 0) {
      s_.resistor(x, y, y + 60, ohm(bare), Anchor::start);
      y += 60;
    }
    if (bypassed > 0) {
      s_.dot(x, y);
      s_.resistor(x, y, y + 70, ohm(bypassed), Anchor::end);
      s_.line(x, y, x + 50, y);
      s_.capacitor_down(x + 50, y, y + 70, "", Anchor::start);
      s_.ground(x + 50, y + 70);
      y += 70;
    }
    s_.ground(x, y);
  }

  /// The unbypassed part stands at ground, and the feedback comes in at its upper end.
  void cathode_with_feedback(int x, const GainStage& g) {
    const double bypassed = g.cathode_ohm - g.unbypassed_ohm;
    s_.line(x, kTube + 28, x, kCathode);
    s_.dot(x, kCathode);
    volts(x - 8, kCathode + 4, g.cathode_v, Anchor::end);
    int y = kCathode;
    if (bypassed > 0) {
      s_.resistor(x, y, y + 70, ohm(bypassed), Anchor::end);
      s_.line(x, y, x + 50, y);
      s_.capacitor_down(x + 50, y, y + 70, "", Anchor::start);
      y += 70;
      s_.dot(x + 50, y);
      s_.dot(x, y);
    }
    constexpr int kFrom = 380;
    s_.line(x, y, kFrom, y);
    s_.resistor(kFrom, y - 70, y, ohm(g.feedback_ohm), Anchor::start);
    s_.text(kFrom, y - 78, "feedback, from the load", Anchor::middle);
    s_.resistor(x, y, y + 60, ohm(g.unbypassed_ohm), Anchor::end);
    s_.ground(x, y + 60);
  }

  const Design& d_;
  const OperatingPoint& op_;
  const FeedbackFigures& feedback_;
  bool solved_;
  Schematic s_;
};

}  // namespace

std::string circuit_drawing(const Record& r) {
  if (has_first_stage(r.design)) return Drawing(r).first_stage() + Drawing(r).pair();
  return sections(r.design.circuit) == 2 ? Drawing(r).pair() : Drawing(r).gain_stage();
}

}  // namespace antiphase
