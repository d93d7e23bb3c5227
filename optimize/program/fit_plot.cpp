#include "optimize/program/fit_plot.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "optimize/program/formatted.h"
namespace antiphase {
namespace {

constexpr double kWide = 860, kHigh = 560, kLeft = 70, kRight = 60, kTop = 50, kBottom = 60;
constexpr int kSteps = 160;  // of a curve: finer than a screen shows
constexpr std::size_t kMostCurves = 16;

std::string escaped(const std::string& plain) {
  std::string text;
  for (const char c : plain) {
    if (c == '&')
      text += "&amp;";
    else if (c == '<')
      text += "&lt;";
    else if (c == '>')
      text += "&gt;";
    else
      text += c;
  }
  return text;
}

/// 1, 2 or 5 times a power of ten, so that an axis has five to ten steps.
double round_step(double range) {
  const double ten = std::pow(10.0, std::floor(std::log10(range / 5)));
  for (const double times : {1.0, 2.0, 5.0})
    if (range / (times * ten) <= 10) return times * ten;
  return 10 * ten;
}

struct Sheet {
  double most_v, most_a;
  double x(double v) const { return kLeft + (kWide - kLeft - kRight) * v / most_v; }
  double y(double a) const { return kHigh - kBottom - (kHigh - kTop - kBottom) * a / most_a; }
};

std::string axes(const Sheet& s) {
  std::string text = "<g class=\"grid\">\n", names = "<g class=\"name\">\n";
  const double step_v = round_step(s.most_v), step_ma = round_step(1e3 * s.most_a);
  for (int k = 0; k * step_v <= s.most_v * 1.0001; ++k) {
    const double x = s.x(k * step_v);
    text += formatted("<path d=\"M%.1f %.1fV%.1f\"/>\n", x, kTop, kHigh - kBottom);
    names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%.4g</text>\n", x,
                       kHigh - kBottom + 18, k * step_v);
  }
  for (int k = 0; k * step_ma <= 1e3 * s.most_a * 1.0001; ++k) {
    const double y = s.y(1e-3 * k * step_ma);
    text += formatted("<path d=\"M%.1f %.1fH%.1f\"/>\n", kLeft, y, kWide - kRight);
    names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%.4g</text>\n", kLeft - 8, y + 4,
                       k * step_ma);
  }
  names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">plate voltage, V</text>\n",
                     0.5 * (kLeft + kWide - kRight), kHigh - 16);
  names += formatted(
      "<text transform=\"translate(20 %.1f) rotate(-90)\" text-anchor=\"middle\">plate current, mA</text>\n",
      0.5 * (kTop + kHigh - kBottom));
  return text + "</g>\n" + names + "</g>\n";
}

/// A line as long as it stays on the sheet, and what it is at its end.
template <class Current>
std::string line_to_the_edge(const Sheet& s, const char* kind, double from_v, Current current,
                             const std::string& label) {
  std::string path;
  double end_v = from_v, end_a = 0;
  bool over_the_top = false;
  for (int k = 0; k <= kSteps; ++k) {
    const double v = from_v + (s.most_v - from_v) * k / kSteps, a = current(v);
    if (a > s.most_a) {
      if (path.empty()) continue;
      const double share = (s.most_a - end_a) / (a - end_a);
      end_v += share * (v - end_v);
      end_a = s.most_a;
      over_the_top = true;
    } else {
      end_v = v, end_a = a;
    }
    path += formatted("%c%.1f %.1f", path.empty() ? 'M' : 'L', s.x(end_v), s.y(end_a));
    if (over_the_top) break;
  }
  if (path.empty()) return {};
  const std::string line = formatted("<path class=\"%s\" d=\"", kind) + path + "\"/>\n";
  if (label.empty()) return line;
  return line +
         formatted("<text class=\"label\" x=\"%.1f\" y=\"%.1f\"%s>", s.x(end_v) + (over_the_top ? 0 : 5),
                   s.y(end_a) + (over_the_top ? -6 : 4), over_the_top ? " text-anchor=\"middle\"" : "") +
         label + "</text>\n";
}

}  // namespace

