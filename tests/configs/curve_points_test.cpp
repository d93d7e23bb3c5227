#include "configs/curve_points.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "tests/support/within.h"

using namespace antiphase;

namespace {

CurveFile good(std::string_view text) {
  const auto read = parse_curve_points(text, "points.csv");
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<CurveFile>(read);
}

InputErrors bad(std::string_view text) {
  const auto read = parse_curve_points(text, "points.csv");
  REQUIRE(std::holds_alternative<InputErrors>(read));
  const InputErrors errors = std::get<InputErrors>(read);
  CHECK_FALSE(errors.unreadable);
  REQUIRE_FALSE(errors.list.empty());
  return errors;
}

}  // namespace

TEST_CASE("a file of readings in milliamperes becomes SI points and keeps its comments") {
  const CurveFile file = good("# Maker, sheet, page\n#within 1 V\nvg_v,va_v,ia_ma\n-1,100,0.5\n0,8.3,0.3\n");
  CHECK(file.comments == std::vector<std::string>{"Maker, sheet, page", "within 1 V"});
  REQUIRE(file.points.size() == 2);
  CHECK(file.points[0].grid_v == -1);
  CHECK(file.points[0].plate_v == 100);
  CHECK(within_ratio(file.points[0].plate_current_a, 0.5e-3, 1e-15));
  CHECK(within_ratio(file.points[1].plate_current_a, 0.3e-3, 1e-15));
}

TEST_CASE("columns may stand in any order, in amperes, with spaces, CR LF and a byte order mark") {
  const CurveFile file =
      good("\xEF\xBB\xBF ia_a , vg_v,\tva_v\r\n\r\n 1.2e-3 , -2 , +250 \r\n# late remark\r\n0.0005,-1,100");
  REQUIRE(file.points.size() == 2);
  CHECK(file.points[0].plate_current_a == 1.2e-3);
  CHECK(file.points[0].grid_v == -2);
  CHECK(file.points[0].plate_v == 250);
  CHECK(file.points[1].plate_v == 100);
  CHECK(file.comments == std::vector<std::string>{"late remark"});
}

TEST_CASE("readings of no current are points too") {
  CHECK(good("vg_v,va_v,ia_ma\n-5,100,0\n").points[0].plate_current_a == 0);
}

TEST_CASE("every bad line is told with its number and what would be right") {
  struct Case {
    std::string row;
    int column;
    std::string description;
  };
  const std::vector<Case> cases{
      {"-1,100", 1, "must have 3 numbers, has 2"},
      {"-1,100,0.5,7", 1, "must have 3 numbers, has 4"},
      {"-1;100;0.5", 1, "must have 3 numbers, has 1"},
      {"-1,100,", 8, "ia_ma must be a plain number, is \"\""},
      {"-1,100,0.5mA", 8, "ia_ma must be a plain number, is \"0.5mA\""},
      {"-1,1e2x,0.5", 4, "va_v must be a plain number"},
      {"nan,100,0.5", 1, "vg_v must be a plain number"},
      {"-1,inf,0.5", 4, "va_v must be a plain number"},
      {"-1,1e999,0.5", 4, "va_v must be a plain number"},
      {"-1,0x10,0.5", 4, "va_v must be a plain number"},
      {"-1,100,-0.5", 8, "ia_ma must be from 0 to 10000 (mA), is -0.5"},
      {"-1,0,0.5", 4, "va_v must be above 0 and at most 10000 (V), is 0"},
      {"-1,-5,0.5", 4, "va_v must be above 0"},
      {"-1,20000,0.5", 4, "va_v must be above 0 and at most 10000 (V), is 20000"},
      {"60,100,0.5", 1, "vg_v must be from -500 to 50 (V), is 60"},
      {"-1,100,20000", 8, "ia_ma must be from 0 to 10000 (mA), is 20000"},
  };
  for (const Case& c : cases) {
    CAPTURE(c.row);
    const InputErrors errors = bad("# remark\nvg_v,va_v,ia_ma\n0,50,1\n" + c.row + "\n0,60,1.2\n");
    REQUIRE(errors.list.size() == 1);
    CHECK(errors.list[0].line == 4);
    CHECK(errors.list[0].column == c.column);
    CHECK(errors.list[0].what.find(c.description) != std::string::npos);
  }
}

TEST_CASE("all bad lines are told at once") {
  const InputErrors errors = bad("vg_v,va_v,ia_ma\n0,50,x\n0,60,1\ny,z,1\n");
  REQUIRE(errors.list.size() == 3);
  CHECK(errors.list[0].line == 2);
  CHECK(errors.list[1].line == 4);
  CHECK(errors.list[2].line == 4);
  CHECK(in_words(errors).find("points.csv:2:6: ") != std::string::npos);
}

TEST_CASE("a header that does not name the three quantities is told, and rows are not guessed at") {
  const std::vector<std::string> headers{
      "0,50,1", "vg_v,va_v", "vg_v,va_v,ia", "vg_v,va_v,ia_ma,ia_a", "vg_v,vg_v,ia_ma", "VG_V,va_v,ia_ma"};
  for (const std::string& header : headers) {
    CAPTURE(header);
    const InputErrors errors = bad(header + "\n0,50,1\nnonsense\n");
    for (const InputError& error : errors.list) CHECK(error.line == 1);
  }
  CHECK(bad("").list[0].what.find("no header line") != std::string::npos);
  CHECK(bad("# only a remark\n").list[0].what.find("vg_v,va_v,ia_ma") != std::string::npos);
  CHECK(bad("vg_v,va_v,ia_ma\n# nothing\n").list[0].what.find("no points") != std::string::npos);
}

TEST_CASE("a missing file and a folder are unreadable, not malformed") {
  for (const char* name :
       {ANTIPHASE_SOURCE "/configs/curves/no such file.csv", ANTIPHASE_SOURCE "/configs"}) {
    const auto read = read_curve_points(name);
    REQUIRE(std::holds_alternative<InputErrors>(read));
    CHECK(std::get<InputErrors>(read).unreadable);
  }
}

TEST_CASE("every committed file of readings is read whole and says where it is from") {
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/curves")) {
    CAPTURE(entry.path().filename().string());
    const auto read = read_curve_points(entry.path().string());
    REQUIRE(std::holds_alternative<CurveFile>(read));
    const auto& file = std::get<CurveFile>(read);
    CHECK(file.points.size() >= 20);
    REQUIRE_FALSE(file.comments.empty());
    CHECK(file.comments.front().find("+-") != std::string::npos);  // the accuracy of the readings
    ++files;
  }
  CHECK(files == 8);
}
