#include "configs/read_meter.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "configs/csv_cells.h"
#include "configs/input_error_list.h"
#include "configs/nearest_names.h"
#include "configs/read_bytes.h"
#include "objectives/diagnosis/test_points.h"
#include "results/text/read_quantity.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

constexpr std::size_t kMostBytes = 1 << 20;
constexpr double kLeastMeter_ohm = 1e3, kMostMeter_ohm = 1e12;
constexpr double kLeastAccuracy_pct = 0.001, kMostAccuracy_pct = 50;

// Names.

struct OtherWord {
  std::string_view word, ours;
};
/// Word by word, in lower case. Empty: says nothing.
constexpr std::array kOtherWords{OtherWord{"anode", "plate"},
                                 OtherWord{"platte", "plate"},
                                 OtherWord{"kathode", "cathode"},
                                 OtherWord{"gitter", "grid"},
                                 OtherWord{"ausgang", "output"},
                                 OtherWord{"versorgung", "supply"},
                                 OtherWord{"speisung", "supply"},
                                 OtherWord{"betriebsspannung", "supply"},
                                 OtherWord{"speisespannung", "supply"},
                                 OtherWord{"b+", "supply"},
                                 OtherWord{"ht", "supply"},
                                 OtherWord{"hauptspeisung", "main supply"},
                                 OtherWord{"erste", "first"},
                                 OtherWord{"1st", "first"},
                                 OtherWord{"stufe", "stage"},
                                 OtherWord{"über", "across"},
                                 OtherWord{"anodenwiderstand", "plate resistor"},
                                 OtherWord{"fußpunkt", "leak node"},
                                 OtherWord{"negative", ""},
                                 OtherWord{"the", ""},
                                 OtherWord{"v", ""},
                                 OtherWord{"dc", ""},
                                 OtherWord{"of", ""},
                                 OtherWord{"resistor", ""},
                                 OtherWord{"behind", ""},
                                 OtherWord{"its", ""},
                                 OtherWord{"capacitor", ""},
                                 OtherWord{"stage", ""}};

/// What a name comes to: lower case, our words, single spaces.
std::string plain_name(std::string_view text) {
  const std::string lower = in_lower_case(text);
  std::string out, word;
  const auto end_word = [&] {
    std::string_view ours = word;
    for (const OtherWord& o : kOtherWords)
      if (o.word == word) ours = o.ours;
    if (!ours.empty()) out += (out.empty() ? "" : " ") + std::string(ours);
    word.clear();
  };
  for (const char c : lower) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '+' || (c & 0x80) != 0;
    const bool number_begins =
        c >= '0' && c <= '9' && !word.empty() && !(word.back() >= '0' && word.back() <= '9');
    if (!letter || number_begins) end_word();
    if (letter) word += c;
    if (word == "1st") end_word();
  }
  end_word();
  return out;
}

/// Further names of readings that people use; by plain name.
struct OtherName {
  std::string_view name, reading;
};
constexpr std::array kOtherNames{OtherName{"plate", "plate_1_v"},
                                 OtherName{"grid", "grid_v"},
                                 OtherName{"bias", "bias_v"},
                                 OtherName{"tail", "tail_v"},
                                 OtherName{"plate difference", "plate_difference_v"},
                                 OtherName{"output", "output_1_dc_v"},
                                 OtherName{"output 1", "output_1_dc_v"},
                                 OtherName{"output 2", "output_2_dc_v"},
                                 OtherName{"rail", "rail_v"}};

/// The place of a reading by its name, or -1.
int place_named(std::string_view text, const std::vector<BenchReading>& readings) {
  const std::string name = plain_name(text);
  for (std::size_t k = 0; k < readings.size(); ++k)
    for (const std::string_view own :
         {readings[k].label, readings[k].name, readings[k].also_label, readings[k].also_name})
      if (!own.empty() && plain_name(own) == name) return static_cast<int>(k);
  for (const OtherName& other : kOtherNames)
    if (other.name == name) return place_of_reading(readings, other.reading);
  return -1;
}

