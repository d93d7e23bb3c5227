#include "objectives/diagnosis/what_to_change.h"

#include <algorithm>
#include <cmath>

#include "objectives/figures/catalogue.h"
#include "objectives/judgement.h"
#include "optimize/engine/sampling/statistics.h"
#include "optimize/engine/snapping/preferred_values.h"
#include "stagemodels/circuits/designators.h"

namespace antiphase {
namespace {

constexpr int kBoxes = 24;        // of the posterior: enough to tell steps of 5 % from one another
constexpr int kSteps = 5;         // of E24 up and down: a factor of 1.6
constexpr double kWorthIt = 0.6;  // the rest that a change may leave of what is off
constexpr double kPasses = 1.2;   // mean distance: scatter alone makes some of one that is as drawn

struct Aim {
  std::string_view figure;
  double (*off)(double value, double drawn);
};
constexpr std::array kAims{
    Aim{"balance_pct",
        [](double v, double drawn) { return std::abs(v) / std::max(kBalancePasses_pct, std::abs(drawn)); }},
    Aim{"supply_current_a", [](double v, double drawn) { return std::abs(v / drawn - 1) / kCurrentPasses; }},
    Aim{"distortion_pct",
        [](double v, double drawn) { return std::max(0.0, v / drawn - 1) / kDistortionPasses; }},
};

/// Figures over some boxes; empty where too many miss their target.
struct Seen {
  bool known = false;
  std::vector<std::vector<double>> value;  ///< [aim]
  std::vector<double> off;                 ///< mean, [aim]
  double worst() const { return *std::max_element(off.begin(), off.end()); }
  double sum() const {
    double all = 0;
    for (const double o : off) all += o * o;
    return all;
  }
};

class Boxes {
 public:
  Boxes(const Design& d, const Diagnosing& work, const Diagnosis& diagnosis) {
    for (const PosteriorDraw& p : thinned(diagnosis.draws, kBoxes, 0))
      boxes_.push_back(work.model(p.law).build(diagnosis.faults[0], p.z));
    judge_as_drawn(demands_, d, Depth::at_target, judged_);
    for (const Aim& aim : kAims) {
      const Figure* figure = find_figure(aim.figure);
      const auto value = figure->measure(d, judged_.evaluation);
      if (!value || *value == 0) continue;
      aims_.push_back(&aim);
      figures_.push_back({figure, *value});
    }
  }

  bool known() const { return !boxes_.empty() && !aims_.empty(); }
  const std::vector<FigureThen>& figures() const { return figures_; }

  /// With a part turned by a ratio, or as they are.
  Seen with(const DesignField* part, double ratio) {
    Seen seen;
    seen.value.resize(aims_.size());
    seen.off.assign(aims_.size(), 0);
    int judged = 0;
    for (Design d : boxes_) {
      if (part) part->at(d) *= ratio;
      judge_as_drawn(demands_, d, Depth::at_target, judged_);
      std::array<double, kAims.size()> figure{};
      bool all = true;
      for (std::size_t k = 0; k < aims_.size() && all; ++k) {
        const auto v = figures_[k].figure->measure(d, judged_.evaluation);
        all = v.has_value();
        if (all) figure[k] = *v;
      }
      if (!all) continue;
      ++judged;
      for (std::size_t k = 0; k < aims_.size(); ++k) {
        seen.value[k].push_back(figure[k]);
        seen.off[k] += aims_[k]->off(figure[k], figures_[k].drawn);
      }
    }
    seen.known = 10 * judged >= 9 * static_cast<int>(boxes_.size());
    for (double& o : seen.off) o /= std::max(1, judged);
    return seen;
  }

 private:
  Demands demands_;
  Judgement judged_;
  std::vector<Design> boxes_;
  std::vector<const Aim*> aims_;
  std::vector<FigureThen> figures_;
};

void tell(Seen seen, std::vector<FigureThen>& figures, bool then) {
  for (std::size_t k = 0; k < figures.size(); ++k) {
    FigureThen& f = figures[k];
    auto& v = seen.value[k];
    std::sort(v.begin(), v.end());
    (then ? f.then_low : f.low) = engine::quantile(v, 0.05);
    (then ? f.then_middle : f.middle) = engine::quantile(v, 0.5);
    (then ? f.then_high : f.high) = engine::quantile(v, 0.95);
    (then ? f.then_off : f.off) = seen.off[k];
  }
}

/// Resistors of the stage that set currents and balance, each once: not the leaks.
std::vector<const DesignField*> parts_that_set(const Design& d) {
  std::vector<const DesignField*> parts;
  for (const Element& e : circuit_of(d)) {
    const bool sets = e.role == Role::plate_load || e.role == Role::cathode_load || e.role == Role::bias ||
                      e.role == Role::tail || e.role == Role::cathode || e.role == Role::dropping;
    if (!sets || e.kind != ElementKind::resistor || !e.member || !bought(e, d) || !e.stands(d)) continue;
    if (e.member->role != FieldRole::resistor) continue;
    if (std::find(parts.begin(), parts.end(), e.member) == parts.end()) parts.push_back(e.member);
  }
  return parts;
}

}  // namespace

WhatToChange what_to_change(const Design& d, const Diagnosing& work, const Diagnosis& diagnosis) {
  WhatToChange out;
  if (!diagnosis.known) return out;
  double unseen = 0;
  for (const FaultTold& t : diagnosis.told) unseen += t.unseen || t.fault == 0 ? t.probability : 0;
  constexpr double kSound = 0.5;
  if (unseen < kSound) {
    out.advice = WhatToChange::Advice::fault_first;
    return out;
  }
  Boxes boxes(d, work, diagnosis);
  if (!boxes.known()) return out;
  const Seen as_is = boxes.with(nullptr, 1);
  if (!as_is.known) return out;
  out.figures = boxes.figures();
  tell(as_is, out.figures, false);
  tell(as_is, out.figures, true);
  out.advice = WhatToChange::Advice::leave_it;
  if (as_is.worst() <= kPasses) return out;

  out.advice = WhatToChange::Advice::no_help;
  double least = kWorthIt * kWorthIt * as_is.sum();
  Seen best;
  for (const DesignField* part : parts_that_set(d)) {
    const double value = part->value(d);
    constexpr double kStep = 1.1;  // between neighbours of E24, about
    const double far = std::pow(kStep, kSteps);
    for (const double to : engine::members(engine::Series::e24, value / far, value * far)) {
      if (std::abs(to / value - 1) < 0.01 || to < part->low || to > part->high) continue;
      Seen seen = boxes.with(part, to / value);
      if (!seen.known || seen.sum() >= least) continue;
      least = seen.sum();
      best = std::move(seen);
      out.advice = WhatToChange::Advice::change;
      out.part = part;
      out.value = to;
    }
  }
  if (out.part) tell(best, out.figures, true);
  return out;
}

}  // namespace antiphase
