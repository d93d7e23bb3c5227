#include "results/describe/trade_off.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "results/describe/figure_text.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

std::string capitalised(const std::string& text) {
  const auto first = static_cast<unsigned char>(text.empty() ? ' ' : text.front());
  return static_cast<char>(std::toupper(first)) + text.substr(std::min<std::size_t>(1, text.size()));
}

std::string lower(const std::string& name) {
  return static_cast<char>(std::tolower(static_cast<unsigned char>(name.front()))) + name.substr(1);
}

/// What the front spans in a figure, as a cost.
double span_of(const std::vector<Record>& front, const Figure& figure) {
  const std::size_t i = index_of(figure);
  double low = INFINITY, high = -INFINITY;
  for (const Record& r : front)
    if (r.within_bounds && r.figures[i]) {
      low = std::min(low, as_cost(figure, *r.figures[i]));
      high = std::max(high, as_cost(figure, *r.figures[i]));
    }
  return high > low ? high - low : 0;
}

const Record* best_of(const std::vector<Record>& front, const Figure& figure) {
  const std::size_t i = index_of(figure);
  const Record* best = nullptr;
  for (const Record& r : front) {
    if (!r.within_bounds || !r.figures[i]) continue;
    if (!best || as_cost(figure, *r.figures[i]) < as_cost(figure, *best->figures[i])) best = &r;
  }
  return best;
}

void add(std::vector<TradeOffPoint>& points, const Demands& demands, const std::string& name,
         const Record* record) {
  const auto same =
      std::find_if(points.begin(), points.end(), [&](const TradeOffPoint& p) { return p.record == record; });
  if (same != points.end())
    same->name += ", " + name;
  else
    points.push_back({capitalised(name), objectives_in_words(demands, *record), record});
}

/// What the amplifier round the stage is laid out by, whatever a brief optimizes: how much the stage
/// amplifies, how far its source has to go for full drive, and what overall feedback leaves of that.
constexpr std::array<std::string_view, 3> kAskedFirst{"gain", "input_peak_v", "feedback_sensitivity_v_rms"};

/// Figures in the order in which they were wanted, each once, without those that no candidate has.
struct FiguresKnown {
  explicit FiguresKnown(const Report& of, std::vector<std::size_t> first = {})
      : report(of), shown(std::move(first)) {}

  void show(const Figure& figure) {
    const std::size_t i = index_of(figure);
    const bool known = std::any_of(report.candidates.begin(), report.candidates.end(),
                                   [i](const Record& r) { return r.figures[i].has_value(); });
    if (known && std::find(shown.begin(), shown.end(), i) == shown.end()) shown.push_back(i);
  }
  void show_headline() {
    for (const Figure& figure : figures())
      if (figure.default_weight > 0) show(figure);
  }

  const Report& report;
  std::vector<std::size_t> shown;
};

}  // namespace

std::size_t index_of(const Figure& figure) {
  return static_cast<std::size_t>(&figure - figures().data());
}

std::string best_in_words(const Figure& figure) {
  switch (figure.direction) {
    case Direction::smaller:
      return "least " + std::string(figure.label);
    case Direction::larger:
      return "most " + std::string(figure.label);
    case Direction::nearer_zero:
      return std::string(figure.label) + " nearest zero";
  }
  return "";
}

std::string objectives_in_words(const Demands& demands, const Record& r) {
  std::string text;
  for (const Objective& o : demands.objectives) {
    const auto& v = r.figures[index_of(*o.figure)];
    const bool both_ways = o.figure->direction == Direction::nearer_zero;
    text += (text.empty() ? "" : ", ") + std::string(o.figure->label) + " ";
    text += !v          ? "none"
            : both_ways ? signed_engineering_text(*v, o.figure->unit)
                        : figure_text(*o.figure, *v);
  }
  return text;
}

std::string change_in_words(const Figure& figure, double cost_change) {
  const double size = std::abs(cost_change);
  const std::string amount = figure.unit == "%" ? engineering_text(size, "1", 2) + " points"
                                                : engineering_text(size, figure.unit, 2);
  const std::string label(figure.label);
  if (figure.direction == Direction::nearer_zero)
    return label + " " + amount + (cost_change < 0 ? " nearer zero" : " farther from zero");
  const bool more = (figure.direction == Direction::larger) == (cost_change < 0);
  return amount + (more ? " more " : " less ") + label;
}

