#include "stagemodels/linear/choose_capacitors.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stagemodels/linear/corners.h"

namespace antiphase {
namespace {

struct Open {
  double* farad = nullptr;         ///< member of the design
  std::span<const double> levels;  ///< ascending
  int floor = 0;                   ///< index of the least level that condition (b) allows
  int now = 0;

  int top() const { return static_cast<int>(levels.size()) - 1; }
};

/// The open capacitors of one design and where they stand.
class Choice {
 public:
  Choice(Design& design, const OperatingPoint& rest, double lowest_hz, std::span<const double> levels,
         std::span<const OwnCapacitorLevels> own)
      : design_(design),
        rest_(rest),
        lowest_hz_(lowest_hz),
        levels_(levels),
        own_(own),
        mid_band_(mid_band_gain(design, rest)) {
    // From the outputs back to the supply; the order decides which of them is tried first.
    const Circuit& circuit = circuit_of(design);
    for (const Element* e = circuit.end(); e-- != circuit.begin();)
      if (e->kind == ElementKind::capacitor && e->there(design) && needed(circuit, *e)) add(*e);
  }

  std::span<Open> open() { return {open_.data(), count_}; }

  void set(Open& o, int level) {
    o.now = level;
    *o.farad = o.levels[static_cast<std::size_t>(level)];
  }
  void set_all_to_the_top() {
    for (Open& o : open()) set(o, o.top());
  }
  void set_all(int Open::*to) {
    for (Open& o : open()) set(o, o.*to);
  }

  /// Condition (a).
  bool holds() const { return holds_down_to(lowest_hz_, LinearNetwork(design_, rest_), mid_band_); }
  double loss() const { return greatest_loss(lowest_hz_, LinearNetwork(design_, rest_), mid_band_); }

 private:
  /// A grid whose leak ends at ground rests there: it may be wired to ground or to the source, and needs no
  /// capacitor for it.
  bool needed(const Circuit& circuit, const Element& e) const {
    if (levels_of(e).data() != levels_.data()) return true;  // it is wanted
    if (e.role != Role::input_coupling && e.role != Role::grid_bypass) return true;
    for (const Element& leak : circuit)
      if (leak.role == Role::grid_leak && leak.b == kGround && (leak.a == e.a || leak.a == e.b)) return false;
    return true;
  }

  std::span<const double> levels_of(const Element& e) const {
    for (const OwnCapacitorLevels& own : own_)
      if (own.member == e.member) return own.levels;
    return levels_;
  }

  /// Of a member that stands for two capacitors the one that sees less decides.
  void add(const Element& e) {
    double& farad = e.member->at(design_);
    if (farad > 0) return;  // given
    std::size_t n = 0;
    while (n < count_ && open_[n].farad != &farad) ++n;
    Open& o = open_[n];
    if (n == count_) {
      ++count_;
      o.farad = &farad;
      o.levels = levels_of(e);
    }
    const double ohm = LinearNetwork::resistance_seen(design_, rest_, e);
    if (!(ohm > 0)) return;
    const bool of_supply = e.role == Role::reservoir || e.role == Role::decoupling_capacitor;
    const double share = of_supply ? kReservoirShare : 1;
    const double least = e.role == Role::reservoir ? kLeastReservoir_f : 0;
    const double least_f = std::max(least, share / (2 * std::numbers::pi * lowest_hz_ * ohm));
    const auto at = std::lower_bound(o.levels.begin(), o.levels.end(), least_f);
    o.floor = std::max(o.floor, std::min(static_cast<int>(at - o.levels.begin()), o.top()));
  }

  Design& design_;
  const OperatingPoint& rest_;
  double lowest_hz_;
  std::span<const double> levels_;
  std::span<const OwnCapacitorLevels> own_;
  Pair mid_band_;
  std::array<Open, Circuit::kMostElements> open_{};
  std::size_t count_ = 0;
};

/// Up from condition (b): each time the one step that leaves the worst output with the least loss.
void climb(Choice& choice) {
  while (!choice.holds()) {
    Open* best = nullptr;
    double least = INFINITY;
    for (Open& o : choice.open()) {
      if (o.now == o.top()) continue;
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
                                  std::span<const double> levels, std::span<const OwnCapacitorLevels> own) {
  Choice choice(design, rest, lowest_hz, levels, own);
  CapacitorChoice out;
  out.chosen = static_cast<int>(choice.open().size());
  choice.set_all_to_the_top();
  out.held = choice.holds();
  choice.set_all(&Open::floor);
  if (out.held) {
    climb(choice);
    trim(choice);
  }
  return out;
}

}  // namespace antiphase
