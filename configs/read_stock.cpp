#include "configs/read_stock.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <vector>

#include "configs/csv_cells.h"
#include "configs/input_error_list.h"
#include "configs/read_bytes.h"
#include "results/text/read_quantity.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr std::size_t kMostBytes = 1 << 20, kMostValues = 2000;
constexpr int kMostPieces = 10'000;
constexpr std::array<std::string_view, 3> kColumns{"kind", "value", "quantity"};
constexpr std::string_view kHeader = "kind,value,quantity";

struct Kind {
  std::string_view name, unit;
  double low, high;
  std::vector<Stock::Item> Stock::*items;
};
constexpr std::array kKinds{Kind{"resistor", "ohm", 1, 100e6, &Stock::resistors},
                            Kind{"capacitor", "F", 1e-12, 1, &Stock::capacitors}};

class Parser {
 public:
  Parser(std::string_view text, const std::string& file) : errors_(file) {
    for_each_line(text, [&](std::string_view line) {
      ++line_;
      read_line(trimmed(line));
    });
    line_ = std::max(line_, 1);
    if (!header_seen_)
      error("is empty: its first line must be " + std::string(kHeader) + ", then a value a line");
    else if (stock_.resistors.empty() && stock_.capacitors.empty() && errors_.empty())
      error("lists no parts below its first line");
    for (const Kind& kind : kKinds)
      std::sort((stock_.*kind.items).begin(), (stock_.*kind.items).end(),
                [](const Stock::Item& a, const Stock::Item& b) { return a.value < b.value; });
  }

  OrErrors<StockFile> take(std::string bytes) {
    if (!errors_.empty()) return errors_.take();
    return StockFile{std::move(stock_), std::move(bytes)};
  }

 private:
  void error(std::string what) { errors_.add("", {line_, 1}, std::move(what)); }

  void read_line(std::string_view line) {
    if (line.empty() || line.front() == '#' || errors_.full()) return;
    if (!header_seen_)
      read_header(cells_of(line));
    else if (header_sound_)  // else no line can be judged
      read_row(cells_of(line));
  }

  void read_header(const std::vector<Cell>& cells) {
    header_seen_ = true;
    for (std::size_t c = 0; c < kColumns.size(); ++c) {
      const auto at = std::find_if(cells.begin(), cells.end(),
                                   [&](const Cell& cell) { return cell.text == kColumns[c]; });
      if (at == cells.end() || cells.size() != kColumns.size())
        return error("must name the columns, " + std::string(kHeader) + ", before the first part");
      place_[c] = static_cast<std::size_t>(at - cells.begin());
    }
    header_sound_ = true;
  }

  void read_row(const std::vector<Cell>& cells) {
    if (cells.size() != kColumns.size())
      return error("must have a kind, a value and a quantity, has " + std::to_string(cells.size()) +
                   (cells.size() == 1 ? " entry" : " entries"));
    const std::string_view name = cells[place_[0]].text, value_text = cells[place_[1]].text,
                           count = cells[place_[2]].text;
    const auto kind =
        std::find_if(kKinds.begin(), kKinds.end(), [&](const Kind& k) { return k.name == name; });
    if (kind == kKinds.end()) return error("kind must be resistor or capacitor, is " + in_quotes(name));
    const std::optional<double> value = read_quantity(value_text, kind->unit);
    if (!value || *value < kind->low || *value > kind->high)
      return error("value must be from " + exactly(kind->low, kind->unit) + " to " +
                   exactly(kind->high, kind->unit) + ", such as " + quantity_examples(kind->unit) + "; is " +
                   in_quotes(value_text));
    int pieces = 0;
    const auto [end, failure] = std::from_chars(count.data(), count.data() + count.size(), pieces);
    if (failure != std::errc{} || end != count.data() + count.size() || pieces < 1 || pieces > kMostPieces)
      return error("quantity must be a whole number from 1 to " + std::to_string(kMostPieces) + ", is " +
                   in_quotes(count) + (count == "0" ? "; leave a value out that is not there" : ""));
    std::vector<Stock::Item>& items = stock_.*kind->items;
    if (items.size() >= kMostValues)
      return error("is one value too many: at most " + std::to_string(kMostValues) + " of a kind");
    for (const Stock::Item& item : items)
      if (std::fabs(item.value - *value) <= 1e-9 * *value)
        return error("lists " + exactly(*value, kind->unit) + " again; give the sum of both in one line");
    items.push_back({*value, pieces});
  }

  Stock stock_;
  InputErrorList errors_;
  std::array<std::size_t, kColumns.size()> place_{};
  bool header_seen_ = false, header_sound_ = false;
  int line_ = 0;
};

}  // namespace

OrErrors<StockFile> parse_stock(std::string text, const std::string& file) {
  return Parser(text, file).take(std::move(text));
}

OrErrors<StockFile> read_stock(const std::string& file) {
  auto bytes = read_bytes(file, kMostBytes);
  if (auto* errors = std::get_if<InputErrors>(&bytes)) return std::move(*errors);
  std::string& text = std::get<std::string>(bytes);
  if (text.size() > kMostBytes) {
    InputErrorList errors(file);
    errors.add("", {}, "is longer than 1 MiB; a list of parts has some kB");
    return errors.take();
  }
  return parse_stock(std::move(text), file);
}

}  // namespace antiphase