std::string no_such_reading(std::string_view text, const std::vector<BenchReading>& readings) {
  std::vector<std::string_view> labels;
  for (const BenchReading& r : readings) labels.push_back(r.label);
  std::string lower = in_lower_case(text);
  const std::string meant = did_you_mean(nearest_names(lower, labels, 2));
  return in_quotes(text) + " is no reading of this design" +
         (meant.empty() ? "; it has " + all_of({labels.begin(), labels.end()}) : meant);
}

// Values.

struct Cells {
  std::vector<std::string> cell;
  bool comma_is_decimal = false;
};

/// Split at semicolons or tabs if there are any, else at commas outside quotes.
Cells cells_of(std::string_view line) {
  Cells out;
  const char between = line.find(';') != std::string_view::npos    ? ';'
                       : line.find('\t') != std::string_view::npos ? '\t'
                                                                   : ',';
  out.comma_is_decimal = between != ',';
  std::string cell;
  bool quoted = false;
  for (const char c : line) {
    if (c == '"')
      quoted = !quoted;
    else if (c == between && !quoted) {
      out.cell.emplace_back(trimmed(cell));
      cell.clear();
    } else {
      if (c == ',' && quoted) out.comma_is_decimal = true;
      cell += c;
    }
  }
  out.cell.emplace_back(trimmed(cell));
  return out;
}

/// The step of the last digit: 0.1 of "39.6", 1 of "206", 100 of "0.2k" V.
double step_of(std::string_view text, double value) {
  double mantissa = 0;
  int decimals = 0;
  bool point = false;
  std::string digits;
  for (const char c : text) {
    if (c >= '0' && c <= '9') {
      digits += c;
      decimals += point;
    } else if (c == '.' && !point) {
      point = true;
      digits += c;
    } else if (!digits.empty()) {
      break;
    }
  }
  std::from_chars(digits.data(), digits.data() + digits.size(), mantissa);
  const double unit = mantissa > 0 ? std::abs(value) / mantissa : 1;
  return unit * std::pow(10.0, -decimals);
}

bool is_current(std::string_view text) {
  return read_quantity(text, "A") && !read_quantity(text, "V");
}

std::string with_point(std::string text) {
  std::replace(text.begin(), text.end(), ',', '.');
  return text;
}

struct Value {
  double volts = 0, step_v = 0;
};
std::variant<Value, std::string> value_of(std::string text) {
  const auto volts = read_quantity(text, "V");
  if (volts) return Value{*volts, step_of(text, *volts)};
  if (is_current(text))
    return in_quotes(text) +
           " is a current; readings are voltages. Give the voltage across a resistor that it "
           "runs through, such as across plate resistor 1";
  const std::string slip = slip_in_number(text, "V");
  if (!slip.empty()) return in_quotes(text) + " " + slip;
  return in_quotes(text) + " is no voltage; write it as 206, \"206 V\" or \"39.6 V\"";
}

std::optional<double> percent_of(std::string_view text) {
  const auto pct = read_quantity(text, "%");
  if (!pct || *pct < kLeastAccuracy_pct || *pct > kMostAccuracy_pct) return std::nullopt;
  return pct;
}

// What cannot be.

/// A reading by itself: what no such circuit can give, as a question; empty if it can.
std::string impossible(const BenchReading& r, double volts, const Design& d) {
  const Circuit& c = circuit_of(d);
  constexpr double kMost = 1.4;  // mains high, a first estimate of the supply: beyond it somebody slipped
  constexpr double kLeastBelow_v = 3;  // a grid that floats stands a volt or two below ground
  double high = 0, low = 0;
  for (const Element& e : c)
    if ((e.kind == ElementKind::held || e.kind == ElementKind::driven) && e.there(d)) {
      high = std::max(high, e.value(d));
      low = std::min(low, e.value(d));
    }
  const std::string shown = exactly(volts, "V");
  if (std::abs(volts) > kMost * (high - low))
    return shown + " is more than a supply of " + engineering_text(high, "V") +
           " can give; is the decimal point where it should be?";
  const bool either_way = r.name == "plate_difference_v" || r.name == "rail_v";
  if (r.name == "rail_v" && volts > 0)
    return shown + " is above ground, and the rail is below it; were the leads swapped?";
  if (!either_way && low >= 0 && volts < -kLeastBelow_v)
    return shown + " is below 0, which nothing in this circuit can be; were the leads swapped?";
  return {};
}

