#include "stagemodels/linear/choose_capacitors.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "stagemodels/linear/corners.h"

namespace antiphase {
namespace {

struct Open {
  double* farad = nullptr;         ///< member of the design
  std::span<const double> levels;  ///< ascending
  bool of_supply = false;          ///< it holds a supply still
  int floor = 0;                   ///< index of the least level that condition (b) allows
  int now = 0;
  static constexpr std::size_t kMostElements = 4;       ///< two of each output's: a splitter's and a driver's
  std::array<const Element*, kMostElements> element{};  ///< that have this member
  std::size_t elements = 0;

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
    for (Open& o : open())
      for (const Element& e : circuit)
        if (e.kind == ElementKind::capacitor && e.there(design) && &e.member->at(design_) == o.farad)
          o.element[o.elements++] = &e;
  }

  std::span<Open> open() { return {open_.data(), count_}; }

  void set(Open& o, int level) {
    std::array<double, Open::kMostElements> was;
    for (std::size_t n = 0; n < o.elements; ++n) was[n] = o.element[n]->value(design_);
    o.now = level;
    *o.farad = o.levels[static_cast<std::size_t>(level)];
    if (!network_) return;
    for (std::size_t n = 0; n < o.elements; ++n)
      network_->enlarge(*o.element[n], o.element[n]->value(design_) - was[n]);
  }
  void set_all_to_the_top() {
    for (Open& o : open()) set(o, o.top());
  }
  void set_all(int Open::*to) {
    for (Open& o : open()) set(o, o.*to);
  }

  /// Condition (a). Allowed, here and below: every one has been set.
  bool holds() { return holds_down_to(lowest_hz_, network(), mid_band_); }
  double loss() { return greatest_loss(lowest_hz_, network(), mid_band_); }

  /// Between the outputs, of one volt on the supply.
  double ripple() {
    const auto& output = network().from_supply(FrequencyFigures::kRipple_hz).output;
    return std::abs(output[0] - output[1]);
  }

 private:
  /// Made once, then changed with the capacitors.
  const LinearNetwork& network() {
    if (!network_) network_.emplace(design_, rest_);
    return *network_;
  }

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
    o.of_supply = e.role == Role::reservoir || e.role == Role::decoupling_capacitor;
    const double share = o.of_supply ? kReservoirShare : 1;
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
  std::optional<LinearNetwork> network_;
  std::array<Open, Circuit::kMostElements> open_{};
  std::size_t count_ = 0;
};

/// One capacitor a step up: of those that may go, the one whose step leaves least of `what_is_left`.
/// @return false if none can go further.
bool step_up(Choice& choice, const auto& may_go, const auto& what_is_left) {
  Open* best = nullptr;
  double least = INFINITY;
  for (Open& o : choice.open()) {
    if (o.now == o.top() || !may_go(o)) continue;
    const int was = o.now;
    choice.set(o, was + 1);
    const double left = what_is_left();
    choice.set(o, was);
    if (left < least) {
      least = left;
      best = &o;
    }
  }
  if (best) choice.set(*best, best->now + 1);
  return best != nullptr;
}

/// Up from condition (b): each time the one step that leaves the worst output with the least loss.
void climb(Choice& choice) {
  const auto any = [](const Open&) { return true; };
  while (!choice.holds() && step_up(choice, any, [&] { return choice.loss(); })) {
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

/// Capacitors of supplies up until no more ripple than that is left; as they were if they cannot do it.
void quieten(Choice& choice, double most_ripple_v_per_v) {
  std::array<int, Circuit::kMostElements> was{};
  for (std::size_t n = 0; Open & o : choice.open()) was[n++] = o.now;
  const auto of_supply = [](const Open& o) { return o.of_supply; };
  while (!(choice.ripple() <= most_ripple_v_per_v)) {
    if (step_up(choice, of_supply, [&] { return choice.ripple(); })) continue;
    for (std::size_t n = 0; Open & o : choice.open()) choice.set(o, was[n++]);
    return;
  }
}

}  // namespace

CapacitorChoice choose_capacitors(Design& design, const OperatingPoint& rest, double lowest_hz,
                                  std::span<const double> levels, std::span<const OwnCapacitorLevels> own,
                                  double most_ripple_v_per_v) {
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
  if (most_ripple_v_per_v < INFINITY) quieten(choice, most_ripple_v_per_v);
  return out;
}

}  // namespace antiphase
