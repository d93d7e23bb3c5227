#include "results/text/csv.h"

#include <array>
#include <charconv>
#include <cmath>

namespace antiphase {

void CsvTable::field(std::string_view f) {
  if (row_begun_) text_ += ',';
  row_begun_ = true;
  if (f.find_first_of(",\"\r\n") == std::string_view::npos) {
    text_ += f;
    return;
  }
  text_ += '"';
  for (char c : f) {
    if (c == '"') text_ += '"';
    text_ += c;
  }
  text_ += '"';
}

CsvTable& CsvTable::text(std::string_view t) {
  const bool formula = !t.empty() && std::string_view("=+-@\t\r").find(t.front()) != std::string_view::npos;
  field(formula ? "'" + std::string(t) : std::string(t));
  return *this;
}

CsvTable& CsvTable::number(const std::optional<double>& v) {
  std::array<char, 40> digits;
  const bool known = v && std::isfinite(*v);
  const double plain = known && *v != 0 ? *v : 0.0;  // no "-0"
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), plain).ptr;
  field(known ? std::string_view(digits.data(), static_cast<std::size_t>(end - digits.data())) : "");
  return *this;
}

CsvTable& CsvTable::integer(long long v) {
  field(std::to_string(v));
  return *this;
}

CsvTable& CsvTable::end_row() {
  text_ += "\r\n";
  row_begun_ = false;
  return *this;
}

}  // namespace antiphase
