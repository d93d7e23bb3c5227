// Readings of one very tube: how the file stands, and what is told of what cannot be.
#include "configs/tube_readings.h"

#include <doctest/doctest.h>

#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

TubeReadingsFile good(std::string_view text) {
  const auto read = parse_tube_readings(text, "tube.csv");
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<TubeReadingsFile>(read);
}

std::string bad(std::string_view text) {
  const auto read = parse_tube_readings(text, "tube.csv");
  const auto* errors = std::get_if<InputErrors>(&read);
  REQUIRE(errors);
  return in_words(*errors);
}

std::string impossible(std::string_view text, std::string_view type) {
  const Tube* tube = shipped().find(type);
  REQUIRE(tube);
  const InputErrors errors = impossible_readings(good(text), *tube, tube->law());
  return errors.list.empty() ? "" : in_words(errors);
}

bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("readings of one tube stand with their type, accuracy and sections") {
  const TubeReadingsFile f = good(
      "\xEF\xBB\xBF# bottle 7\r\ntube,ECC83\r\naccuracy,2%\nvg_v, va_v "
      ",ia_ma,section\n-2,250,1.31,2\n\n-1.5,150,0.62,1\n");
  CHECK(f.tube == "ECC83");
  CHECK(f.tube_line == 2);
  CHECK(f.place == TubePlace::splitter);
  REQUIRE(f.readings.size() == 2);
  CHECK(f.readings[0].section == 1);
  CHECK(f.readings[0].grid_v == -2);
  CHECK(f.readings[0].plate_v == 250);
  CHECK(within(f.readings[0].plate_a, 1.31e-3, 1e-12));
  CHECK(f.readings[1].section == 0);
  CHECK(f.readings[1].accuracy_pct == 2);
  CHECK(f.lines == std::vector{5, 7});
}

TEST_CASE("a file without type, accuracy and section is of section 1 of the tube that is there") {
  const TubeReadingsFile f = good("place,First Stage\nva_v,vg_v,ia_a\n100,-1,0.001\n");
  CHECK(f.tube.empty());
  CHECK(f.place == TubePlace::first_stage);
  CHECK(f.readings[0].section == 0);
  CHECK(f.readings[0].plate_a == 0.001);
  CHECK(f.readings[0].accuracy_pct == kTubeReadingAccuracy_pct);
}

TEST_CASE("every bad line of a tube's readings is told with its number and what would be right") {
  CHECK(has(bad(""), "tube.csv:1:1: has no line that names the columns"));
  CHECK(has(bad("vg_v,va_v,ia_ma\n"), "has no readings below"));
  CHECK(has(bad("vg_v,va_v\n-1,100\n"), "tube.csv:1:1: a column is missing; the line must be section,vg_v"));
  CHECK(has(bad("vg,va_v,ia_ma\n"), "tube.csv:1:1: \"vg\" is not a column"));
  CHECK(has(bad("ia_a,va_v,ia_ma\n"), "tube.csv:1:11: \"ia_ma\" gives a quantity"));
  CHECK(has(bad("vg_v,va_v,ia_ma\n-1,100,1,31\n"),
            "tube.csv:2:1: must have 3 numbers, has 4; a decimal comma"));
  CHECK(has(bad("vg_v,va_v,ia_ma\n1,100,1\n"), "tube.csv:2:1: vg_v must be from -500 to 0 (V)"));
  CHECK(has(bad("vg_v,va_v,ia_ma\n-1,0,1\n"), "tube.csv:2:4: va_v must be above 0"));
  CHECK(has(bad("vg_v,va_v,ia_ma\n-1,100,0\n"), "tube.csv:2:8: ia_ma must be above 0"));
  CHECK(has(bad("vg_v,va_v,ia_ma\n-1,100,1 mA\n"), "ia_ma must be a plain number, is \"1 mA\""));
  CHECK(has(bad("section,vg_v,va_v,ia_ma\n3,-1,100,1\n"), "section must be 1 or 2, is 3"));
  CHECK(has(bad("section,vg_v,va_v,ia_ma\n1.5,-1,100,1\n"), "section must be 1 or 2, is 1.5"));
  CHECK(has(bad("place,output\nvg_v,va_v,ia_ma\n-1,100,1\n"),
            "tube.csv:1:7: place is \"first stage\" or \"driver\""));
  CHECK(has(bad("accuracy,90%\nvg_v,va_v,ia_ma\n-1,100,1\n"),
            "accuracy is that of the currents, from 0.001 to 50 %"));
  CHECK(has(bad("vg_v,va_v,ia_ma\nnan,100,inf\n-1,1e9,1\n"), "tube.csv:3:4: va_v"));
}

TEST_CASE("currents that no tube of the type draws are asked about, line by line") {
  // 12AX7, data sheet: 1.2 mA at 250 V and -2 V.
  CHECK(impossible("vg_v,va_v,ia_ma\n-2,250,1.2\n-2,250,0.6\n-2,250,2.0\n", "12AX7").empty());
  const std::string amperes = impossible("vg_v,va_v,ia_a\n-2,250,1.2\n", "12AX7");
  CHECK(has(amperes, "tube.csv:2:1: a 12AX7 draws about 1.2"));
  CHECK(has(amperes, "is the current in the unit that its column names"));
  CHECK_FALSE(impossible("vg_v,va_v,ia_ma\n-2,250,0.1\n", "12AX7").empty());
  // Near cut-off a law may be far off, and the file says nothing wrong.
  CHECK(impossible("vg_v,va_v,ia_ma\n-2,250,1.2\n-4,250,0.08\n", "12AX7").empty());
}
