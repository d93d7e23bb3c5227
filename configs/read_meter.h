/// Reads what a meter read: a file of readings, or one line of it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "configs/input_errors.h"
#include "objectives/diagnosis/diagnosis.h"

namespace antiphase {

struct MeterReading {
  std::size_t place = 0;  ///< in bench_readings(design), and behind them in MeterFile::more
  double volts = 0;
  double step_v = 0;                   ///< of the last digit that is written
  std::optional<double> accuracy_pct;  ///< of this reading; empty: the meter's
  int line = 0;
};

struct MeterFile {
  std::vector<MeterReading> readings;  ///< in the order of the file
  std::vector<BenchReading> more;      ///< what was read beside direct voltages: signals, the mains
  std::optional<double> meter_ohm, accuracy_pct;
};

/// The layout: lines that begin with # are comments; then one reading a line, name, value and, if it differs
/// from the meter's, its accuracy: `plate 1,206 V`, `plate 2,190,V,2%`, `cathode,68`. Names are those of the
/// measuring sheet or of its JSON, or the numbers of its test points ("TP2"), in any case, with a few words of German and of the trade in place of them
/// (anode, Anode, Kathode, Gitter, B+); a value without a unit is in volts. Semicolons or tabs may separate,
/// and a decimal comma is read then, or in quotes. `meter,10M` gives the meter's resistance, `accuracy,1%`
/// its accuracy. A signal at an output is `output 1 signal,31.0 Vrms,input 1.2 Vrms,at 1 kHz` (1 kHz without
/// it), with `load 100k` as a further cell where that was put across the output; `output 1,31.0 Vrms at 1
/// kHz,input 1.2 Vrms` is the same. `mains,236 V` and `heater,6.2 V` tell how high the supplies stand; `of
/// 120 V` as a further cell says what the mains should be. Failure: every bad line is an error with its
/// number; so is a reading that no such circuit can give, such as a plate above the supply, a voltage with
/// its sign turned, or a current.
OrErrors<MeterFile> read_meter(const std::string& file, const Design&);

/// The same from text in memory; `file` is only a name for messages.
OrErrors<MeterFile> parse_meter(std::string_view text, const std::string& file, const Design&);

/// One line, as it is typed at a terminal; the value alone if `expected` is the place of a reading.
/// @return the reading, or what is wrong with it.
std::variant<MeterReading, std::string> parse_meter_value(std::string_view text, std::size_t expected,
                                                          const std::vector<BenchReading>&, const Design&);

/// As the fit takes them: one reading a place, each with the meter's error.
Taken taken_of(const MeterFile&, const Design&);

}  // namespace antiphase