/// The parts of a row that tells of a signal or of the mains: cells, and in them what "at" sets apart.
std::vector<std::string> parts_of(const Cells& cells) {
  std::vector<std::string> parts;
  for (std::size_t k = 1; k < cells.cell.size(); ++k) {
    std::string cell = cells.comma_is_decimal ? with_point(cells.cell[k]) : cells.cell[k];
    if (const auto place = in_lower_case(cell).find(" at "); place != cell.npos) {
      parts.emplace_back(trimmed(std::string_view(cell).substr(0, place)));
      cell.erase(0, place + 1);
    }
    if (!cell.empty()) parts.push_back(std::move(cell));
  }
  return parts;
}

/// "31.0 Vrms" and "1.2 V rms" as volts; of anything else nothing.
std::optional<double> rms_of(std::string text) {
  if (const auto rms = in_lower_case(text).find("rms"); rms != text.npos) text.erase(rms);
  return read_quantity(trimmed(text), "V");
}

/// What follows a word in any case, or nothing if the text does not begin with it.
std::optional<std::string> behind(std::string_view word, const std::string& text) {
  if (!in_lower_case(text).starts_with(word) || text.size() == word.size()) return std::nullopt;
  return std::string(trimmed(std::string_view(text).substr(word.size())));
}

constexpr double kLeastHz = 1, kMostHz = 1e6, kMostInput_v = 100, kMostOutput_v = 1000;
constexpr double kLeastLoad_ohm = 100, kMostLoad_ohm = 1e9;
constexpr double kSignal_hz = 1e3;

class Parser {
 public:
  Parser(std::string_view text, const std::string& file, const Design& d)
      : design_(d), readings_(bench_readings(d)), errors_(file) {
    for_each_line(text, [&](std::string_view line) {
      ++line_;
      read_line(trimmed(line));
    });
    line_ = std::max(line_, 1);
    if (out_.readings.empty() && errors_.empty())
      error("holds no readings; write one a line, such as \"plate 1,206 V\"");
    if (errors_.empty()) above_supply();
  }

  OrErrors<MeterFile> take() {
    if (!errors_.empty()) return errors_.take();
    return std::move(out_);
  }

 private:
  void error(std::string what) { errors_.add("", {line_, 1}, std::move(what)); }

  /// The reading against ground at a test point, "TP2", or -1.
  int place_at_point(std::string_view text) const {
    const std::string name = plain_name(text);
    if (!name.starts_with("tp ")) return -1;
    for (const TestPoint& point : test_points(design_)) {
      if (name != "tp " + std::to_string(point.number)) continue;
      const auto it = std::find_if(readings_.begin(), readings_.end(), [&](const BenchReading& r) {
        return r.a == point.node && r.b == kGround;
      });
      return it == readings_.end() ? -1 : static_cast<int>(it - readings_.begin());
    }
    return -1;
  }

  void read_line(std::string_view line) {
    if (line.empty() || line.front() == '#' || errors_.full()) return;
    const Cells cells = cells_of(line);
    if (cells.cell.size() < 2)
      return error("must have a name and a value, such as \"plate 1,206 V\"; is " + in_quotes(line));
    if (of_meter(cells) || header(cells) || of_signal(cells) || of_mains(cells)) return;
    int place = place_named(cells.cell[0], readings_);
    if (place < 0) place = place_at_point(cells.cell[0]);
    if (place < 0) return error(no_such_reading(cells.cell[0], readings_));
    read_value(cells, static_cast<std::size_t>(place));
  }

  bool header(const Cells& cells) { return out_.readings.empty() && in_lower_case(cells.cell[1]) == "value"; }

