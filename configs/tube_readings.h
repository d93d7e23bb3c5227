/// Reads a CSV file of plate currents that were read of one very tube.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "configs/input_errors.h"
#include "objectives/diagnosis/own_tube.h"

namespace antiphase {

/// Where in an amplifier the tube stands.
enum class TubePlace { splitter, first_stage, driver };
/// "the splitter or gain stage", "the first stage", "the driver".
std::string_view name_of(TubePlace);

/// What a tester or a pair of meters is off in current where the file does not say, % (common practice, no
/// published source).
inline constexpr double kTubeReadingAccuracy_pct = 3;

struct TubeReadingsFile {
  std::string file;
  std::string tube;  ///< the type, as it is called there; empty: that of the design
  int tube_line = 1;
  TubePlace place = TubePlace::splitter;
  int place_line = 1;
  std::vector<TubeReading> readings;  ///< in the order of the file; one at least
  std::vector<int> lines;             ///< of each reading, from 1
};

/// The layout: lines that begin with # are comments. `tube,12AX7` names the type, `place,first stage` (or
/// `driver`) where it stands if that is not the splitter or gain stage, `accuracy,2%` what is off in the
/// currents. Then a line with the columns `vg_v`, `va_v` and `ia_ma` (or `ia_a`), as in files of curves, in
/// any order, and `section` (1 or 2) if both were read; without it all are of section 1. Then one reading a
/// line, plain numbers with a decimal point. Grid from -500 to 0 V, plate above 0 up to 10 kV, current above
/// 0 up to 10 A. Failure: every bad line is an error with its number and what would be right.
OrErrors<TubeReadingsFile> read_tube_readings(const std::string& file);

/// Of several files; the errors of all of them.
OrErrors<std::vector<TubeReadingsFile>> read_tube_readings(const std::vector<std::string>& files);

/// The same from text in memory; `file` is only a name for messages.
OrErrors<TubeReadingsFile> parse_tube_readings(std::string_view text, const std::string& file);

/// What no tube of the type can have drawn: a current further from the law's than the scatter of a type and
/// slips of the meter explain, as errors with their lines; empty if all can be.
InputErrors impossible_readings(const TubeReadingsFile&, const Tube&, const TriodeLaw&);

/// One error about a line of such a file.
InputErrors error_in(const TubeReadingsFile&, int line, std::string what);

}  // namespace antiphase