std::vector<TradeOffPoint> trade_off(const Report& report) {
  std::vector<TradeOffPoint> points;
  for (const Objective& o : report.demands.objectives)
    if (const Record* best = best_of(report.pareto, *o.figure))
      add(points, report.demands, best_in_words(*o.figure), best);
  for (const Record& r : report.pareto)
    if (r.remark.find("knee") != std::string::npos) add(points, report.demands, "knee", &r);
  return points;
}

std::vector<TradeOffPoint> choices(const Report& report) {
  const std::vector<TradeOffPoint> named = trade_off(report);
  std::vector<TradeOffPoint> all;
  int number = 0;
  for (const Record& r : report.pareto) {  // sorted by the first objective
    const auto it =
        std::find_if(named.begin(), named.end(), [&](const TradeOffPoint& p) { return p.record == &r; });
    if (it != named.end())
      all.push_back(*it);
    else if (r.choice)
      all.push_back({"Choice " + std::to_string(++number), objectives_in_words(report.demands, r), &r});
  }
  return all;
}

std::vector<std::string> trade_off_steps(const Report& report) {
  const std::vector<TradeOffPoint> points = choices(report);
  std::vector<std::string> steps;
  for (std::size_t n = 0; n + 1 < points.size(); ++n) {
    std::vector<std::string> bought, paid;
    for (const Objective& o : report.demands.objectives) {
      const std::size_t i = index_of(*o.figure);
      const auto &from = points[n].record->figures[i], &to = points[n + 1].record->figures[i];
      if (!from || !to) continue;
      const double change = as_cost(*o.figure, *to) - as_cost(*o.figure, *from);
      if (std::abs(change) <= kStepShare * span_of(report.pareto, *o.figure)) continue;
      (change < 0 ? bought : paid).push_back(change_in_words(*o.figure, change));
    }
    std::string text = "From " + lower(points[n].name) + " to " + lower(points[n + 1].name) + ": ";
    if (bought.empty() && paid.empty())
      text += "other parts, nearly the same figures";
    else if (bought.empty())
      text += all_of(paid) + ", for less than a twentieth of the span elsewhere";
    else
      text += all_of(bought) + (paid.empty() ? "" : " for " + all_of(paid));
    steps.push_back(text + ".");
  }
  return steps;
}

std::string remark_in_words(const Record& r, const std::vector<TradeOffPoint>& points) {
  if (!r.remark.empty()) return r.remark;
  for (const TradeOffPoint& p : points)
    if (same_design(p.record->design, r.design)) return lower(p.name);
  return "";
}

std::vector<std::size_t> figures_asked_for(const Report& report) {
  FiguresKnown figures_known(report);
  for (const Objective& o : report.demands.objectives) figures_known.show(*o.figure);
  for (const std::string_view name : kAskedFirst) figures_known.show(*find_figure(name));
  return figures_known.shown;
}

std::vector<std::size_t> figures_to_show(const Report& report) {
  FiguresKnown figures_known(report, figures_asked_for(report));
  figures_known.show_headline();
  return figures_known.shown;
}

std::vector<std::size_t> figures_for_axes(const Report& report) {
  FiguresKnown figures_known(report);
  for (const Objective& o : report.demands.objectives) figures_known.show(*o.figure);
  figures_known.show_headline();
  return figures_known.shown;
}

bool same_design(const Design& a, const Design& b) {
  if (a.circuit != b.circuit || a.tube != b.tube || a.bias.form != b.bias.form || a.tail.form != b.tail.form)
    return false;
  if (a.first_stage.form != b.first_stage.form || a.first_stage.second_tube != b.first_stage.second_tube)
    return false;
  if (a.first_stage.tube != b.first_stage.tube || a.driver.form != b.driver.form ||
      a.driver.tube != b.driver.tube || a.feedback.given != b.feedback.given)
    return false;
  if (a.output_valve != b.output_valve || a.output_valve_bias_v != b.output_valve_bias_v ||
      a.output_valve_bias != b.output_valve_bias)
    return false;
  if (has_role(a, Role::grid_clamp) && a.bias.grid_clamp != b.bias.grid_clamp) return false;
  for (int i = 0; i < sections(a.circuit); ++i)
    if (!(a.spread[static_cast<std::size_t>(i)] == b.spread[static_cast<std::size_t>(i)])) return false;
  const auto fields = design_fields();
  return std::all_of(fields.begin(), fields.end(),
                     [&](const DesignField& f) { return !f.applies(a) || f.value(a) == f.value(b); });
}

}  // namespace antiphase