  bool of_meter(const Cells& cells) {
    const std::string name = in_lower_case(cells.cell[0]);
    const std::string value = cells.comma_is_decimal ? with_point(cells.cell[1]) : cells.cell[1];
    if (name == "meter") {
      const auto ohm = read_quantity(value, "ohm");
      if (ohm && *ohm >= kLeastMeter_ohm && *ohm <= kMostMeter_ohm)
        out_.meter_ohm = *ohm;
      else
        error("meter is its resistance, from 1 kΩ to 1 TΩ, such as \"meter,10M\"; is " + in_quotes(value));
      return true;
    }
    if (name != "accuracy") return false;
    const auto pct = percent_of(value);
    if (pct)
      out_.accuracy_pct = *pct;
    else
      error("accuracy is the meter's, in % of the reading, such as \"accuracy,1%\"; is " + in_quotes(value));
    return true;
  }

  /// The number of the output that a row's name gives if the row is of a signal, or nothing.
  std::optional<int> output_named(const Cells& cells) const {
    std::string name = plain_name(cells.cell[0]);
    const bool signal = name.ends_with(" signal"),
               rms = in_lower_case(cells.cell[1]).find("rms") != std::string::npos;
    if (!signal && !rms) return std::nullopt;
    if (signal) name.erase(name.size() - std::string_view(" signal").size());
    if (name == "output" || name == "output 1") return 0;
    if (name == "output 2") return 1;
    return -1;
  }

  /// False if the row is of something else; errors are told.
  bool of_signal(const Cells& cells) {
    const auto output = output_named(cells);
    if (!output) return false;
    if (*output < 0 || *output >= circuit_of(design_).outputs) {
      error(in_quotes(cells.cell[0]) + " is no output of this design; a signal is read at " +
            (circuit_of(design_).outputs == 2 ? "output 1 or output 2" : "output 1"));
      return true;
    }
    BenchReading r = signal_reading(design_, *output, kSignal_hz, 0, 0);
    MeterReading read;
    for (const std::string& part : parts_of(cells))
      if (const std::string wrong = take_signal_part(part, r, read); !wrong.empty()) {
        error(wrong);
        return true;
      }
    if (!(read.volts > 0))
      error("a signal is V rms at the output, such as \"output 1 signal,31.0 Vrms,input 1.2 Vrms,at 1 kHz\"");
    else if (!(r.input_v > 0))
      error("does not say what stands at the input meanwhile; add a cell such as \"input 1.2 Vrms\"");
    else
      keep(r, read);
    return true;
  }

