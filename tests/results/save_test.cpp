#include "results/save.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>

using namespace antiphase;
namespace fs = std::filesystem;

namespace {

/// A folder of its own that is gone when the test ends.
struct Room {
  fs::path path = fs::temp_directory_path() / ("antiphase_save_test_" + std::to_string(::getpid()));
  Room() {
    fs::remove_all(path);
    fs::create_directory(path);
  }
  ~Room() { fs::remove_all(path); }
  std::string text(const std::string& name) const {
    std::ifstream in(path / name, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  }
  std::size_t entries() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(path), fs::directory_iterator()));
  }
};

}  // namespace

TEST_CASE("a set is written into a new folder, whole, with nothing beside it") {
  Room room;
  const std::string big(3'000'000, 'x');
  CHECK_FALSE(save((room.path / "a/b").string(), {{"one.json", "1\n"}, {"two.html", big}}).has_value());
  CHECK(room.text("a/b/one.json") == "1\n");
  CHECK(room.text("a/b/two.html") == big);
  CHECK(std::distance(fs::directory_iterator(room.path / "a/b"), fs::directory_iterator()) == 2);
}

TEST_CASE("a second set replaces the first") {
  Room room;
  REQUIRE_FALSE(save(room.path.string(), {{"one", "old"}, {"two", "old"}}).has_value());
  REQUIRE_FALSE(save(room.path.string(), {{"one", "new"}, {"two", "new"}}).has_value());
  CHECK(room.text("one") == "new");
  CHECK(room.text("two") == "new");
  CHECK(room.entries() == 2);
}

TEST_CASE("a folder below a plain file is refused with its path, and nothing is left") {
  Room room;
  std::ofstream(room.path / "file") << "x";
  const auto error = save((room.path / "file/deeper").string(), {{"one", "1"}});
  REQUIRE(error.has_value());
  CHECK(error->path == (room.path / "file").string());
  CHECK(error->reason == "Not a directory");
  CHECK(room.entries() == 1);
}

TEST_CASE("if one file of a set cannot be put in place, the whole set stays as it was") {
  Room room;
  REQUIRE_FALSE(save(room.path.string(), {{"one", "old"}}).has_value());
  fs::create_directory(room.path / "two");  // in the way of a file
  const auto error = save(room.path.string(), {{"one", "new"}, {"two", "new"}});
  REQUIRE(error.has_value());
  CHECK(in_words(*error) == (room.path / "two").string() + ": Is a directory");
  CHECK(room.text("one") == "old");
  CHECK(room.entries() == 2);
}

TEST_CASE("folders made for a set that fails are taken back") {
  Room room;
  const std::string too_long(300, 'n');  // longer than NAME_MAX
  const auto error = save((room.path / "new/deep").string(), {{"one", "1"}, {too_long, "2"}});
  REQUIRE(error.has_value());
  CHECK(error->reason == "File name too long");
  CHECK(room.entries() == 0);
}

TEST_CASE("a full disk is an error with its reason, and a device is not replaced by a file") {
  const auto error = save_file("/dev/full", "x");
  REQUIRE(error.has_value());
  CHECK(error->path == "/dev/full");
  CHECK(error->reason == "No space left on device");
  CHECK(fs::is_character_file("/dev/full"));
}

TEST_CASE("one file is saved by its path") {
  Room room;
  CHECK_FALSE(save_file((room.path / "x.json").string(), "{}").has_value());
  CHECK(room.text("x.json") == "{}");
}
