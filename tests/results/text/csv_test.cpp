#include "results/text/csv.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace antiphase;

TEST_CASE("fields with commas, quotes and line breaks are quoted as RFC 4180 section 2 has it") {
  CsvTable csv;
  csv.text("plain").text("a,b").text("say \"x\"").text("two\nlines").end_row();
  CHECK(std::move(csv).take() == "plain,\"a,b\",\"say \"\"x\"\"\",\"two\nlines\"\r\n");
}

TEST_CASE("text that a spreadsheet would run as a formula is disarmed, numbers are not") {
  CsvTable csv;
  csv.text("=1+1").text("+x").text("-x").text("@SUM(A1)").text("\tx").number(-1.5).end_row();
  CHECK(std::move(csv).take() == "'=1+1,'+x,'-x,'@SUM(A1),'\tx,-1.5\r\n");
}

TEST_CASE("numbers are shortest and exact, what is none leaves its field empty") {
  CsvTable csv;
  csv.number(0.1).number(47000.0).number(std::nullopt).number(std::nan("")).number(INFINITY).number(-0.0);
  csv.integer(-3).end_row();
  CHECK(std::move(csv).take() == "0.1,47000,,,,0,-3\r\n");
}
