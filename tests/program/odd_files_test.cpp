// Files that are no ordinary files: links, folders, devices without end, a hundred megabytes, nesting bombs.
#include <doctest/doctest.h>

#include <fstream>
#include <string>
#include <vector>

#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
namespace fs = std::filesystem;

namespace {

const std::string kConfigs = ANTIPHASE_SOURCE "/configs/";
constexpr std::size_t kHundredMegabytes = 100'000'000;

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// A file of so many repetitions of a text, after a beginning.
void write_long(const fs::path& file, const std::string& first, const std::string& again, std::size_t bytes) {
  std::ofstream out(file, std::ios::binary);
  out << first;
  std::string block;
  while (block.size() < 1'000'000) block += again;
  for (std::size_t n = 0; n < bytes; n += block.size()) out << block;
}

/// Each command with a file in the place of its input.
std::vector<std::string> commands(const std::string& file, const std::string& out) {
  return {"search " + file + " --quiet --out " + out,
          "evaluate " + file,
          "spread " + file,
          "spread " + kConfigs + "designs/high_mu_self_biased.json --tolerances " + file,
          "fit " + file + " --tube 12AX7 --out " + out,
          "tubes --for " + file};
}

}  // namespace

TEST_CASE("a hundred megabytes of anything are refused in little time and memory") {
  Folder folder;
  const std::string file = (folder / "long").string();
  const std::pair<std::string, std::string> texts[] = {{"", " "},
                                                       {"", "["},
                                                       {"{\"a\":", "{\"a\":"},
                                                       {"{\"stage\": \"", "x"},
                                                       {"vg_v,va_v,ia_ma\n", "0,100,1\n"},
                                                       {"", std::string(1, '\0')}};
  for (const auto& [first, again] : texts) {
    write_long(file, first, again, kHundredMegabytes);
    for (const std::string& command : commands(file, (folder / "r").string())) {
      CAPTURE(command);
      const auto& told = again;  // clang before 16 cannot capture a structured binding
      CAPTURE(told);
      const Answer answer = run(command, "ulimit -v 600000;");  // kilobytes; the threads' stacks take most
      CHECK(answer.code == 2);
      CHECK(has(answer.err, file));
      CHECK(answer.err.size() < 4000);
    }
  }
  CHECK_FALSE(fs::exists(folder / "r"));
}

TEST_CASE("a device without end is refused") {
  Folder folder;
  for (const std::string& command : commands("/dev/zero", (folder / "r").string())) {
    CAPTURE(command);
    CHECK(run(command, "ulimit -v 600000;").code == 2);
  }
}

TEST_CASE("nesting bombs and long lists are told, not followed") {
  Folder folder;
  const std::string file = (folder / "bomb.json").string();
  for (const char* open : {"[", "{\"stage\":", "[[{\"a\":["}) {
    write_long(file, "", open, 100'000);
    for (const std::string& command : commands(file, (folder / "r").string())) {
      CAPTURE(command);
      CHECK(run(command).code == 2);
    }
  }
}

TEST_CASE("links are followed, those that lead nowhere or in a circle end with 3 and the system's reason") {
  Folder folder;
  fs::create_symlink(kConfigs + "designs/high_mu_self_biased.json", folder / "good.json");
  CHECK(run("evaluate " + (folder / "good.json").string()).code == 0);
  fs::create_symlink(folder / "nowhere", folder / "dangling.json");
  fs::create_symlink(folder / "round.json", folder / "round.json");
  fs::create_directory(folder / "folder.json");
  for (const char* name : {"dangling.json", "round.json", "folder.json"})
    for (const std::string& command : commands((folder / name).string(), (folder / "r").string())) {
      CAPTURE(command);
      const Answer answer = run(command);
      CHECK(answer.code == 3);
      CHECK(has(answer.err, name));
    }
}

TEST_CASE("results may go through a link to a folder, and not through one that leads nowhere") {
  Folder folder;
  const std::string search = "search " + kConfigs + "briefs/first_stage.json --effort quick --quiet --out ";
  fs::create_directory(folder / "real");
  fs::create_directory_symlink(folder / "real", folder / "link");
  CHECK(run(search + (folder / "link").string()).code == 0);
  CHECK(fs::exists(folder / "real" / "candidates.json"));
  // a result that is itself a link is replaced, what it pointed to stays
  write_text(folder / "precious", "keep");
  fs::remove(folder / "real" / "candidates.csv");
  fs::create_symlink(folder / "precious", folder / "real" / "candidates.csv");
  CHECK(run(search + (folder / "real").string()).code == 0);
  CHECK(read_text(folder / "precious") == "keep");
  fs::create_symlink(folder / "round", folder / "round");
  const Answer answer = run(search + (folder / "round").string());
  CHECK(answer.code == 3);
  CHECK(has(answer.err, "round"));
}
