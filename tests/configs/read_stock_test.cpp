// A list of parts on hand: what is read, and what is said of what is wrong.
#include "configs/read_stock.h"

#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "configs/read_brief.h"
#include "tests/configs/example_files.h"
#include "tests/support/program.h"
#include "tests/support/shipped.h"

using namespace antiphase;

namespace {

Stock good(const std::string& text) {
  auto read = parse_stock(text, "parts.csv");
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<StockFile>(read).stock;
}

std::string bad(const std::string& text) {
  const auto read = parse_stock(text, "parts.csv");
  const auto* errors = std::get_if<InputErrors>(&read);
  return errors ? in_words(*errors) : "";
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("a list of parts: any order of columns, comments, numbers as people write them") {
  const Stock stock = good(
      "\xEF\xBB\xBF# my drawer\r\n\nquantity, kind ,value\r\n4,resistor,4k7\n# more\n1,capacitor,100n\n"
      "2 , resistor , 470\n");
  REQUIRE(stock.resistors.size() == 2);
  CHECK(stock.resistors[0].value == 470);  // ascending
  CHECK(stock.resistors[0].pieces == 2);
  CHECK(stock.resistors[1].value == 4700);
  CHECK(stock.resistors[1].pieces == 4);
  REQUIRE(stock.capacitors.size() == 1);
  CHECK(stock.capacitors[0].value == 1e-7);
}

TEST_CASE("every bad line is told with its number and what would be right") {
  CHECK(has(bad(""), "is empty: its first line must be kind,value,quantity"));
  CHECK(has(bad("# only a comment\n"), "is empty"));
  CHECK(has(bad("kind,value,quantity\n\n"), "lists no parts below its first line"));
  CHECK(has(bad("resistor,47k,2\n"), "parts.csv:1:1: must name the columns, kind,value,quantity"));
  CHECK(has(bad("kind,value,quantity,power\nresistor,47k,2,1\n"), "must name the columns"));
  const std::string all =
      bad("kind,value,quantity\nresistor,47k\nvalve,47k,1\nresistor,1.5mA,1\nresistor,0,1\nresistor,47k,0\n"
          "resistor,47k,1.5\nresistor,47k,-1\nresistor,47k,2\nresistor,47000,1\n");
  CHECK(has(all, "parts.csv:2:1: must have a kind, a value and a quantity, has 2 entries"));
  CHECK(has(all, "parts.csv:3:1: kind must be resistor or capacitor, is \"valve\""));
  CHECK(has(all, "parts.csv:4:1: value must be from 1 Ω"));
  CHECK(has(all, "parts.csv:5:1: value must be from 1 Ω"));
  CHECK(has(all,
            "parts.csv:6:1: quantity must be a whole number from 1 to 10000, is \"0\"; leave a value out"));
  CHECK(has(all, "parts.csv:7:1: quantity"));
  CHECK(has(all, "parts.csv:8:1: quantity"));
  CHECK(!has(all, "parts.csv:9:"));
  CHECK(has(all, "parts.csv:10:1: lists 47 kΩ again"));
}

TEST_CASE("a brief finds its list beside it, and tells the list's faults with their lines") {
  testing::Folder folder;
  auto brief = test::Json::parse(std::ifstream(ANTIPHASE_SOURCE "/configs/briefs/out_of_the_drawer.json"));
  const std::string file = (folder / "brief.json").string();
  const auto read_with = [&](const std::string& list) {
    testing::write_text(folder / "drawer.csv", list);
    testing::write_text(file, brief.dump(1));
    return read_brief(file, testing::shipped());
  };
  const std::string list = testing::read_text(ANTIPHASE_SOURCE "/configs/briefs/drawer.csv");
  const auto whole = read_with(list);
  REQUIRE(std::holds_alternative<Brief>(whole));
  CHECK(std::get<Brief>(whole).space.on_hand->resistors.size() == 14);
  CHECK(std::get<Brief>(whole).space.plate_2_of_two);
  // another list is another brief, so that a run is not gone on with from the wrong one
  const auto more = read_with(list + "resistor,150k,1\n");
  CHECK(std::get<Brief>(more).digest != std::get<Brief>(whole).digest);

  const auto said = [&](const std::string& text) {
    const auto read = read_with(text);
    const auto* errors = std::get_if<InputErrors>(&read);
    return errors ? in_words(*errors) : std::string("nothing");
  };
  CHECK(has(said("kind,value,quantity\nresistor,47k,0\n"),
            "/parts/on_hand: drawer.csv, line 2: quantity must"));
  CHECK(has(said(""), "drawer.csv, line 1: is empty"));
  CHECK(has(said("kind,value,quantity\nresistor,1M,4\n"),
            "has nothing in range: no resistor on hand from 22 kΩ to 150 kΩ for the plates (plate_ohm)"));
  brief["parts"]["resistors"] = "E24";
  CHECK(has(said(list), "/parts/resistors: has no meaning with on_hand"));
}
