#include "configs/curve_points.h"

#include <array>
#include <optional>

#include "configs/csv_cells.h"
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

class Parser {
 public:
  Parser(std::string_view text, const std::string& file) : errors_(file) {
    out_.file = file;
    for_each_line(text, [&](std::string_view line) {
      ++line_;
      read_line(line);
    });
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
      const std::optional<double> value = plain_number(cells[k].text);
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
