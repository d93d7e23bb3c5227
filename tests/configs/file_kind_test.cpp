#include "configs/file_kind.h"

#include <doctest/doctest.h>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "tests/support/shipped.h"

using namespace antiphase;

namespace {

std::string configs(const std::string& name) {
  return ANTIPHASE_SOURCE "/configs/" + name;
}

}  // namespace

TEST_CASE("a brief where a design is wanted, and the other way round, is said in one line") {
  const auto& library = testing::shipped();
  const auto brief = read_design(configs("briefs/rehearsal_room.json"), library);
  REQUIRE(std::holds_alternative<InputErrors>(brief));
  REQUIRE(std::get<InputErrors>(brief).list.size() == 1);
  CHECK(std::get<InputErrors>(brief).list[0].what.starts_with("is a brief, not a design"));
  CHECK(std::get<InputErrors>(brief).list[0].what.find("antiphase search") != std::string::npos);
  const auto design = read_brief(configs("designs/negative_rail_sink.json"), library);
  REQUIRE(std::holds_alternative<InputErrors>(design));
  REQUIRE(std::get<InputErrors>(design).list.size() == 1);
  CHECK(std::get<InputErrors>(design).list[0].what.starts_with("is a design, not a brief"));
  CHECK(std::get<InputErrors>(design).list[0].what.find("antiphase evaluate") != std::string::npos);
  const auto card = read_design(configs("tubes/12AX7.json"), library);
  REQUIRE(std::holds_alternative<InputErrors>(card));
  CHECK(std::get<InputErrors>(card).list[0].what.starts_with("is a tube card"));
}

TEST_CASE("a file that is of the wanted kind or of none is left to its reader") {
  const auto kind = [](const std::string& text, FileKind wanted) {
    return other_kind(std::get<JsonDocument>(parse_json(text, "t")).root, wanted);
  };
  CHECK(kind("{}", FileKind::brief).empty());
  CHECK(kind("[]", FileKind::design).empty());
  CHECK(kind(R"({"stage": "x", "tube": "12AX7"})", FileKind::design).empty());
  CHECK(kind(R"({"stage": "x", "tubes": [], "variables": {}})", FileKind::brief).empty());
}
