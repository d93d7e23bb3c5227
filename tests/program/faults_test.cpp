// What may go wrong around a search: it is killed, memory or disk runs out, the reader goes away.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kBrief = ANTIPHASE_SOURCE "/configs/briefs/first_stage.json";

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::string search(const std::filesystem::path& out, int seed, const std::string& brief = kBrief) {
  return "search " + brief + " --effort quick --quiet --seed " + std::to_string(seed) + " --out " +
         out.string();
}

/// Files of the results that are the same for the same seed.
std::string comparable(const std::filesystem::path& folder) {
  return read_text(folder / "candidates.csv") + read_text(folder / "pareto.csv");
}

}  // namespace

TEST_CASE("killed at any moment a search leaves the earlier results whole or the new ones whole" *
          doctest::test_suite("long")) {
  Folder folder;
  json other = json::parse(read_text(kBrief));  // seeds alone find the same on so small a lattice
  other["heater_v"] = 3;
  other["load"]["ohm"] = "820k";
  const std::string brief_two = (folder / "two.json").string();
  write_text(brief_two, other.dump());
  const std::string briefs[] = {kBrief, brief_two};
  REQUIRE(run(search(folder / "one", 1)).code == 0);
  REQUIRE(run(search(folder / "two", 2, brief_two)).code == 0);
  const std::string one = comparable(folder / "one"), two = comparable(folder / "two");
  REQUIRE(one != two);
  REQUIRE(run(search(folder / "r", 1)).code == 0);
  int earlier = 0, fresh = 0;
  for (int n = 0; n < 100; ++n) {
    const int seed = 1 + n % 2;
    char moment[32];
    std::snprintf(moment, sizeof moment, "%.3f", 0.005 + 0.006 * n);
    run(search(folder / "r", seed, briefs[seed - 1]), std::string("timeout -s KILL ") + moment);
    const std::string found = comparable(folder / "r");
    const int of = found == one ? 1 : found == two ? 2 : 0;
    CAPTURE(n);
    REQUIRE(of != 0);  // neither a mixture nor half a file
    CHECK(json::parse(read_text(folder / "r" / "candidates.json")).at("run").at("seed") == of);
    CHECK(has(read_text(folder / "r" / "report.html"), "</html>"));
    ++(of == seed ? fresh : earlier);
  }
  MESSAGE(earlier, " kills left the earlier results, ", fresh,
          " came after the new ones or found the same seed");
  CHECK(earlier > 10);
  REQUIRE(run(search(folder / "r", 2, brief_two)).code == 0);
  CHECK(comparable(folder / "r") == two);
}

TEST_CASE("a disk that takes no more leaves the earlier results as they were") {
  Folder folder;
  REQUIRE(run(search(folder / "r", 1)).code == 0);
  const std::string before = comparable(folder / "r");
  const Answer full = run(search(folder / "r", 2), "ulimit -f 100;");  // blocks of 512 or 1024 bytes a file
  CHECK(full.code == 3);
  CHECK(has(full.err, "no file was written"));
  CHECK(has(full.out, "rank"));  // what was found is printed all the same
  CHECK(comparable(folder / "r") == before);
  int files = 0;
  for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder / "r")) ++files;
  CHECK(files == 5);
}

TEST_CASE("too little memory ends with a message and code 71") {
  Folder folder;
  int told = 0;
  for (const int kilobytes : {20'000, 30'000, 45'000}) {
    const Answer answer =
        run(search(folder / "r", 1) + " --threads 1", "ulimit -v " + std::to_string(kilobytes) + ";");
    CAPTURE(kilobytes);
    CAPTURE(answer.err);
    if (answer.code == 127 || answer.code == 126) continue;  // not even loaded
    if (answer.code == 0) continue;                          // it was enough
    CHECK(answer.code == 71);
    CHECK(has(answer.err, "not enough memory"));
    ++told;
  }
  MESSAGE(told, " of 3 limits let it begin and not end");
}

TEST_CASE("a reader that goes away ends with 3, a lost terminal with 129") {
  Folder folder;
  const Answer gone = run("--help", "(", "/dev/full; echo $? > " + (folder / "code").string() + ")");
  CHECK(std::stoi("0" + read_text(folder / "code")) == 3);
  // a closed pipe: a search has written its files, says so and ends with 3; commands that only print end as
  // printing programs do, with the signal
  const std::string code = (folder / "pipe").string();
  run("tubes", "( sleep 0.2;", "&1; echo $? > " + code + " ) | true");
  CHECK(std::stoi("0" + read_text(code)) == 141);
  run(search(folder / "p", 1), "(", "&1; echo $? > " + code + " ) | true");
  CHECK(std::stoi("0" + read_text(code)) == 3);
  CHECK(std::filesystem::exists(folder / "p" / "candidates.json"));
  const Answer hung =
      run("search " ANTIPHASE_SOURCE "/configs/briefs/rehearsal_room.json --effort thorough --out " +
              (folder / "h").string(),
          "timeout --preserve-status -s HUP 1");
  CHECK(hung.code == 129);
  CHECK(json::parse(read_text(folder / "h" / "candidates.json")).at("run").at("complete") == false);
}
