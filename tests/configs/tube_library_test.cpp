#include "configs/tube_library.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "tests/configs/example_files.h"

using namespace antiphase;
using namespace antiphase::test;
namespace fs = std::filesystem;

namespace {

/// A folder that is gone when the test ends.
struct Folder {
  fs::path path;
  explicit Folder(const std::string& name) : path(fs::temp_directory_path() / ("antiphase_" + name)) {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~Folder() { fs::remove_all(path); }
  void write(const std::string& name, const std::string& text) const { std::ofstream(path / name) << text; }
};

}  // namespace

TEST_CASE("a tube is found by any of its names in any case") {
  const auto library = example_library();
  REQUIRE(library.find("12AX7"));
  CHECK(library.find("ecc83") == library.find("12AX7"));
  CHECK(library.find("12ax7") == library.find("7025"));
  CHECK(library.find("12AX") == nullptr);
  CHECK(library.find("") == nullptr);
}

TEST_CASE("tubes are sorted by name and keep their addresses when more are added or the library moves") {
  auto library = example_library();
  const Tube* tube = library.find("12AX7");
  library.add(std::get<Tube>(read_tube_text(card_named("12AT7", Json::array()).dump(), "card")));
  std::vector<std::string> names;
  for (const auto& t : library.tubes()) names.push_back(t.name);
  CHECK(names == std::vector<std::string>{"12AT7", "12AU7", "12AX7", "6SN7GT"});
  const auto moved = std::move(library);
  CHECK(moved.find("12AX7") == tube);
}

TEST_CASE("an unknown tube is answered with the nearest names, other names of tubes included") {
  const auto library = example_library();
  CHECK(library.nearest_names("12AX8", 1) == std::vector<std::string>{"12AX7"});
  CHECK(library.nearest_names("ECC38", 1) == std::vector<std::string>{"ECC83"});
  CHECK(library.nearest_names("6SN7", 1) == std::vector<std::string>{"6SN7GT"});
  CHECK(library.nearest_names("EL34", 3).empty());
}

TEST_CASE("a folder of cards is read whole, and other files in it do not matter") {
  const Folder folder("cards");
  folder.write("12AX7.json", whole_card().dump());
  folder.write("12AU7.json", card_named("12AU7", {"ECC82"}).dump());
  folder.write("README.md", "no card");
  folder.write(".hidden.json", "no card");
  const auto result = read_tube_library(folder.path.string());
  REQUIRE(std::holds_alternative<TubeLibrary>(result));
  CHECK(std::get<TubeLibrary>(result).tubes().size() == 2);
}

TEST_CASE("faults of all cards are told, each with its file") {
  const Folder folder("bad_cards");
  folder.write("a.json", "{");
  folder.write("b.json", patched(whole_card(), R"({"tube": ""})").dump());
  folder.write("c.json", whole_card().dump());
  const auto result = read_tube_library(folder.path.string());
  REQUIRE(std::holds_alternative<InputErrors>(result));
  const auto& errors = std::get<InputErrors>(result);
  REQUIRE(errors.list.size() == 2);
  CHECK(errors.list[0].file == (folder.path / "a.json").string());
  CHECK(errors.list[1].file == (folder.path / "b.json").string());
  CHECK_FALSE(errors.unreadable);
}

TEST_CASE("one name on two cards is a fault") {
  const Folder folder("twice");
  folder.write("a.json", whole_card().dump());
  folder.write("b.json", card_named("7025", Json::array()).dump());
  folder.write("c.json", card_named("12AU7", {"ecc83"}).dump());
  const auto errors = std::get<InputErrors>(read_tube_library(folder.path.string()));
  REQUIRE(errors.list.size() == 2);
  const std::string first = (folder.path / "a.json").string();
  CHECK(errors.list[0].what == "the name \"7025\" stands on the card of the 12AX7 too, in " + first);
  CHECK(errors.list[0].file == (folder.path / "b.json").string());
  CHECK(errors.list[1].what == "the name \"ecc83\" stands on the card of the 12AX7 too, in " + first);
}

TEST_CASE("cards of several folders make one library, which tells the file of each") {
  const Folder one("one"), two("two");
  one.write("a.json", whole_card().dump());
  two.write("b.json", card_named("own", Json::array()).dump());
  const auto both = read_card_folders({{one.path.string(), two.path.string()}, {}});
  REQUIRE(std::holds_alternative<TubeLibrary>(both));
  const auto& library = std::get<TubeLibrary>(both);
  REQUIRE(library.tubes().size() == 2);
  CHECK(library.file_of(library.find("own")) == (two.path / "b.json").string());
  CHECK(library.file_of(library.find("12AX7")) == (one.path / "a.json").string());
  two.write("c.json", whole_card().dump());  // the same name in the other folder
  const auto errors = std::get<InputErrors>(read_card_folders({{one.path.string(), two.path.string()}, {}}));
  REQUIRE(errors.list.size() == 1);
  CHECK(errors.list[0].file == (two.path / "c.json").string());
  CHECK(errors.list[0].what.ends_with(", in " + (one.path / "a.json").string()));
}

TEST_CASE("a folder that is missing, empty, or no folder is unreadable") {
  const Folder folder("empty");
  folder.write("file", "");
  for (const auto& path : {folder.path, folder.path / "missing", folder.path / "file"}) {
    const auto result = read_tube_library(path.string());
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(std::get<InputErrors>(result).unreadable);
  }
}

TEST_CASE("output valves are found by any of their names, apart from tubes") {
  const auto library = example_library();
  REQUIRE(library.find_output_valve("EL34"));
  CHECK(library.find_output_valve("6ca7") == library.find_output_valve("EL34"));
  CHECK(library.find_output_valve("12AX7") == nullptr);
  CHECK(library.find("EL34") == nullptr);
  CHECK(library.nearest_output_valves("EL43", 1) == std::vector<std::string>{"EL34"});
  std::vector<std::string> names;
  for (const auto& v : library.output_valves()) names.push_back(v.name);
  CHECK(names == std::vector<std::string>{"300B", "EL34", "EL84"});
}

TEST_CASE("output valves are read from the folder beside the tubes, or from the one that is named") {
  const Folder folder("with_valves"), other("other_valves");
  fs::create_directories(folder.path / "tubes");
  folder.write("tubes/12AX7.json", whole_card().dump());
  const auto tubes = (folder.path / "tubes").string();
  CHECK(std::get<TubeLibrary>(read_tube_library(tubes)).output_valves().empty());
  other.write("EL34.json", whole_output_valve().dump());
  CHECK(std::get<TubeLibrary>(read_tube_library(tubes, other.path.string())).find_output_valve("EL34"));
  fs::create_directories(folder.path / "output_valves");
  folder.write("output_valves/EL34.json", whole_output_valve().dump());
  for (const auto& name : {tubes, tubes + "/"})
    CHECK(std::get<TubeLibrary>(read_tube_library(name)).find_output_valve("EL34"));
  folder.write("output_valves/twin.json", whole_output_valve().dump());
  folder.write("output_valves/bad.json", "{}");
  const auto errors = std::get<InputErrors>(read_tube_library(tubes));
  REQUIRE(errors.list.size() == 3);  // of bad.json: no name and no grid voltage
  CHECK(errors.list[0].file == (folder.path / "output_valves/bad.json").string());
  CHECK(errors.list[2].what == "the name \"EL34\" stands on the card of the EL34 too, in " +
                                   (folder.path / "output_valves/EL34.json").string());
  const auto missing = std::get<InputErrors>(read_tube_library(tubes, (folder.path / "none").string()));
  CHECK(missing.unreadable);
  CHECK(missing.list[0].what.find("the folder of output valve cards cannot be read") == 0);
}