std::string fit_plot(const Tube& tube, const TriodeLaw& law, std::span<const CurvePoint> readings) {
  std::set<double> grids;
  double most_v = 0, most_a = 0;
  for (const CurvePoint& p : readings) {
    grids.insert(p.grid_v);
    most_v = std::max(most_v, p.plate_v);
    most_a = std::max(most_a, p.plate_current_a);
  }
  if (readings.empty())
    for (const PublishedPoint& p : tube.published_points) {
      most_v = std::max(most_v, 1.4 * p.plate_v);
      most_a = std::max(most_a, 2 * p.plate_current_a.value_or(0));
      if (const auto grid_v = grid_voltage_of(p))
        for (int k = 0; k <= 4; ++k) grids.insert(0.5 * k * *grid_v);
    }
  if (!(most_v > 0) || !(most_a > 0)) most_v = 300, most_a = 0.01;
  // Of a sheet with very many curves every second or third is drawn; all readings are.
  std::vector<double> drawn(grids.rbegin(), grids.rend());
  const std::size_t every = (drawn.size() + kMostCurves - 1) / kMostCurves;
  const Sheet s{1.02 * most_v, 1.04 * most_a};
  std::string text = formatted(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %g %g\" role=\"img\" "
      "font-family=\"sans-serif\" "
      "font-size=\"13\">\n",
      kWide, kHigh);
  const std::string form = std::visit([](const auto& l) { return std::string(l.kForm); }, law);
  const std::string title =
      tube.name + ": plate curves of " + form +
      (readings.empty() ? std::string() : " over " + std::to_string(readings.size()) + " readings");
  text += "<title>" + escaped(title) + "</title>\n";
  text +=
      "<style>svg{background:#fff;color:#111}.grid{stroke:currentColor;stroke-opacity:.18}"
      ".law{fill:none;stroke:currentColor;stroke-width:1.6}.read{fill:none;stroke:#b03a00;stroke-width:1.3}"
      ".watt{fill:none;stroke:currentColor;stroke-dasharray:6 "
      "5}text{fill:currentColor}.halo{paint-order:stroke;stroke:#fff;stroke-width:5px}"
      "@media(prefers-color-scheme:dark){svg{background:#16181c;color:#eee}.read{stroke:#ffa163}.halo{stroke:"
      "#16181c}}</style>\n";
  text +=
      formatted("<text x=\"%g\" y=\"24\" font-size=\"16\">", kLeft) + escaped(title) + "</text>\n" + axes(s);
  std::string rating;
  if (tube.ratings.plate_w_max) {  // named where it comes in: at its end the curves have their names
    const double most_w = tube.ratings.plate_w_max->value, from_v = most_w / s.most_a;
    if (from_v < s.most_v) {
      text += line_to_the_edge(
          s, "watt", from_v, [&](double v) { return most_w / v; }, "");
    }
  }
  for (std::size_t k = 0; k < drawn.size(); k += every)
    text += line_to_the_edge(
        s, "law", 0, [&](double v) { return currents_at(law, drawn[k], v).plate_a; },
        formatted("%g V", drawn[k]));
  for (const CurvePoint& p : readings)
    text += formatted("<circle class=\"read\" cx=\"%.1f\" cy=\"%.1f\" r=\"3\"/>\n", s.x(p.plate_v),
                      s.y(p.plate_current_a));
  if (readings.empty())
    for (const PublishedPoint& p : tube.published_points)
      if (grid_voltage_of(p) && p.plate_current_a)
        text += formatted("<circle class=\"read\" cx=\"%.1f\" cy=\"%.1f\" r=\"4\"/>\n", s.x(p.plate_v),
                          s.y(*p.plate_current_a));
  return text + rating + "</svg>\n";
}

}  // namespace antiphase
