#include "results/svg/plate_curves.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "results/describe/plate_currents.h"
#include "results/describe/tube_points.h"
#include "results/plots/nice_steps.h"
#include "results/svg/picture.h"
#include "results/text/formatted.h"
#include "results/text/html.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr double kWide = kPictureWide, kHigh = kPictureHigh, kLeft = 70, kRight = 64, kTop = 88, kBottom = 60;
constexpr double kLegendY = 54;
constexpr int kSteps = 160;  // of a curve: finer than a screen shows
constexpr std::size_t kMostCurves = 16;
constexpr int kMostTicks = 10;
constexpr double kNameWide = 44, kNameHigh = 12;  // room that a curve's name takes

constexpr const char* kStyle =
    "<style>svg{background:#fff;color:#111}text{fill:currentColor}"
    ".grid{stroke:currentColor;stroke-opacity:.18}"
    ".law{fill:none;stroke:currentColor;stroke-width:1.6}"
    ".read{fill:none;stroke:#b03a00;stroke-width:1.3}"
    ".point{fill:#fff;stroke:currentColor;stroke-width:1.6}"
    ".watt{fill:none;stroke:currentColor;stroke-width:1.3;stroke-dasharray:7 5}"
    "@media(prefers-color-scheme:dark){svg{background:#16181c;color:#eee}.read{stroke:#ffa163}"
    ".point{fill:#16181c}}</style>\n";

struct Sheet {
  double most_v, most_a;
  double x(double v) const { return kLeft + (kWide - kLeft - kRight) * v / most_v; }
  double y(double a) const { return kHigh - kBottom - (kHigh - kTop - kBottom) * a / most_a; }
};

struct Place {
  double x, y;
  bool over_the_top;
};

std::string axes(const Sheet& s) {
  std::string lines = "<g class=\"grid\">\n", names = "<g>\n";
  const double step_v = nice_above(s.most_v / kMostTicks);
  const double step_ma = nice_above(1e3 * s.most_a / kMostTicks);
  for (int k = 0; k * step_v <= s.most_v; ++k) {
    const double x = s.x(k * step_v);
    lines += formatted("<path d=\"M%.1f %.1fV%.1f\"/>\n", x, kTop, kHigh - kBottom);
    names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%.4g</text>\n", x,
                       kHigh - kBottom + 18, k * step_v);
  }
  for (int k = 0; k * step_ma <= 1e3 * s.most_a; ++k) {
    const double y = s.y(1e-3 * k * step_ma);
    lines += formatted("<path d=\"M%.1f %.1fH%.1f\"/>\n", kLeft, y, kWide - kRight);
    names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%.4g</text>\n", kLeft - 8, y + 4,
                       k * step_ma);
  }
  names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">plate voltage, V</text>\n",
                     0.5 * (kLeft + kWide - kRight), kHigh - 16);
  names += formatted(
      "<text transform=\"translate(20 %.1f) rotate(-90)\" text-anchor=\"middle\">plate current, mA</text>\n",
      0.5 * (kTop + kHigh - kBottom));
  return lines + "</g>\n" + names + "</g>\n";
}

/// A line as long as it stays on the sheet; `end` is where it leaves it. Empty: none of it is on the sheet.
template <class Current>
std::string line_to_the_edge(const Sheet& s, const char* kind, double from_v, Current current, Place& end) {
  std::string path;
  double end_v = from_v, end_a = 0;
  bool over_the_top = false;
  for (int k = 0; k <= kSteps && !over_the_top; ++k) {
    const double v = from_v + (s.most_v - from_v) * k / kSteps, a = current(v);
    if (a > s.most_a) {
      if (path.empty()) continue;
      end_v += (s.most_a - end_a) / (a - end_a) * (v - end_v);
      end_a = s.most_a;
      over_the_top = true;
    } else {
      end_v = v, end_a = a;
    }
    path += formatted("%c%.1f %.1f", path.empty() ? 'M' : 'L', s.x(end_v), s.y(end_a));
  }
  end = {s.x(end_v), s.y(end_a), over_the_top};
  return path.empty() ? path : formatted("<path class=\"%s\" d=\"", kind) + path + "\"/>\n";
}

/// Names at the ends of curves; one that would cover another is left out.
class EndNames {
 public:
  void put(const Place& at, const std::string& name) {
    for (const Place& taken : taken_)
      if (taken.over_the_top == at.over_the_top &&
          (at.over_the_top ? std::abs(at.x - taken.x) < kNameWide : std::abs(at.y - taken.y) < kNameHigh))
        return;
    taken_.push_back(at);
    text_ += formatted("<text x=\"%.1f\" y=\"%.1f\"%s>", at.x + (at.over_the_top ? 0 : 5),
                       at.y + (at.over_the_top ? -6 : 4), at.over_the_top ? " text-anchor=\"middle\"" : "") +
             html(name) + "</text>\n";
  }
  const std::string& text() const { return text_; }

 private:
  std::vector<Place> taken_;
  std::string text_;
};

std::string ring(double x, double y) {
  return formatted("<circle class=\"read\" cx=\"%.1f\" cy=\"%.1f\" r=\"3\"/>\n", x, y);
}

std::string diamond(double x, double y) {
  return formatted("<path class=\"point\" d=\"M%.1f %.1fl5.5 5.5l-5.5 5.5l-5.5 -5.5z\"/>\n", x, y - 5.5);
}

std::string counted(std::size_t n, const std::string& one) {
  return std::to_string(n) + " " + one + (n == 1 ? "" : "s");
}

