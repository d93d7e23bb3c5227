/// Two axes, lines, points and a legend as one SVG picture that stands alone: for the plots of a search.
#pragma once

#include <string>
#include <vector>

namespace antiphase {

/// Where a plot's lines and points lie: x and y in the units of its axes.
struct PlotPoint {
  double x = 0, y = 0;
};

/// `logarithmic`: both ends above zero. Numbers take engineering prefixes before `unit`; "%", "dB" and "1"
/// take none.
struct PlotAxis {
  std::string name;
  std::string unit;
  double from = 0, to = 1;
  bool logarithmic = false;
};

/// An axis from 0, or from a round value below `low`, to a round one above `high`; logarithmic where asked
/// and possible, from decade to decade.
PlotAxis axis_for(std::string name, std::string unit, double low, double high, bool logarithmic);

/// One line or one cloud of points with its name in the legend (none if empty). Strokes and marks differ, so
/// that no meaning hangs on colour alone.
struct PlotSeries {
  enum class Look { solid, dashed, dotted, dash_dotted, thin, dots, diamonds, rings };
  std::string name;
  Look look = Look::solid;
  std::vector<PlotPoint> points;
  std::vector<std::string> words = {};  ///< beside the points, or at the end of a line; may be empty
};

/// A limit or another mark across the whole plot.
struct PlotMark {
  bool upright = true;  ///< at an x; otherwise at a y
  double at = 0;
  std::string words;
};

struct Plot {
  std::string title, description;  ///< says: what a person who does not see it should know
  PlotAxis x, y;
  std::vector<PlotSeries> series;  ///< later ones lie on top
  std::vector<PlotMark> marks;
};

/// 860 by 600; has a title and a description, follows the reader's light or dark scheme, needs no script.
/// What lies outside the axes is not drawn; lines are cut there. Every text is shown as text.
std::string plot_svg(const Plot&);

}  // namespace antiphase
