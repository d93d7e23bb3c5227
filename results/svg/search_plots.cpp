#include "results/svg/search_plots.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "results/describe/response.h"
#include "results/describe/trade_off.h"
#include "results/describe/values.h"
#include "results/plots/curve_data.h"
#include "results/plots/shown_designs.h"
#include "results/svg/plot.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

using Look = PlotSeries::Look;

constexpr double kCloudShare = 0.9;  // an axis reaches far enough for so much of the cloud
constexpr double kLogFrom = 20;      // a spread that asks for a logarithmic axis

std::optional<double> shown(std::size_t figure, const std::vector<std::optional<double>>& figures_of) {
  const auto& v = figures_of[figure];
  return v && figures()[figure].direction == Direction::nearer_zero ? std::optional(std::abs(*v)) : v;
}

std::string axis_name(std::size_t figure) {
  const Figure& f = figures()[figure];
  const std::string label(f.label);
  switch (f.direction) {
    case Direction::larger:
      return label + " \u2013 more is better";
    case Direction::smaller:
      return label + " \u2013 less is better";
    case Direction::nearer_zero:
      return "size of " + label + " \u2013 nearer zero is better";
  }
  return label;
}

PlotAxis figure_axis(std::size_t figure, const Report& report) {
  std::vector<double> matter, cloud;
  const auto take = [&](const auto& values, std::vector<double>& to) {
    if (const auto v = shown(figure, values)) to.push_back(*v);
  };
  for (const Record& r : report.candidates) take(r.figures, matter);
  for (const Record& r : report.pareto) take(r.figures, matter);
  for (const auto& c : report.cloud) take(c, cloud);
  std::sort(cloud.begin(), cloud.end());
  if (!cloud.empty()) {
    const auto at = [&](double q) {
      return cloud[static_cast<std::size_t>(q * static_cast<double>(cloud.size() - 1))];
    };
    matter.push_back(at(1 - kCloudShare));
    matter.push_back(at(kCloudShare));
  }
  if (matter.empty()) matter = {0, 1};
  const auto [low, high] = std::minmax_element(matter.begin(), matter.end());
  return axis_for(axis_name(figure), std::string(figures()[figure].unit), *low, *high,
                  *low > 0 && *high / *low > kLogFrom);
}

void add_marks(Plot& plot, const Demands& demands, std::size_t figure, bool upright) {
  for (const FigureLimit& l : demands.limits) {
    if (index_of(*l.figure) != figure) continue;
    const auto mark = [&](double v, const char* word) {
      plot.marks.push_back({upright, v, word + engineering_text(v, l.figure->unit)});
    };
    if (l.at_most) mark(*l.at_most, "at most ");
    if (l.at_least) mark(*l.at_least, "at least ");
    for (double v : l.one_of) mark(v, "near ");
  }
}

std::string trade_off_svg(const Report& report) {
  std::vector<std::size_t> axes = figures_for_axes(report);
  for (std::size_t i = 0; axes.size() < 2; ++i)
    if (axes.empty() || axes.front() != i) axes.push_back(i);
  const std::size_t x = axes[0], y = axes[1];
  Plot plot;
  plot.title = "Trade-off: " + (report.title.empty() ? std::string("untitled brief") : report.title);
  plot.x = figure_axis(x, report);
  plot.y = figure_axis(y, report);
  PlotSeries seen{"seen on the way", Look::dots, {}}, front{"front", Look::diamonds, {}},
      listed{"listed", Look::rings, {}};
  const auto put = [&](const auto& values, PlotSeries& to) {
    const auto a = shown(x, values), b = shown(y, values);
    if (a && b) to.points.push_back({*a, *b});
    return a && b;
  };
  for (const auto& c : report.cloud) put(c, seen);
  for (const Record& r : report.pareto) put(r.figures, front);
  for (const ShownDesign& e : shown_designs(report))
    if (put(e.record->figures, listed)) listed.words.push_back(e.mark);
  plot.description = std::to_string(front.points.size()) +
                     " designs that no other one beats in every objective at once, over " +
                     std::to_string(seen.points.size()) + " others; rings are the listed designs by rank.";
  for (PlotSeries* s : {&seen, &front, &listed})
    if (!s->points.empty()) plot.series.push_back(std::move(*s));
  add_marks(plot, report.demands, x, true);
  add_marks(plot, report.demands, y, false);
  return plot_svg(plot);
}

PlotSeries line(std::string name, Look look, const std::vector<PicturePoint>& points) {
  PlotSeries s{std::move(name), look, {}};
  for (const PicturePoint& p : points) s.points.push_back({p.plate_v, p.current_a});
  return s;
}

