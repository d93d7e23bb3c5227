/// The few strokes that a schematic is made of, as SVG elements.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

/// Coordinates are whole user units, y downward. Symbols follow IEC 60617: boxes for resistors, two bars
/// for capacitors, a circle with arrow for a current source.
class Schematic {
 public:
  enum class Anchor { start, middle, end };

  void line(int x1, int y1, int x2, int y2);
  void dot(int x, int y);
  void text(int x, int y, std::string_view text, Anchor anchor = Anchor::start, std::string_view kind = "");
  /// Vertical, leads included, from y1 down to y2; the label stands on the side of `anchor`.
  void resistor(int x, int y1, int y2, std::string_view label, Anchor anchor);
  void sink(int x, int y1, int y2, std::string_view label, Anchor anchor);
  void capacitor_down(int x, int y1, int y2, std::string_view label, Anchor anchor);
  void capacitor_across(int x1, int x2, int y);
  void ground(int x, int y);
  /// Plate lead from y - 28, cathode lead to y + 28, grid lead out to `grid_x`.
  void triode(int x, int y, int grid_x);

  std::string svg(int width, int height, std::string_view title) const;

 private:
  void label_beside(int x, int y, std::string_view label, Anchor anchor);
  std::string marks_;
};

}  // namespace antiphase
