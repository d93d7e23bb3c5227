#include "optimize/engine/snapping/preferred_values.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <iterator>
#include <string>
#include <tuple>

// Source: IEC 60063:2015, Preferred number series for resistors and capacitors. The rule is
// 10^(i/n) rounded to two (E3 ... E24) or three digits (E48 ... E192); E24, and with it E3 ... E12,
// keeps values that were fixed before the rule, and E192 has one departure.

namespace antiphase::engine {
namespace {

constexpr int kDigitsScale = 100;  // significands are held as integers 100 ... 999

struct Exception {
  int index;   // i of 10^(i/n)
  int digits;  // significand times kDigitsScale
};
constexpr std::array kE24Exceptions{Exception{10, 270}, Exception{11, 300}, Exception{12, 330},
                                    Exception{13, 360}, Exception{14, 390}, Exception{15, 430},
                                    Exception{16, 470}, Exception{22, 820}};
constexpr std::array kE192Exceptions{Exception{185, 920}};

std::vector<int> by_rule(int count, int digits_step, std::span<const Exception> exceptions) {
  std::vector<int> digits;
  for (int i = 0; i < count; ++i) {
    const double exact = kDigitsScale * std::pow(10.0, static_cast<double>(i) / count);
    digits.push_back(static_cast<int>(std::lround(exact / digits_step)) * digits_step);
  }
  for (const Exception& e : exceptions) digits[e.index] = e.digits;
  return digits;
}

std::vector<int> every(int stride, const std::vector<int>& all) {
  std::vector<int> some;
  for (std::size_t i = 0; i < all.size(); i += stride) some.push_back(all[i]);
  return some;
}

struct Table {
  std::string_view name;
  std::vector<int> digits;
  std::vector<double> significands;
};

const std::array<Table, 7>& tables() {
  static const std::array<Table, 7> all = [] {
    const std::vector<int> e24 = by_rule(24, 10, kE24Exceptions);
    const std::vector<int> e192 = by_rule(192, 1, kE192Exceptions);
    std::array<Table, 7> t{Table{"E3", every(8, e24), {}},   Table{"E6", every(4, e24), {}},
                           Table{"E12", every(2, e24), {}},  Table{"E24", e24, {}},
                           Table{"E48", every(4, e192), {}}, Table{"E96", every(2, e192), {}},
                           Table{"E192", e192, {}}};
    for (Table& table : t)
      for (const int d : table.digits) table.significands.push_back(static_cast<double>(d) / kDigitsScale);
    return t;
  }();
  return all;
}

const Table& table_of(Series series) {
  return tables()[static_cast<std::size_t>(series)];
}

/// Member number `index` counted from 1.0 (index 0); negative below. One exact integer scaled by one
/// power of ten, so that the result is the double nearest to the decimal text ("4.7e-9").
double member(const Table& table, int index) {
  const int count = static_cast<int>(table.digits.size());
  const int decade = index >= 0 ? index / count : -((-index + count - 1) / count);
  const int digits = table.digits[index - decade * count];
  const int exponent = decade - 2;
  return exponent >= 0 ? digits * std::pow(10.0, exponent) : digits / std::pow(10.0, -exponent);
}

constexpr double kSameRatio = 1e-9;  // what 4.7 * 1000 may differ from 4700, with room

/// Largest index whose member is not above `value` (members within kSameRatio count as equal).
int index_below(const Table& table, double value) {
  const int count = static_cast<int>(table.digits.size());
  const int decade = static_cast<int>(std::floor(std::log10(value)));
  int low = (decade - 1) * count, high = (decade + 2) * count;
  while (high - low > 1) {
    const int middle = low + (high - low) / 2;
    (member(table, middle) <= value * (1 + kSameRatio) ? low : high) = middle;
  }
  return low;
}

bool same(double a, double b) {
  return std::abs(a - b) <= kSameRatio * std::abs(b);
}

/// A partner a thousand times off changes less than the tightest usual tolerance (0.1 %).
constexpr double kPartnerRatio = 1000;

}  // namespace

std::string_view name_of(Series series) {
  return table_of(series).name;
}

std::optional<Series> series_named(std::string_view name) {
  std::string wanted(name);
  if (!wanted.empty() && wanted[0] == 'e') wanted[0] = 'E';
  for (std::size_t i = 0; i < tables().size(); ++i)
    if (tables()[i].name == wanted) return static_cast<Series>(i);
  return std::nullopt;
}

std::span<const double> significands(Series series) {
  return table_of(series).significands;
}

std::pair<double, double> around(Series series, double value) {
  assert(value > 0 && std::isfinite(value));
  const Table& table = table_of(series);
  const int index = index_below(table, value);
  const double below = member(table, index);
  return {below, same(below, value) ? below : member(table, index + 1)};
}

double nearest(Series series, double value) {
  const auto [below, above] = around(series, value);
  return value / below <= above / value ? below : above;
}

std::vector<double> members(Series series, double low, double high) {
  assert(low > 0 && std::isfinite(high));
  const Table& table = table_of(series);
  std::vector<double> inside;
  int index = index_below(table, low);
  if (!same(member(table, index), low)) ++index;
  for (double m = member(table, index); m <= high * (1 + kSameRatio); m = member(table, ++index))
    inside.push_back(m);
  return inside;
}

std::vector<TwoPart> two_part_combinations(Series series, double value, int count) {
  assert(value > 0 && std::isfinite(value));
  const Table& table = table_of(series);
  std::vector<TwoPart> found;
  if (count <= 0) return found;
  const auto offer = [&](double first, double second, bool parallel) {
    const double sum = parallel ? 1 / (1 / first + 1 / second) : first + second;
    found.push_back({first, second, parallel, sum, sum / value - 1});
  };
  // Series: `first` is the larger part. For each, the partners next to what is missing, `count` on
  // either side, hold every one that can be among the best `count`.
  for (const double first : members(series, value / 4, value * 2)) {
    const double least = first / kPartnerRatio;
    const double missing = std::clamp(value - first, least, first);
    const int middle = index_below(table, missing);
    for (int i = middle - count; i <= middle + count; ++i) {
      const double second = member(table, i);
      if (second >= least * (1 - kSameRatio) && second <= first) offer(first, second, false);
    }
  }
  // Parallel: `first` is the smaller part.
  for (const double first : members(series, value / 2, value * 4)) {
    const double most = first * kPartnerRatio;
    const double missing = first > value ? std::clamp(1 / (1 / value - 1 / first), first, most) : most;
    const int middle = index_below(table, missing);
    for (int i = middle - count; i <= middle + count; ++i) {
      const double second = member(table, i);
      if (second <= most * (1 + kSameRatio) && second >= first) offer(first, second, true);
    }
  }
  const auto key = [](const TwoPart& p) {
    return std::tuple(std::abs(p.error_ratio), p.parallel, p.first, p.second);
  };
  std::sort(found.begin(), found.end(), [&](const TwoPart& a, const TwoPart& b) { return key(a) < key(b); });
  if (std::ssize(found) > count) found.resize(count);
  return found;
}

}  // namespace antiphase::engine
