#include "results/svg/plot.h"

#include <algorithm>
#include <cmath>

#include "results/plots/nice_steps.h"
#include "results/svg/picture.h"
#include "results/text/formatted.h"
#include "results/text/html.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr double kWide = kPictureWide, kHigh = kPictureHigh, kLeft = 84, kRight = 40, kTop = 92, kBottom = 60;
constexpr double kLegendY = 48, kLegendLineHigh = 16;
constexpr double kLetter = 7;  // a letter of 13 px, on average and a little more
constexpr int kMostTicks = 8;

constexpr const char* kStyle =
    "<style>svg{background:#fff;color:#111}text{fill:currentColor;paint-order:stroke;stroke:#fff;stroke-"
    "width:3px}"
    ".grid{stroke:currentColor;stroke-opacity:.18}.fine{stroke:currentColor;stroke-opacity:.07}"
    ".solid,.dashed,.dotted,.dash-dotted{fill:none;stroke:#00548a;stroke-width:2.2}"
    ".dashed{stroke:#b03a00;stroke-dasharray:9 5}.dotted{stroke:#00664a;stroke-dasharray:2 4}"
    ".dash-dotted{stroke:#7a2f5e;stroke-dasharray:10 4 2 4}"
    ".thin{fill:none;stroke:currentColor;stroke-opacity:.55;stroke-width:1}"
    ".dots{fill:currentColor;fill-opacity:.3}.diamonds{fill:#00664a}"
    ".rings{fill:none;stroke:#00548a;stroke-width:2}"
    ".mark{stroke:#b03a00;stroke-width:1.4;stroke-dasharray:7 4}"
    "@media(prefers-color-scheme:dark){svg{background:#16181c;color:#eee}text{stroke:#16181c}"
    ".solid,.rings{stroke:#7cc4f2}.dashed,.mark{stroke:#ffa163}.dotted{stroke:#4fd3ab}.dash-dotted{stroke:#"
    "e0a3c4}.diamonds{fill:#4fd3ab}"
    "}"
    "</style>\n";

const char* name_of(PlotSeries::Look look) {
  switch (look) {
    case PlotSeries::Look::solid:
      return "solid";
    case PlotSeries::Look::dashed:
      return "dashed";
    case PlotSeries::Look::dotted:
      return "dotted";
    case PlotSeries::Look::dash_dotted:
      return "dash-dotted";
    case PlotSeries::Look::thin:
      return "thin";
    case PlotSeries::Look::dots:
      return "dots";
    case PlotSeries::Look::diamonds:
      return "diamonds";
    case PlotSeries::Look::rings:
      return "rings";
  }
  return "";
}

bool is_line(PlotSeries::Look look) {
  return look == PlotSeries::Look::solid || look == PlotSeries::Look::dashed ||
         look == PlotSeries::Look::dotted || look == PlotSeries::Look::dash_dotted ||
         look == PlotSeries::Look::thin;
}

double share(const PlotAxis& axis, double v) {
  if (axis.logarithmic) return v > 0 ? std::log10(v / axis.from) / std::log10(axis.to / axis.from) : -1e3;
  return (v - axis.from) / (axis.to - axis.from);
}

struct Sheet {
  const PlotAxis &across, &up;
  double x(double v) const { return kLeft + (kWide - kLeft - kRight) * share(across, v); }
  double y(double v) const { return kHigh - kBottom - (kHigh - kTop - kBottom) * share(up, v); }
  bool holds(PlotPoint p) const {
    constexpr double kRound = 1e-9;
    const double a = share(across, p.x), b = share(up, p.y);
    return a >= -kRound && a <= 1 + kRound && b >= -kRound && b <= 1 + kRound;
  }
};

/// Values with a line of their own and a number, or only a fine line.
struct Tick {
  double at;
  bool named;
};

std::vector<Tick> ticks(const PlotAxis& axis) {
  std::vector<Tick> all;
  if (axis.logarithmic) {
    for (double decade = axis.from; decade < axis.to * (1 + 1e-9); decade *= 10)
      for (int k = 1; k <= 9 && k * decade <= axis.to * (1 + 1e-9); ++k) all.push_back({k * decade, k == 1});
    return all;
  }
  const double step = nice_above((axis.to - axis.from) / kMostTicks);
  const double first = std::ceil(axis.from / step - 1e-9);
  for (int k = 0; (first + k) * step <= axis.to + 1e-9 * step; ++k) all.push_back({(first + k) * step, true});
  return all;
}

std::string axes(const Sheet& s) {
  std::string fine, lines, names;
  for (const Tick& t : ticks(s.across)) {
    (t.named ? lines : fine) +=
        formatted("<path d=\"M%.1f %.1fV%.1f\"/>\n", s.x(t.at), kTop, kHigh - kBottom);
    if (t.named)
      names +=
          formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">", s.x(t.at), kHigh - kBottom + 18) +
          html(engineering_text(t.at, s.across.unit)) + "</text>\n";
  }
  for (const Tick& t : ticks(s.up)) {
    (t.named ? lines : fine) +=
        formatted("<path d=\"M%.1f %.1fH%.1f\"/>\n", kLeft, s.y(t.at), kWide - kRight);
    if (t.named)
      names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">", kLeft - 8, s.y(t.at) + 4) +
               html(engineering_text(t.at, s.up.unit)) + "</text>\n";
  }
  names += formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">", 0.5 * (kLeft + kWide - kRight),
                     kHigh - 16) +
           html(s.across.name) + "</text>\n";
  names += formatted("<text x=\"%.1f\" y=\"%.1f\">", kLeft, kTop - 10) + html(s.up.name) + "</text>\n";
  return "<g class=\"fine\">\n" + fine + "</g>\n<g class=\"grid\">\n" + lines + "</g>\n" + names;
}

