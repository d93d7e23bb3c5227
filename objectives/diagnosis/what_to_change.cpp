#include "objectives/diagnosis/what_to_change.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

#include "objectives/figures/catalogue.h"
#include "objectives/judgement.h"
#include "optimize/engine/sampling/statistics.h"
#include "optimize/engine/snapping/preferred_values.h"
#include "stagemodels/circuits/designators.h"

namespace antiphase {
namespace {

constexpr std::size_t kBoxes = 24;  // of the posterior: enough to tell steps of 5 % from one another
constexpr int kSteps = 5;           // of E24 up and down: a factor of 1.6
constexpr double kWorthIt = 0.6;    // the rest that a change may leave of what is off
constexpr double kPasses = 1.2;     // mean distance: scatter alone makes some of one that is as drawn

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

/// A part turned by a ratio.
struct Turn {
  const DesignField* part = nullptr;
  double ratio = 1;
};

class Boxes {
 public:
  Boxes(const Design& d, const Diagnosing& work, const Diagnosis& diagnosis) {
    for (const PosteriorDraw& p : thinned(diagnosis.draws, static_cast<int>(kBoxes), 0))
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

  /// With parts turned by ratios, or as they are; the first `most` boxes.
  Seen with(std::span<const Turn> turns, std::size_t most = kBoxes) {
    Seen seen;
    seen.value.resize(aims_.size());
    seen.off.assign(aims_.size(), 0);
    int judged = 0;
    const std::size_t boxes = std::min(most, boxes_.size());
    for (std::size_t b = 0; b < boxes; ++b) {
      // Evenly spaced among all: they stand in the order of faults and laws.
      Design d = boxes_[b * boxes_.size() / boxes];
      for (const Turn& turn : turns) turn.part->at(d) *= turn.ratio;
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
    seen.known = 10 * judged >= 9 * static_cast<int>(boxes);
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

/// The standard values of a part near the one that was drawn, each as a ratio to it; `every`: only each so
/// many.
std::vector<Turn> turns_of(const DesignField& part, const Design& d, std::size_t every) {
  constexpr double kStep = 1.1;  // between neighbours of E24, about
  const double value = part.value(d), far = std::pow(kStep, kSteps);
  std::vector<Turn> turns;
  std::size_t counted = 0;
  for (const double to : engine::members(engine::Series::e24, value / far, value * far)) {
    if (std::abs(to / value - 1) < 0.01 || to < part.low || to > part.high) continue;
    if (counted++ % every == 0) turns.push_back({&part, to / value});
  }
  return turns;
}

struct Best {
  std::vector<Turn> turns;
  Seen seen;
  double sum = std::numeric_limits<double>::infinity();
  void take(std::span<const Turn> others, Seen then) {
    if (!then.known || then.sum() >= sum) return;
    sum = then.sum();
    turns.assign(others.begin(), others.end());
    seen = std::move(then);
  }
};

Best best_single(const Design& d, Boxes& boxes) {
  Best best;
  for (const DesignField* part : parts_that_set(d))
    for (const Turn& turn : turns_of(*part, d, 1)) {
      const std::array one{turn};
      best.take(one, boxes.with(one));
    }
  return best;
}

/// Every second value of each pair on a few boxes; around the best of them every value on all.
Best best_pair(const Design& d, Boxes& boxes) {
  constexpr std::size_t kFewBoxes = 6, kCoarse = 2, kFinalists = 3;
  std::vector<Best> rough;
  const auto parts = parts_that_set(d);
  for (std::size_t i = 0; i < parts.size(); ++i)
    for (std::size_t k = i + 1; k < parts.size(); ++k) {
      Best& best = rough.emplace_back();
      for (const Turn& a : turns_of(*parts[i], d, kCoarse))
        for (const Turn& b : turns_of(*parts[k], d, kCoarse)) {
          const std::array two{a, b};
          best.take(two, boxes.with(two, kFewBoxes));
        }
    }
  std::sort(rough.begin(), rough.end(), [](const Best& a, const Best& b) { return a.sum < b.sum; });
  Best best;
  for (std::size_t n = 0; n < std::min(kFinalists, rough.size()); ++n) {
    if (rough[n].turns.size() != 2) continue;
    constexpr double kNextDoor = 1.16;  // one value of E24 to either side
    const auto near = [&](const Turn& middle) {
      std::vector<Turn> all = turns_of(*middle.part, d, 1);
      std::erase_if(all, [&](const Turn& t) {
        return std::max(t.ratio / middle.ratio, middle.ratio / t.ratio) > kNextDoor;
      });
      return all;
    };
    for (const Turn& a : near(rough[n].turns[0]))
      for (const Turn& b : near(rough[n].turns[1])) {
        const std::array two{a, b};
        best.take(two, boxes.with(two));
      }
  }
  return best;
}

/// The standard value that a turn ends at.
double standard_value(const Turn& turn, const Design& d) {
  return engine::nearest(engine::Series::e24, turn.part->value(d) * turn.ratio);
}

}  // namespace

WhatToChange what_to_change(const Design& d, const Diagnosing& work, const Diagnosis& diagnosis) {
  WhatToChange out;
  if (!diagnosis.known) return out;
  double unseen = 0;
  for (const FaultTold& t : diagnosis.told) unseen += t.unseen || t.fault == 0 ? t.probability : 0;
  constexpr double kSound = 0.5;
  if (unseen < kSound || !diagnosis.explained) {
    out.advice = WhatToChange::Advice::fault_first;
    return out;
  }
  Boxes boxes(d, work, diagnosis);
  if (!boxes.known()) return out;
  const Seen as_is = boxes.with({});
  if (!as_is.known) return out;
  out.figures = boxes.figures();
  tell(as_is, out.figures, false);
  tell(as_is, out.figures, true);
  out.advice = WhatToChange::Advice::leave_it;
  if (as_is.worst() <= kPasses) return out;

  out.advice = WhatToChange::Advice::no_help;
  const double worth_it = kWorthIt * kWorthIt;
  const Best one = best_single(d, boxes);
  const bool one_helps = one.sum < worth_it * as_is.sum();
  if (one_helps) {
    out.advice = WhatToChange::Advice::change;
    out.part = one.turns[0].part;
    out.value = standard_value(one.turns[0], d);
    tell(one.seen, out.figures, true);
    if (one.seen.worst() <= kPasses) return out;
  }
  const Best two = best_pair(d, boxes);
  if (two.turns.size() != 2 || two.sum >= worth_it * std::min(one.sum, as_is.sum())) return out;
  out.advice = WhatToChange::Advice::change_two;
  out.part = two.turns[0].part;
  out.value = standard_value(two.turns[0], d);
  out.second = two.turns[1].part;
  out.second_value = standard_value(two.turns[1], d);
  tell(two.seen, out.figures, true);
  return out;
}

}  // namespace antiphase
