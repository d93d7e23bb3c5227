/// Preferred numbers of IEC 60063: E3 … E192, with its historic exceptions.
#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <utility>
#include <vector>

namespace antiphase::engine {

enum class Series { e3, e6, e12, e24, e48, e96, e192 };

std::string_view name_of(Series);                      ///< "E24"
std::optional<Series> series_named(std::string_view);  ///< "E24", "e24"

/// Significands of one decade, ascending, in [1, 10).
std::span<const double> significands(Series);

/// Nearest member in ratio (log distance); on a tie the smaller. value > 0, finite.
double nearest(Series, double value);

/// Nearest members not above and not below `value` (both equal to it if it is a member, within 1e-9).
std::pair<double, double> around(Series, double value);

/// All members in [low, high], ascending. Ends count as inside within 1e-9 relative.
std::vector<double> members(Series, double low, double high);

/// Two members whose series sum or parallel value comes close to `value`.
struct TwoPart {
  double first = 0, second = 0;  ///< first decides: the larger of a sum, the smaller in parallel
  bool parallel = false;
  double value = 0;
  double error_ratio = 0;  ///< value / wanted - 1
};
/// Best `count` combinations, closest first, of parts at most a thousandfold apart. Cost: some thousand
/// comparisons.
std::vector<TwoPart> two_part_combinations(Series, double value, int count);

}  // namespace antiphase::engine