std::string point_mark(PlotSeries::Look look, double x, double y) {
  switch (look) {
    case PlotSeries::Look::diamonds:
      return formatted("<path d=\"M%.1f %.1fl4.5 4.5l-4.5 4.5l-4.5 -4.5z\"/>\n", x, y - 4.5);
    case PlotSeries::Look::rings:
      return formatted("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"6\"/>\n", x, y);
    default:
      return formatted("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"1.8\"/>\n", x, y);
  }
}

std::string words_at(double x, double y, const std::string& words) {
  return words.empty() ? words : formatted("<text x=\"%.1f\" y=\"%.1f\">", x, y) + html(words) + "</text>\n";
}

std::string drawn(const Sheet& s, const PlotSeries& series) {
  std::string marks, words;
  if (is_line(series.look)) {
    std::string path;
    for (const PlotPoint& p : series.points)
      path += formatted("%c%.1f %.1f", path.empty() ? 'M' : 'L', s.x(p.x), s.y(p.y));
    marks = path.empty() ? path : "<path d=\"" + path + "\" clip-path=\"url(#sheet)\"/>\n";
    if (!series.words.empty())
      for (auto p = series.points.rbegin(); p != series.points.rend(); ++p)
        if (s.holds(*p)) {  // the last point that can be seen
          words = words_at(std::min(s.x(p->x) + 3, kWide - kRight + 4), std::max(s.y(p->y) - 4, kTop + 10),
                           series.words.front());
          break;
        }
  } else {
    for (std::size_t k = 0; k < series.points.size(); ++k) {
      const PlotPoint& p = series.points[k];
      if (!s.holds(p)) continue;
      marks += point_mark(series.look, s.x(p.x), s.y(p.y));
      if (k < series.words.size()) words += words_at(s.x(p.x) + 9, s.y(p.y) + 4, series.words[k]);
    }
  }
  return formatted("<g class=\"%s\">\n", name_of(series.look)) + marks + "</g>\n" + words;
}

std::string legend(const Plot& plot) {
  double x = kLeft, y = kLegendY;
  std::string out;
  for (const PlotSeries& series : plot.series) {
    if (series.name.empty()) continue;
    const double wide = 36 + kLetter * static_cast<double>(series.name.size()) + 18;
    if (x > kLeft && x + wide > kWide - 10) {
      x = kLeft;
      y += kLegendLineHigh;
    }
    out += formatted("<g class=\"%s\">", name_of(series.look)) +
           (is_line(series.look) ? formatted("<path d=\"M%.1f %.1fh26\"/>", x, y - 4)
                                 : point_mark(series.look, x + 13, y - 4)) +
           "</g>" + words_at(x + 32, y, series.name);
    x += wide;
  }
  return out;
}

std::string marked(const Sheet& s, const PlotMark& m) {
  const double place = share(m.upright ? s.across : s.up, m.at);
  if (!(place >= 0 && place <= 1)) return "";
  if (m.upright)
    return formatted("<path class=\"mark\" d=\"M%.1f %.1fV%.1f\"/>\n", s.x(m.at), kTop, kHigh - kBottom) +
           formatted("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\">", s.x(m.at) + (place > 0.8 ? -5 : 5),
                     kTop + 14, place > 0.8 ? "end" : "start") +
           html(m.words) + "</text>\n";
  return formatted("<path class=\"mark\" d=\"M%.1f %.1fH%.1f\"/>\n", kLeft, s.y(m.at), kWide - kRight) +
         words_at(kLeft + 5, s.y(m.at) - 5, m.words);
}

}  // namespace

PlotAxis axis_for(std::string name, std::string unit, double low, double high, bool logarithmic) {
  PlotAxis axis{std::move(name), std::move(unit)};
  if (logarithmic && low > 0) {
    axis.logarithmic = true;
    axis.from = std::pow(10.0, std::floor(std::log10(low) + 1e-9));
    axis.to = std::pow(10.0, std::ceil(std::log10(high) - 1e-9));
    if (axis.to <= axis.from) axis.to = 10 * axis.from;
    return axis;
  }
  const double spread = high > low ? high - low : high != 0 ? std::abs(high) : 1;
  const double step = nice_above(spread / kMostTicks);
  axis.from = step * std::floor(low / step + 1e-9);
  axis.to = step * std::ceil(high / step - 1e-9);
  if (axis.to <= axis.from) axis.to = axis.from + step;
  return axis;
}

std::string plot_svg(const Plot& plot) {
  const Sheet s{plot.x, plot.y};
  std::string body;
  for (const PlotSeries& series : plot.series) body += drawn(s, series);
  std::string marks;
  for (const PlotMark& m : plot.marks) marks += marked(s, m);
  const std::string sheet =
      formatted("<clipPath id=\"sheet\"><rect x=\"%g\" y=\"%g\" width=\"%g\" height=\"%g\"/></clipPath>\n",
                kLeft, kTop, kWide - kLeft - kRight, kHigh - kTop - kBottom);
  return picture(plot.title, plot.description, kStyle, kLeft, sheet + axes(s) + body + marks + legend(plot));
}

}  // namespace antiphase