std::string section_svg(const Record& r, int section) {
  const SectionPicture p = section_picture(r.design, r.evaluation, section);
  const bool pair = sections(r.design.circuit) == 2;
  Plot plot;
  const std::string& tube = r.design.tube[static_cast<std::size_t>(section)]->name;
  plot.title =
      tube + (pair ? ", section " + std::to_string(section + 1) : "") + ": plate curves, lines and path";
  plot.x = {"plate to cathode", "V", 0, p.plate_v_end};
  plot.y = {"plate current", "A", 0, p.current_a_end};
  for (std::size_t k = 0; k < p.curve_a.size(); ++k) {
    PlotSeries curve{
        k == 0 ? "plate curves by grid voltage" : "", Look::thin, {}, {engineering_text(p.grid_v[k], "V")}};
    for (std::size_t n = 0; n < p.curve_a[k].size(); ++n)
      curve.points.push_back({p.plate_v_end * static_cast<double>(n) / kCurveSteps, p.curve_a[k][n]});
    plot.series.push_back(std::move(curve));
  }
  if (p.plate_w_max) {
    PlotSeries rated{"rated dissipation", Look::dash_dotted, {}};
    for (int n = 1; n <= kCurveSteps; ++n) {
      const double v = p.plate_v_end * n / kCurveSteps;
      rated.points.push_back({v, *p.plate_w_max / v});
    }
    plot.series.push_back(std::move(rated));
  }
  plot.series.push_back(line("DC line", Look::dotted, {p.dc_line[0], p.dc_line[1]}));
  plot.series.push_back(line("AC line", Look::dashed, {p.ac_line[0], p.ac_line[1]}));
  if (!p.path.empty()) plot.series.push_back(line("path at the target", Look::solid, p.path));
  plot.series.push_back({"rest", Look::rings, {{p.rest.plate_v, p.rest.current_a}}, {}});
  plot.description = "At rest " + engineering_text(p.rest.plate_v, "V") + " from plate to cathode and " +
                     engineering_text(p.rest.current_a, "A") + "; solid: the path at the target.";
  return plot_svg(plot);
}

const char* output_name(int i, int count) {
  return count == 1 ? "output" : i == 0 ? "output 1" : "output 2";
}

std::string levels_svg(const Record& r) {
  const LevelCurve& curve = r.evaluation.level_curve;
  const int count = outputs(r.design.circuit);
  Plot plot;
  plot.title = "Distortion against level";
  plot.description = design_in_words(r) + ". 0 dB is the target.";
  double least = std::numeric_limits<double>::infinity(), most = 0;
  const auto add = [&](const char* name, Look look, auto value) {
    PlotSeries s{name, look, {}};
    for (int k = 0; k < curve.count; ++k) {
      const LevelPoint& p = curve.point[static_cast<std::size_t>(k)];
      const double v = value(p);
      if (!(v > 0)) continue;
      s.points.push_back({p.level_db, v});
      least = std::min(least, v);
      most = std::max(most, v);
    }
    plot.series.push_back(std::move(s));
  };
  for (int i = 0; i < count; ++i)
    add(output_name(i, count), i == 0 ? Look::solid : Look::dashed,
        [i](const LevelPoint& p) { return p.thd_pct[static_cast<std::size_t>(i)]; });
  if (count == 2)
    add("output 1 \u2212 output 2", Look::dotted, [](const LevelPoint& p) { return p.thd_differential_pct; });
  if (!(most > 0)) return "";
  plot.x = axis_for("level over the target, dB", "dB", curve.point[0].level_db,
                    curve.point[static_cast<std::size_t>(curve.count - 1)].level_db, false);
  plot.y = axis_for("distortion", "%", least, most, true);
  plot.marks.push_back({true, 0, "target"});
  return plot_svg(plot);
}

std::string gain_svg(const Record& r) {
  const FrequencyFigures& f = r.evaluation.frequency;
  const int count = outputs(r.design.circuit);
  Plot plot;
  plot.title = "Gain against frequency";
  plot.description = design_in_words(r) + ". Linearised at rest, with the capacitors that are given.";
  constexpr double kShown_db = 48;  // below the highest
  double lowest = std::numeric_limits<double>::infinity(), highest = -lowest;
  for (int i = 0; i < count; ++i) {
    PlotSeries s{output_name(i, count), i == 0 ? Look::solid : Look::dashed, {}};
    for (const FrequencyPoint& p : f.curve)
      if (const double size = std::abs(p.gain[static_cast<std::size_t>(i)]); size > 0)
        s.points.push_back({p.frequency_hz, 20 * std::log10(size)});
    for (const PlotPoint& p : s.points) {
      highest = std::max(highest, p.y);
      lowest = std::min(lowest, p.y);
    }
    plot.series.push_back(std::move(s));
  }
  if (!(highest >= lowest)) return "";
  plot.x = axis_for("frequency", "Hz", 1, 1e6, true);
  plot.y = axis_for("gain, dB", "dB", std::max(lowest, highest - kShown_db), highest + 1, false);
  return plot_svg(plot);
}

}  // namespace

std::vector<FileToSave> search_plots(const Report& report) {
  std::vector<FileToSave> files;
  if (report.candidates.empty()) return files;
  const auto add = [&](std::string name, std::string svg) {
    if (!svg.empty()) files.push_back({std::move(name), std::move(svg)});
  };
  add("trade_off.svg", trade_off_svg(report));
  const Record& best = report.candidates.front();
  const int count = sections(best.design.circuit);
  if (best.evaluation.operating_point.solved == Solved::yes)
    for (int i = 0; i < count; ++i)
      add(count == 1 ? "plate_curves.svg" : "plate_curves_" + std::to_string(i + 1) + ".svg",
          section_svg(best, i));
  if (best.evaluation.level_curve.solved == Solved::yes && best.evaluation.level_curve.count >= 2)
    add("distortion_by_level.svg", levels_svg(best));
  if (has_response(best)) add("gain_by_frequency.svg", gain_svg(best));
  return files;
}

}  // namespace antiphase
