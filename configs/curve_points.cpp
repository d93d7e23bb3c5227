#include "configs/curve_points.h"

#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "configs/input_error_list.h"
#include "configs/read_bytes.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr std::size_t kMostBytes = 4 << 20;  // a sheet traced densely has some kB

/// What a column may be called, where its number goes, and what it must be.
struct Column {
  std::string_view name;
  double scale;  // to SI
  double CurvePoint::*member;
  double low, high;  // in SI
  bool above_low;
  std::string_view range;
};
constexpr std::array kColumns{
    Column{"vg_v", 1, &CurvePoint::grid_v, -500, 50, false, "from -500 to 50 (V)"},
    Column{"va_v", 1, &CurvePoint::plate_v, 0, 1e4, true, "above 0 and at most 10000 (V)"},
    Column{"ia_ma", 1e-3, &CurvePoint::plate_current_a, 0, 10, false, "from 0 to 10000 (mA)"},
    Column{"ia_a", 1, &CurvePoint::plate_current_a, 0, 10, false, "from 0 to 10 (A)"},
};
constexpr std::string_view kHeader = "vg_v,va_v,ia_ma (or ia_a in place of ia_ma)";

struct Cell {
  std::string_view text;
  int column = 1;  // of its first character, from 1
};

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
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

std::optional<double> number(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

class Parser {
 public:
  Parser(std::string_view text, const std::string& file) : errors_(file) {
    out_.file = file;
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (text.substr(0, kByteOrderMark.size()) == kByteOrderMark) text.remove_prefix(kByteOrderMark.size());
    for (std::size_t from = 0; from < text.size();) {
      const std::size_t end = std::min(text.find('\n', from), text.size());
      ++line_;
      read_line(text.substr(from, end - from));
      from = end + 1;
    }
    if (!header_seen_)
      error(1, "has no header line; it must be " + std::string(kHeader));
    else if (out_.points.empty() && errors_.empty())
      error(1, "has no points below the header line");
  }

  OrErrors<CurveFile> take() {
    if (!errors_.empty()) return errors_.take();
    return std::move(out_);
  }

 private:
  void error(int column, std::string what) { errors_.add("", {line_, column}, std::move(what)); }

  void read_line(std::string_view line) {
    const std::string_view text = trimmed(line);
    if (text.empty()) return;
    if (text.front() == '#')
      out_.comments.emplace_back(trimmed(text.substr(1)));
    else if (!header_seen_)
      read_header(cells_of(line));
    else if (columns_.size() == 3)  // else the header is at error, and no row can be judged
      read_row(cells_of(line));
  }

  void read_header(const std::vector<Cell>& cells) {
    header_seen_ = true;
    for (const Cell& cell : cells) {
      const Column* column = nullptr;
      for (const Column& c : kColumns)
        if (c.name == cell.text) column = &c;
      if (!column)
        error(cell.column,
              in_quotes(cell.text) + " is not a column; the header must be " + std::string(kHeader));
      else if (has(column->member))
        error(cell.column, in_quotes(cell.text) + " gives a quantity that another column gives already");
      else
        columns_.push_back(column);
    }
    if (columns_.size() < 3 && errors_.empty())
      error(1, "a column is missing; the header must be " + std::string(kHeader));
    if (!errors_.empty()) columns_.clear();
  }

  bool has(double CurvePoint::*member) const {
    for (const Column* c : columns_)
      if (c->member == member) return true;
    return false;
  }

  void read_row(const std::vector<Cell>& cells) {
    if (cells.size() != columns_.size())
      return error(1, "must have 3 numbers, has " + std::to_string(cells.size()));
    CurvePoint point;
    bool sound = true;
    for (std::size_t k = 0; k < cells.size(); ++k) {
      const Column& c = *columns_[k];
      const std::optional<double> value = number(cells[k].text);
      const double si = value.value_or(0) * c.scale;
      if (!value)
        error(cells[k].column,
              std::string(c.name) + " must be a plain number, is " + in_quotes(cells[k].text));
      else if (si < c.low || si > c.high || (c.above_low && si == c.low))
        error(cells[k].column, std::string(c.name) + " must be " + std::string(c.range) + ", is " +
                                   std::string(cells[k].text));
      else {
        point.*c.member = si;
        continue;
      }
      sound = false;
    }
    if (!sound) return;
    out_.points.push_back(point);
    out_.lines.push_back(line_);
  }

  CurveFile out_;
  InputErrorList errors_;
  std::vector<const Column*> columns_;  // of the file, in its order
  bool header_seen_ = false;
  int line_ = 0;
};

}  // namespace

OrErrors<CurveFile> parse_curve_points(std::string_view text, const std::string& file) {
  return Parser(text, file).take();
}

OrErrors<CurveFile> read_curve_points(const std::string& file) {
  auto bytes = read_bytes(file, kMostBytes);
  if (auto* errors = std::get_if<InputErrors>(&bytes)) return std::move(*errors);
  const std::string& text = std::get<std::string>(bytes);
  if (text.size() > kMostBytes) {
    InputErrorList errors(file);
    errors.add("", {}, "is longer than 4 MiB; a file of curve points has some kB");
    return errors.take();
  }
  return parse_curve_points(text, file);
}

}  // namespace antiphase
