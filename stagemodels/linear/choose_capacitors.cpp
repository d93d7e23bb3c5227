#include "stagemodels/linear/choose_capacitors.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stagemodels/linear/corners.h"

namespace antiphase {
namespace {

struct Open {
  double* farad = nullptr;  ///< member of the design
  int floor = 0;            ///< index of the least level that condition (b) allows
  int now = 0;
};

/// The open capacitors of one design and where they stand.
class Choice {
 public:
  Choice(Design& design, const OperatingPoint& rest, double lowest_hz, std::span<const double> levels)
      : design_(design),
        rest_(rest),
        lowest_hz_(lowest_hz),
        levels_(levels),
        mid_band_(mid_band_gain(design, rest)) {
    const bool pair = sections(design.circuit) == 2;
    if (pair)
      add(design.coupling_f, 1, {Capacitor::coupling_1, Capacitor::coupling_2});
    else
      add(design.coupling_f, 1, {Capacitor::coupling_1});
    if (pair && design.bias.form != BiasForm::negative_rail)
      add(design.grid_bypass_f, 1, {Capacitor::grid_bypass});
    if (has_first_stage(design)) {
      FirstStage& first = design.first_stage;
      if (!direct_first_stage(design)) add(first.coupling_f, 1, {Capacitor::between_stages});
      if (first.cathode_unbypassed_ohm < first.cathode_ohm)
        add(first.cathode_bypass_f, 1, {Capacitor::first_cathode_bypass});
    } else if (pair && design.bias.form == BiasForm::self_biased)
      add(design.input_coupling_f, 1, {Capacitor::input_coupling});
    if (!pair && design.cathode_unbypassed_ohm < design.cathode_ohm)
      add(design.cathode_bypass_f, 1, {Capacitor::cathode_bypass});
    if (design.main_supply_v > 0) add(design.reservoir_f, kReservoirShare, {Capacitor::reservoir});
  }

  std::span<Open> open() { return {open_.data(), count_}; }
  int top() const { return static_cast<int>(levels_.size()) - 1; }

  void set(Open& o, int level) {
    o.now = level;
    *o.farad = levels_[static_cast<std::size_t>(level)];
  }
  void set_all(int Open::*to) {
    for (Open& o : open()) set(o, o.*to);
  }
  void set_all(int level) {
    for (Open& o : open()) set(o, level);
  }

  /// Condition (a).
  bool holds() const { return holds_down_to(lowest_hz_, LinearNetwork(design_, rest_), mid_band_); }
  double loss() const { return greatest_loss(lowest_hz_, LinearNetwork(design_, rest_), mid_band_); }

 private:
  /// Of a member that stands for two capacitors the one that sees less decides.
  void add(double& farad, double share, std::initializer_list<Capacitor> capacitors) {
    if (farad > 0) return;  // given
    double ohm = 0;
    for (const Capacitor c : capacitors) {
      const double seen = LinearNetwork::resistance_seen(design_, rest_, c);
      if (seen > 0 && (ohm == 0 || seen < ohm)) ohm = seen;
    }
    Open& o = open_[count_++];
    o.farad = &farad;
    if (!(ohm > 0)) return;
    const double least_f = share / (2 * std::numbers::pi * lowest_hz_ * ohm);
    const auto at = std::lower_bound(levels_.begin(), levels_.end(), least_f);
    o.floor = std::min(static_cast<int>(at - levels_.begin()), top());
  }

  Design& design_;
  const OperatingPoint& rest_;
  double lowest_hz_;
  std::span<const double> levels_;
  Pair mid_band_;
  std::array<Open, 6> open_{};
  std::size_t count_ = 0;
};

/// Up from condition (b): each time the one step that leaves the worst output with the least loss.
void climb(Choice& choice) {
  while (!choice.holds()) {
    Open* best = nullptr;
    double least = INFINITY;
    for (Open& o : choice.open()) {
      if (o.now == choice.top()) continue;
      const int was = o.now;
      choice.set(o, was + 1);
      const double loss = choice.loss();
      choice.set(o, was);
      if (loss < least) {
        least = loss;
        best = &o;
      }
    }
    if (!best) return;
    choice.set(*best, best->now + 1);
  }
}

/// Down again, one after another, until none can go a step further.
void trim(Choice& choice) {
  for (bool moved = true; moved;) {
    moved = false;
    for (Open& o : choice.open())
      while (o.now > o.floor) {
        choice.set(o, o.now - 1);
        if (choice.holds()) {
          moved = true;
          continue;
        }
        choice.set(o, o.now + 1);
        break;
      }
  }
}

}  // namespace

CapacitorChoice choose_capacitors(Design& design, const OperatingPoint& rest, double lowest_hz,
                                  std::span<const double> levels) {
  Choice choice(design, rest, lowest_hz, levels);
  CapacitorChoice out;
  out.chosen = static_cast<int>(choice.open().size());
  choice.set_all(choice.top());
  out.held = choice.holds();
  choice.set_all(&Open::floor);
  if (out.held) {
    climb(choice);
    trim(choice);
  }
  return out;
}

}  // namespace antiphase
