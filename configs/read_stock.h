/// Reads a CSV file of parts on hand.
#pragma once

#include <string>
#include <string_view>

#include "configs/input_errors.h"
#include "objectives/part_supply.h"

namespace antiphase {

struct StockFile {
  Stock stock;
  std::string bytes;  ///< the whole file, so that a digest can take it in
};

/// The layout: lines that begin with # are comments; the first other line names the columns, `kind`, `value`
/// and `quantity` in any order; then one value a line: `resistor,47k,4`. Kind: resistor or capacitor; value
/// as anywhere (47000, 47k, 4k7; 100n), within what a design allows; quantity 1 to 10000. Empty lines,
/// spaces, CR LF and a byte order mark are allowed. At most 2000 values. Failure: every bad line is an error
/// with its number; a value that is listed twice is one.
OrErrors<StockFile> read_stock(const std::string& file);

/// The same from text in memory; `file` is only a name for messages.
OrErrors<StockFile> parse_stock(std::string text, const std::string& file);

}  // namespace antiphase
