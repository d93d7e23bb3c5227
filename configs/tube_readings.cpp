#include "configs/tube_readings.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "configs/csv_cells.h"
#include "configs/input_error_list.h"
#include "configs/read_bytes.h"
#include "results/text/read_quantity.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr std::size_t kMostBytes = 1 << 20;
constexpr std::size_t kMostReadings = 1000;
constexpr double kLeastAccuracy_pct = 0.001, kMostAccuracy_pct = 50;

enum class Of { section, grid, plate, current };

/// What a column may be called, what it gives and what it must be; low and high in SI.
struct Column {
  std::string_view name;
  Of of;
  double scale, low, high;
  bool above_low;
  std::string_view range;
};
constexpr std::array kColumns{
    Column{"section", Of::section, 1, 1, 2, false, "1 or 2"},
    Column{"vg_v", Of::grid, 1, -500, 0, false, "from -500 to 0 (V), the grid below the cathode"},
    Column{"va_v", Of::plate, 1, 0, 1e4, true, "above 0 and at most 10000 (V)"},
    Column{"ia_ma", Of::current, 1e-3, 0, 10, true, "above 0 and at most 10000 (mA)"},
    Column{"ia_a", Of::current, 1, 0, 10, true, "above 0 and at most 10 (A)"},
};
constexpr std::string_view kHeader =
    "section,vg_v,va_v,ia_ma (section may be left out; ia_a in place of ia_ma)";

void put(TubeReading& r, Of of, double si) {
  switch (of) {
    case Of::section:
      r.section = static_cast<int>(si) - 1;
      break;
    case Of::grid:
      r.grid_v = si;
      break;
    case Of::plate:
      r.plate_v = si;
      break;
    case Of::current:
      r.plate_a = si;
      break;
  }
}

class Parser {
 public:
  Parser(std::string_view text, const std::string& file) : errors_(file) {
    out_.file = file;
    for_each_line(text, [&](std::string_view line) {
      ++line_;
      if (!errors_.full()) read_line(line);
    });
    line_ = std::max(line_, 1);
    if (!header_seen_)
      error(1, "has no line that names the columns; it must be " + std::string(kHeader));
    else if (out_.readings.empty() && errors_.empty())
      error(1, "has no readings below the line that names the columns");
    for (TubeReading& r : out_.readings) r.accuracy_pct = accuracy_pct_;
  }

  OrErrors<TubeReadingsFile> take() {
    if (!errors_.empty()) return errors_.take();
    return std::move(out_);
  }

 private:
  void error(int column, std::string what) { errors_.add("", {line_, column}, std::move(what)); }

  void read_line(std::string_view line) {
    const std::string_view text = trimmed(line);
    if (text.empty() || text.front() == '#') return;
    const std::vector<Cell> cells = cells_of(line);
    if (!header_seen_ && of_tube(cells)) return;
    if (!header_seen_)
      read_header(cells);
    else if (!columns_.empty())  // else the header is at error, and no row can be judged
      read_row(cells);
  }

  bool of_tube(const std::vector<Cell>& cells) {
    if (cells.size() != 2) return false;
    const std::string name = in_lower_case(cells[0].text);
    if (name == "tube")
      read_type(cells[1]);
    else if (name == "place")
      read_place(cells[1]);
    else if (name == "accuracy")
      read_accuracy(cells[1]);
    else
      return false;
    return true;
  }
  void read_type(const Cell& cell) {
    out_.tube = cell.text;
    out_.tube_line = line_;
    if (cell.text.empty()) error(cell.column, "tube is the type, such as \"tube,12AX7\"");
  }
  void read_place(const Cell& cell) {
    const std::string place = in_lower_case(cell.text);
    out_.place_line = line_;
    if (place == "first stage")
      out_.place = TubePlace::first_stage;
    else if (place == "driver")
      out_.place = TubePlace::driver;
    else
      error(cell.column,
            "place is \"first stage\" or \"driver\"; leave it out for the splitter or gain stage; is " +
                in_quotes(cell.text));
  }
  void read_accuracy(const Cell& cell) {
    const auto pct = read_quantity(cell.text, "%");
    if (pct && *pct >= kLeastAccuracy_pct && *pct <= kMostAccuracy_pct)
      accuracy_pct_ = *pct;
    else
      error(cell.column,
            "accuracy is that of the currents, from 0.001 to 50 %, such as \"accuracy,2%\"; is " +
                in_quotes(cell.text));
  }

  void read_header(const std::vector<Cell>& cells) {
    header_seen_ = true;
    bool sound = true;
    for (const Cell& cell : cells) {
      const auto* column = std::find_if(kColumns.begin(), kColumns.end(),
                                        [&](const Column& c) { return c.name == cell.text; });
      if (column == kColumns.end())
        error(cell.column,
              in_quotes(cell.text) + " is not a column; the line must be " + std::string(kHeader));
      else if (has(column->of))
        error(cell.column, in_quotes(cell.text) + " gives a quantity that another column gives already");
      else {
        columns_.push_back(column);
        continue;
      }
      sound = false;
    }
    if (sound && !(has(Of::grid) && has(Of::plate) && has(Of::current))) {
      error(1, "a column is missing; the line must be " + std::string(kHeader));
      sound = false;
    }
    if (!sound) columns_.clear();
  }
  bool has(Of of) const {
    return std::any_of(columns_.begin(), columns_.end(), [&](const Column* c) { return c->of == of; });
  }

