#include "configs/csv_cells.h"

#include <charconv>
#include <cmath>

namespace antiphase {

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

std::string in_lower_case(std::string_view text) {
  std::string out(text);
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (out[i] >= 'A' && out[i] <= 'Z') out[i] = static_cast<char>(out[i] - 'A' + 'a');
    // German capital umlauts in UTF-8
    if (i > 0 && out[i - 1] == '\xc3' && out[i] <= '\x9e') out[i] = static_cast<char>(out[i] + 0x20);
  }
  return out;
}

std::vector<Cell> cells_of(std::string_view line) {
  std::vector<Cell> cells;
  for (std::size_t from = 0; from <= line.size();) {
    const std::size_t comma = std::min(line.find(',', from), line.size());
    const std::string_view text = trimmed(line.substr(from, comma - from));
    const std::size_t at = text.empty() ? from : static_cast<std::size_t>(text.data() - line.data());
    cells.push_back({text, static_cast<int>(at) + 1});
    from = comma + 1;
  }
  return cells;
}

std::optional<double> plain_number(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace antiphase