  /// @return what is wrong with it.
  std::string take_signal_part(const std::string& part, BenchReading& r, MeterReading& read) const {
    if (part.find('%') != part.npos) {
      read.accuracy_pct = percent_of(part);
      return read.accuracy_pct ? ""
                               : "accuracy must be from 0.001 to 50 %, such as 2%; is " + in_quotes(part);
    }
    if (const auto input = behind("input", part)) {
      const auto v = rms_of(*input);
      if (!v || !(*v > 0) || *v > kMostInput_v)
        return "input is V rms, above 0 and at most 100; is " + in_quotes(*input);
      r.input_v = *v;
      return {};
    }
    if (const auto load = behind("load", part)) {
      const auto ohm = read_quantity(*load, "ohm");
      if (!ohm || *ohm < kLeastLoad_ohm || *ohm > kMostLoad_ohm)
        return "load is a resistance from 100 Ω to 1 GΩ, such as \"load 100k\"; is " + in_quotes(*load);
      r.load_ohm = *ohm;
      return {};
    }
    const auto at = behind("at ", part);
    const auto hz = at ? read_quantity(*at, "Hz") : std::nullopt;
    if (at) {
      if (!hz || *hz < kLeastHz || *hz > kMostHz)
        return "a frequency is from 1 Hz to 1 MHz, such as \"at 1 kHz\"; is " + in_quotes(*at);
      r.hz = *hz;
      return {};
    }
    const auto v = rms_of(part);
    if (!v || read.volts > 0 || !(*v > 0) || *v > kMostOutput_v)
      return in_quotes(part) +
             " is none of: V rms at the output (above 0, at most 1000), \"input 1.2 Vrms\", \"at 1 kHz\", "
             "\"load 100k\", an accuracy in %";
    read.volts = *v;
    read.step_v = step_of(part, *v);
    return {};
  }
  bool of_mains(const Cells& cells) {
    const std::string name = plain_name(cells.cell[0]);
    const bool heater = name == "heater" || name == "heaters" || name == "heizung",
               mains = name == "mains" || name == "netz" || name == "netzspannung";
    if (!heater && !mains) return false;
    constexpr double kEurope_v = 230, kAmerica_v = 120, kBetween_v = 165;  // IEC 60038
    MeterReading read;
    double nominal_v = 0;
    for (const std::string& part : parts_of(cells)) {
      if (part.find('%') != part.npos) {
        read.accuracy_pct = percent_of(part);
        if (!read.accuracy_pct)
          return error("accuracy must be from 0.001 to 50 %, such as 2%; is " + in_quotes(part)), true;
        continue;
      }
      const auto of = behind("of ", part);
      const auto v = rms_of(of ? *of : part);
      if (!v || !(*v > 0) || (!of && read.volts > 0))
        return error(in_quotes(part) + " is no voltage; write it as \"" +
                     (heater ? "heater,6.2 V" : "mains,236 V") + "\""),
               true;
      (of ? nominal_v : read.volts) = *v;
      if (!of) read.step_v = step_of(part, *v);
    }
    if (nominal_v == 0)
      nominal_v = heater ? design_.tube[0]->heater.volt_v : read.volts < kBetween_v ? kAmerica_v : kEurope_v;
    constexpr double kFar = 1.4;  // either way: beyond it somebody slipped
    if (read.volts < nominal_v / kFar || read.volts > nominal_v * kFar)
      error(std::string(heater ? "heater: " : "mains: ") + exactly(read.volts, "V") + " is far from the " +
            exactly(nominal_v, "V") +
            " that it should be; if it should be another voltage, add a cell such as \"of " +
            (heater ? "12.6 V" : "120 V") + "\"");
    else
      keep(mains_reading(heater, nominal_v), read);
    return true;
  }

  void keep(const BenchReading& what, MeterReading read) {
    const auto same = [&](const BenchReading& r) {
      return r.name == what.name && r.hz == what.hz && r.load_ohm == what.load_ohm;
    };
    const auto other = std::find_if(out_.more.begin(), out_.more.end(), same);
    if (other != out_.more.end()) {
      const std::size_t place = readings_.size() + static_cast<std::size_t>(other - out_.more.begin());
      const auto first = std::find_if(out_.readings.begin(), out_.readings.end(),
                                      [&](const MeterReading& r) { return r.place == place; });
      return error(std::string(what.label) + " stands in line " + std::to_string(first->line) +
                   " already; keep the one that holds");
    }
    if (readings_.size() + out_.more.size() == kMostBenchReadings)
      return error("is one signal too many for this design; leave out those that tell least");
    read.place = readings_.size() + out_.more.size();
    read.line = line_;
    out_.more.push_back(what);
    out_.readings.push_back(read);
  }

  void read_value(const Cells& cells, std::size_t place) {
    std::vector<std::string> rest(cells.cell.begin() + 1, cells.cell.end());
    while (rest.size() > 1 && rest.back().empty()) rest.pop_back();
    MeterReading r;
    r.place = place;
    r.line = line_;
    if (rest.size() > 1 && rest.back().find('%') != std::string::npos) {
      r.accuracy_pct = percent_of(cells.comma_is_decimal ? with_point(rest.back()) : rest.back());
      if (!r.accuracy_pct)
        return error("accuracy must be from 0.001 to 50 %, such as 2%; is " + in_quotes(rest.back()));
      rest.pop_back();
    }
    if (rest.size() == 2 && !rest[1].empty() && (rest[1].front() < '0' || rest[1].front() > '9')) {
      rest[0] += " " + rest[1];  // the unit in a cell of its own
      rest.pop_back();
    }
    if (rest.size() > 1)
      return error(in_quotes(rest[0] + "," + rest[1]) + " has a decimal comma; write \"" + rest[0] + "." +
                   rest[1] + "\", or put semicolons between the cells");
    const auto value = value_of(cells.comma_is_decimal ? with_point(rest[0]) : rest[0]);
    if (const auto* what = std::get_if<std::string>(&value)) return error(*what);
    r.volts = std::get<Value>(value).volts;
    r.step_v = std::get<Value>(value).step_v;
    const std::string no = impossible(readings_[place], r.volts, design_);
    if (!no.empty()) return error(std::string(readings_[place].label) + ": " + no);
    for (const MeterReading& other : out_.readings)
      if (other.place == place)
        return error(std::string(readings_[place].label) + " stands in line " + std::to_string(other.line) +
                     " already; keep the one that holds");
    out_.readings.push_back(r);
  }

