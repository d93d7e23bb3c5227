/// A schematic as it is painted: wires, symbols and words with their places, and the SVG made of them.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "stagemodels/circuits/picture.h"

namespace antiphase {

/// Coordinates are user units, y downward. Symbols follow IEC 60617: boxes for resistors, two bars for
/// capacitors, a circle with an arrow for a current source.
class Schematic {
 public:
  enum class Anchor { start, middle, end };
  enum class Symbol { resistor, capacitor, polarized_capacitor, sink, diode, triode, pentode };

  struct Box {
    double left, top, right, bottom;
  };
  struct Stroke {
    Spot a, b;
  };
  struct Part {
    std::string name;  ///< of the element
    Symbol symbol;
    std::vector<Spot> ends;     ///< of the element's nodes, in the list's order
    std::vector<Stroke> leads;  ///< from each end to the body
    Box body;
  };
  struct Words {
    int x, y;  ///< of the baseline
    Anchor anchor;
    std::string text, kind;
    std::string member;  ///< JSON pointer of the part in a design file whose value this is; empty: of none
    /// What the letters cover, from the height of capitals to the depth of "g"; widths are those of the
    /// widest of the page's fonts (DejaVu Sans, in parts of the size, rounded up): 0.79 a capital or sign,
    /// 0.98 an "m", 0.32 a space or point, 0.64 any other.
    Box box() const;
  };
  static constexpr int kFont = 13;

  void wire(Spot a, Spot b) { wires_.push_back({a, b}); }
  /// Upright or lying between its ends, which are those of the element's nodes a and b.
  void part(std::string_view name, Symbol symbol, Spot a, Spot b);
  /// Its ends lie kTriodeReach from the centre; `grid` is left or right. A pentode's screen comes out on the
  /// other side, kScreenUp above the centre; its suppressor is wired to the cathode inside of the sign.
  void triode(std::string_view name, Spot centre, Side grid, bool pentode = false);
  void ground(Spot at) { grounds_.push_back(at); }
  void terminal(Spot at) { terminals_.push_back(at); }
  void text(int x, int y, std::string_view words, Anchor anchor = Anchor::start, std::string_view kind = "",
            std::string_view member = "");
  /// Sets the dots: where three or more ends meet, or an end meets a wire on its way. Wires that cross stay
  /// apart. Call it once, when all strokes are there.
  void join();

  const std::vector<Stroke>& wires() const { return wires_; }
  const std::vector<Part>& parts() const { return parts_; }
  const std::vector<Spot>& grounds() const { return grounds_; }
  const std::vector<Spot>& terminals() const { return terminals_; }
  const std::vector<Spot>& dots() const { return dots_; }
  const std::vector<Words>& texts() const { return texts_; }
  static Box box_of_ground(Spot at);
  static Box box_of_terminal(Spot at);
  /// Around everything.
  Box bounds() const;

  /// Lines take the colour of the text around; needs no script and no style sheet to be readable.
  /// Values of parts carry their member as data-part, by which a page's script makes them change.
  std::string svg(std::string_view title) const;

 private:
  std::vector<Stroke> wires_;
  std::vector<Part> parts_;
  std::vector<Spot> grounds_, terminals_, dots_;
  std::vector<Words> texts_;
};

}  // namespace antiphase