  void read_row(const std::vector<Cell>& cells) {
    if (cells.size() != columns_.size())
      return error(1, "must have " + std::to_string(columns_.size()) + " numbers, has " +
                          std::to_string(cells.size()) +
                          (cells.size() > columns_.size() ? "; a decimal comma must be a point" : ""));
    TubeReading r;
    bool sound = true;
    for (std::size_t k = 0; k < cells.size(); ++k) sound &= read_cell(cells[k], *columns_[k], r);
    if (!sound) return;
    if (out_.readings.size() == kMostReadings)
      return error(1, "is one reading too many: 1000 are the most; antiphase fit makes a law of more");
    out_.readings.push_back(r);
    out_.lines.push_back(line_);
  }
  bool read_cell(const Cell& cell, const Column& c, TubeReading& r) {
    const std::optional<double> value = plain_number(cell.text);
    const double si = value.value_or(0) * c.scale;
    const bool whole = c.of != Of::section || si == std::floor(si);
    if (!value)
      error(cell.column, std::string(c.name) + " must be a plain number, is " + in_quotes(cell.text));
    else if (si < c.low || si > c.high || (c.above_low && si == c.low) || !whole)
      error(cell.column,
            std::string(c.name) + " must be " + std::string(c.range) + ", is " + std::string(cell.text));
    else {
      put(r, c.of, si);
      return true;
    }
    return false;
  }

  TubeReadingsFile out_;
  InputErrorList errors_;
  std::vector<const Column*> columns_;  // of the file, in its order
  double accuracy_pct_ = kTubeReadingAccuracy_pct;
  bool header_seen_ = false;
  int line_ = 0;
};

}  // namespace

std::string_view name_of(TubePlace place) {
  return place == TubePlace::first_stage ? "the first stage"
         : place == TubePlace::driver    ? "the driver"
                                         : "the splitter or gain stage";
}

OrErrors<TubeReadingsFile> parse_tube_readings(std::string_view text, const std::string& file) {
  return Parser(text, file).take();
}

OrErrors<TubeReadingsFile> read_tube_readings(const std::string& file) {
  auto bytes = read_bytes(file, kMostBytes);
  if (auto* errors = std::get_if<InputErrors>(&bytes)) return std::move(*errors);
  const std::string& text = std::get<std::string>(bytes);
  if (text.size() > kMostBytes) {
    InputErrorList errors(file);
    errors.add("", {}, "is longer than 1 MiB; a file of readings of one tube has some lines");
    return errors.take();
  }
  return parse_tube_readings(text, file);
}

OrErrors<std::vector<TubeReadingsFile>> read_tube_readings(const std::vector<std::string>& files) {
  std::vector<TubeReadingsFile> all;
  InputErrors errors;
  for (const std::string& file : files) {
    auto read = read_tube_readings(file);
    if (const auto* wrong = std::get_if<InputErrors>(&read)) {
      errors.unreadable |= wrong->unreadable;
      errors.list.insert(errors.list.end(), wrong->list.begin(), wrong->list.end());
    } else {
      all.push_back(std::move(std::get<TubeReadingsFile>(read)));
    }
  }
  if (!errors.list.empty()) return errors;
  return all;
}

InputErrors impossible_readings(const TubeReadingsFile& file, const Tube& tube, const TriodeLaw& law) {
  // A tired or an odd tube draws a third or twice of its type. Near cut-off the law itself is far off, so
  // that there only the largest current of the file is a measure.
  constexpr double kLeast = 0.2, kMost = 3, kSmall = 0.1;
  InputErrorList errors(file.file);
  const auto of_type = [&](const TubeReading& r) {
    return TriodeSection{&tube, &law, {}}.currents_at(r.grid_v, r.plate_v).plate_a;
  };
  double largest_a = 0;
  for (const TubeReading& r : file.readings) largest_a = std::max(largest_a, of_type(r));
  for (std::size_t k = 0; k < file.readings.size(); ++k) {
    const TubeReading& r = file.readings[k];
    const double type_a = of_type(r), small_a = kSmall * largest_a;
    if (r.plate_a >= kLeast * (type_a - small_a) && r.plate_a <= kMost * std::max(type_a, small_a) &&
        largest_a > 0)
      continue;
    errors.add(
        "", {file.lines[k], 1},
        "a " + tube.name + " draws about " + engineering_text(type_a, "A") + " at " +
            exactly(r.plate_v, "V") + " on the plate and " + exactly(r.grid_v, "V") + " on the grid, is " +
            engineering_text(r.plate_a, "A") +
            "; are the columns in order, is the current in the unit that its column names, is it this type?");
  }
  return errors.empty() ? InputErrors{} : errors.take();
}

InputErrors error_in(const TubeReadingsFile& file, int line, std::string what) {
  InputErrorList errors(file.file);
  errors.add("", {line, 1}, std::move(what));
  return errors.take();
}

}  // namespace antiphase