  /// Nothing but the supply's own node stands as high as the supply, if both were read.
  void above_supply() {
    constexpr double kBoth_pct = 3;  // what both readings may be off
    const auto of = [&](std::string_view name) {
      return std::find_if(out_.readings.begin(), out_.readings.end(), [&](const MeterReading& r) {
        return r.place < readings_.size() && readings_[r.place].name == name;
      });
    };
    auto supply = of("main_supply_v");
    if (supply == out_.readings.end()) supply = of("supply_v");
    if (supply == out_.readings.end()) return;
    for (const MeterReading& r : out_.readings) {
      if (&r == &*supply || r.place >= readings_.size() || r.volts <= supply->volts * (1 + kBoth_pct / 100))
        continue;
      const bool behind =
          readings_[supply->place].name == "supply_v" && readings_[r.place].name == "main_supply_v";
      if (behind || readings_[r.place].b != kGround) continue;
      line_ = r.line;
      error(std::string(readings_[r.place].label) + " at " + exactly(r.volts, "V") + " stands above the " +
            std::string(readings_[supply->place].label) + " at " + exactly(supply->volts, "V") + " of line " +
            std::to_string(supply->line) + "; which of them is right?");
    }
  }

  const Design& design_;
  std::vector<BenchReading> readings_;
  MeterFile out_;
  InputErrorList errors_;
  int line_ = 0;
};

}  // namespace

OrErrors<MeterFile> parse_meter(std::string_view text, const std::string& file, const Design& d) {
  return Parser(text, file, d).take();
}

OrErrors<MeterFile> read_meter(const std::string& file, const Design& d) {
  auto bytes = read_bytes(file, kMostBytes);
  if (auto* errors = std::get_if<InputErrors>(&bytes)) return std::move(*errors);
  const std::string& text = std::get<std::string>(bytes);
  if (text.size() > kMostBytes) {
    InputErrorList errors(file);
    errors.add("", {}, "is longer than 1 MiB; a file of readings has some lines");
    return errors.take();
  }
  return parse_meter(text, file, d);
}

std::variant<MeterReading, std::string> parse_meter_value(std::string_view text, std::size_t expected,
                                                          const std::vector<BenchReading>& readings,
                                                          const Design& d) {
  const auto value = value_of(with_point(std::string(trimmed(text))));
  if (const auto* what = std::get_if<std::string>(&value)) return *what;
  const auto [volts, step_v] = std::get<Value>(value);
  std::string no = impossible(readings[expected], volts, d);
  if (!no.empty()) return no;
  return MeterReading{expected, volts, step_v, std::nullopt, 0};
}

Taken taken_of(const MeterFile& file, const Design& d) {
  std::vector<BenchReading> readings = bench_readings(d);
  readings.insert(readings.end(), file.more.begin(), file.more.end());
  Taken t;
  for (const MeterReading& r : file.readings) {
    t.wanted |= 1u << r.place;
    t.volts[r.place] = r.volts;
    const double accuracy_pct = r.accuracy_pct.value_or(file.accuracy_pct.value_or(kMeterAccuracy_pct));
    t.deviation_v[r.place] = reading_deviation_v(readings[r.place], r.volts, accuracy_pct, r.step_v);
  }
  return t;
}

}  // namespace antiphase