/// Marks with their meaning, from left to right.
class Legend {
 public:
  /// `mark` draws itself round the place it is given.
  template <class Mark>
  void add(double mark_width, Mark mark, const std::string& meaning) {
    constexpr double kGap = 8, kBetween = 26, kLetter = 6.6;  // the last: a letter of 13 px, on average
    text_ += mark(x_ + 0.5 * mark_width, kLegendY - 4);
    x_ += mark_width + kGap;
    text_ += formatted("<text x=\"%.1f\" y=\"%.1f\">", x_, kLegendY) + html(meaning) + "</text>\n";
    x_ += kLetter * static_cast<double>(meaning.size()) + kBetween;
  }
  const std::string& text() const { return text_; }

 private:
  double x_ = kLeft;
  std::string text_;
};

/// Grid voltages that get a curve, from the highest down.
std::vector<double> grids_of(const Tube& tube, const TriodeLaw& law, std::span<const CurvePoint> readings) {
  std::set<double> grids;
  for (const CurvePoint& p : readings) grids.insert(p.grid_v);
  if (readings.empty()) return plate_currents(tube, law).grid_v;
  const std::vector<double> all(grids.rbegin(), grids.rend());
  const std::size_t every = (all.size() + kMostCurves - 1) / kMostCurves;
  std::vector<double> drawn;
  for (std::size_t k = 0; k < all.size(); k += every) drawn.push_back(all[k]);
  return drawn;
}

bool has_place(const PublishedPoint& p) {
  return grid_voltage_of(p) && p.plate_current_a;
}

Sheet sheet_for(const Tube& tube, std::span<const CurvePoint> readings) {
  double most_v = 0, most_a = 0;
  for (const CurvePoint& p : readings) {
    most_v = std::max(most_v, p.plate_v);
    most_a = std::max(most_a, p.plate_current_a);
  }
  // A point has curves round it; readings bring their own surroundings.
  const double room_v = readings.empty() ? 1.4 : 1.05, room_a = readings.empty() ? 2 : 1.05;
  for (const PublishedPoint& p : tube.published_points)
    if (has_place(p)) {
      most_v = std::max(most_v, room_v * p.plate_v);
      most_a = std::max(most_a, room_a * *p.plate_current_a);
    }
  if (!(most_v > 0)) most_v = tube.ratings.plate_v_max ? tube.ratings.plate_v_max->value : 300;
  if (!(most_a > 0)) most_a = 2 * typical_current_a(tube.published_points, readings);
  if (!(most_a > 0)) most_a = 10e-3;
  return {1.02 * most_v, 1.04 * most_a};
}

}  // namespace

std::string plate_curves_svg(const Tube& tube, const TriodeLaw& law, std::span<const CurvePoint> readings) {
  const Sheet s = sheet_for(tube, readings);
  const std::vector<double> grids = grids_of(tube, law, readings);

  std::string curves;
  EndNames names;
  Place end{};
  for (const double grid_v : grids) {
    curves += line_to_the_edge(
        s, "law", 0, [&](double v) { return currents_at(law, grid_v, v).plate_a; }, end);
    names.put(end, formatted("%g V", grid_v));
  }

  Legend legend;
  legend.add(
      26,
      [](double x, double y) { return formatted("<path class=\"law\" d=\"M%.1f %.1fh26\"/>\n", x - 13, y); },
      "law, by grid voltage");
  std::string rating, meaning;
  if (tube.ratings.plate_w_max) {
    const double most_w = tube.ratings.plate_w_max->value, from_v = most_w / s.most_a;
    if (from_v < s.most_v)
      rating = line_to_the_edge(
          s, "watt", from_v, [&](double v) { return most_w / v; }, end);
    if (!rating.empty()) {
      meaning = engineering_text(most_w, "W") + ", rated plate dissipation";
      legend.add(
          26,
          [](double x, double y) {
            return formatted("<path class=\"watt\" d=\"M%.1f %.1fh26\"/>\n", x - 13, y);
          },
          meaning);
    }
  }
  std::string rings, diamonds;
  std::size_t published = 0;
  for (const CurvePoint& p : readings) rings += ring(s.x(p.plate_v), s.y(p.plate_current_a));
  for (const PublishedPoint& p : tube.published_points)
    if (has_place(p)) {
      diamonds += diamond(s.x(p.plate_v), s.y(*p.plate_current_a));
      if (readings.empty())  // no curve of its own then, and room for a name
        diamonds += formatted("<text x=\"%.1f\" y=\"%.1f\" font-size=\"11\">%.3g V</text>\n",
                              s.x(p.plate_v) + 8, s.y(*p.plate_current_a) + 4, *grid_voltage_of(p));
      ++published;
    }
  if (!readings.empty()) legend.add(8, ring, counted(readings.size(), "reading"));
  if (published > 0) legend.add(12, diamond, counted(published, "published point"));

  const std::string title = tube.name + ": plate curves of " + form_of(law);
  std::string description =
      "Plate current in mA over plate voltage in V. One solid line each for grid voltages from " +
      formatted("%g V to %g V", grids.front(), grids.back()) + ", named at its end.";
  if (!meaning.empty()) description += " Dashed: " + meaning + ".";
  if (!readings.empty()) description += " Rings: " + counted(readings.size(), "curve reading") + ".";
  if (published > 0) description += " Diamonds: " + counted(published, "published point") + ".";
  return picture(title, description, kStyle, kLeft,
                 legend.text() + axes(s) + rating + curves + names.text() + rings + diamonds);
}

}  // namespace antiphase
