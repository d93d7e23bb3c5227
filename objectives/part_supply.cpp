#include "objectives/part_supply.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr double kSameValue = 1e-6;  // written with six digits and more it is the same part
constexpr double kTrim = 4;          // how much larger the first of two has to be

bool same(double a, double b) {
  return std::fabs(a - b) <= kSameValue * std::fabs(b);
}

/// Pieces of one kind that a design uses of each value; a design has few different ones.
class Count {
 public:
  void add(double value, int pieces) {
    if (value <= 0 || pieces <= 0) return;
    for (std::size_t k = 0; k < size_; ++k)
      if (same(values_[k], value)) {
        pieces_[k] += pieces;
        return;
      }
    if (size_ == values_.size()) return;  // cannot be: there are fewer elements
    values_[size_] = value;
    pieces_[size_++] = pieces;
  }
  /// Beyond what is there; values that are not listed do not count.
  int missing(const std::vector<Stock::Item>& items) const {
    int sum = 0;
    for (std::size_t k = 0; k < size_; ++k)
      for (const Stock::Item& item : items)
        if (same(item.value, values_[k])) sum += std::max(0, pieces_[k] - item.pieces);
    return sum;
  }

 private:
  std::array<double, Circuit::kMostElements> values_{};
  std::array<int, Circuit::kMostElements> pieces_{};
  std::size_t size_ = 0;
};

}  // namespace

const engine::TwoPart* made_of(const PartSupply& supply, double plate_2_ohm) {
  for (const engine::TwoPart& two : supply.plate_2)
    if (same(two.value, plate_2_ohm)) return &two;
  return nullptr;
}

double pieces_missing(const PartSupply& supply, const Design& d) {
  if (!supply.on_hand) return 0;
  Count resistors, capacitors;
  for (const Element& e : circuit_of(d)) {
    if (!e.member || !e.there(d)) continue;
    const double value = e.value(d);
    if (e.member->role == FieldRole::capacitor) capacitors.add(value, 1);
    if (e.member->role != FieldRole::resistor) continue;
    if (const engine::TwoPart* two = e.member == &member::plate_ohm_1 ? made_of(supply, value) : nullptr) {
      resistors.add(two->first, 1);
      resistors.add(two->second, 1);
    } else {
      resistors.add(value, 1);
    }
  }
  return resistors.missing(supply.on_hand->resistors) + capacitors.missing(supply.on_hand->capacitors);
}

std::vector<engine::TwoPart> one_or_two(const std::vector<double>& singles, double low, double high) {
  std::vector<engine::TwoPart> kept;
  const auto by_value = [](const engine::TwoPart& a, const engine::TwoPart& b) { return a.value < b.value; };
  const auto keep = [&](const engine::TwoPart& part) {
    kept.insert(std::upper_bound(kept.begin(), kept.end(), part, by_value), part);
  };
  for (const double v : singles)
    if (v >= low * (1 - 1e-9) && v <= high * (1 + 1e-9)) keep({v, 0, false, v, 0});
  std::vector<engine::TwoPart> sums, parallels;
  for (const double first : singles)
    for (const double second : singles) {
      if (first >= kTrim * second) sums.push_back({first, second, false, first + second, 0});
      if (second >= kTrim * first)
        parallels.push_back({first, second, true, first * second / (first + second), 0});
    }
  for (auto* list : {&sums, &parallels}) {
    std::stable_sort(list->begin(), list->end(), by_value);
    for (const engine::TwoPart& two : *list) {
      if (two.value < low || two.value > high) continue;
      const auto above = std::upper_bound(kept.begin(), kept.end(), two, by_value);
      const double room = kClosest_pct / 100 * two.value;
      if (above != kept.end() && above->value - two.value < room) continue;
      if (above != kept.begin() && two.value - std::prev(above)->value < room) continue;
      keep(two);
    }
  }
  return kept;
}

}  // namespace antiphase
