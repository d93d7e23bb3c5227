/// Reads a CSV file of points that were read off plate curves.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "configs/input_errors.h"
#include "stagemodels/tubes/fit_data.h"

namespace antiphase {

struct CurveFile {
  std::string file;
  std::vector<std::string> comments;  ///< the lines that begin with #, without it: source and accuracy
  std::vector<CurvePoint> points;     ///< in the order of the file, SI
  std::vector<int> lines;             ///< of each point, from 1
};

/// The layout: lines that begin with # are comments; the first other line names the columns, `vg_v`,
/// `va_v` and `ia_ma` (or `ia_a`) in any order; then one point a line, plain numbers with a decimal
/// point, separated by commas. Empty lines, spaces round the numbers, CR LF and a byte order mark are
/// allowed. Grid -500 to 50 V, plate above 0 up to 10 kV, current 0 to 10 A.
/// Failure: every bad line is an error with its number; no line is ever passed over. `unreadable` is
/// set where the file is missing, a folder, or may not be read.
OrErrors<CurveFile> read_curve_points(const std::string& file);

/// The same from text in memory; `file` is only a name for messages.
OrErrors<CurveFile> parse_curve_points(std::string_view text, const std::string& file);

}  // namespace antiphase
