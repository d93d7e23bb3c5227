// `antiphase new` as its user meets it: from install to a first answer without copying an example.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/support/program.h"

using namespace antiphase::testing;
using nlohmann::json;

namespace {

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// Every output valve that there is a card of.
std::vector<std::string> output_valves() {
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/output_valves"))
    names.push_back(entry.path().stem().string());
  return names;
}

}  // namespace

TEST_CASE("a script gets a brief on standard output or in a file, without questions") {
  Folder folder;
  const Answer shown = run("new --pair EL84 --supply 300");
  CHECK(shown.code == 0);
  CHECK(shown.err.empty());
  CHECK(json::parse(shown.out).at("load").at("output_valve") == "EL84");
  const std::string file = (folder / "a/b/brief.json").string();  // folders are made
  const Answer saved = run("new --pair EL84 --supply 300 --out " + file);
  CHECK(saved.code == 0);
  CHECK(saved.out.empty());
  CHECK(read_text(file) == shown.out);
  const Answer nothing = run("new");
  CHECK(nothing.code == 2);
  CHECK(has(nothing.err, "--pair is missing"));
  CHECK(nothing.out.empty());
  const Answer misspelt = run("new --pair EL84 --suply 300");
  CHECK(misspelt.code == 2);
  CHECK(has(misspelt.err, "did you mean \"--supply\"?"));
}

TEST_SUITE("long") {
  TEST_CASE(
      "every output valve's starting brief is searched, and gives a feasible design or says what conflicts") {
    Folder folder;
    int met = 0;
    for (const std::string& name : output_valves()) {
      CAPTURE(name);
      const std::string file = (folder / (name + ".json")).string();
      const bool published = name != "300B";  // its card has no bias
      REQUIRE(run("new --pair " + name + (published ? "" : " --bias-v 70") + " --out " + file).code == 0);
      const Answer answer = run("search " + file + " --quiet --json --out " + (folder / name).string());
      CAPTURE(answer.err);
      REQUIRE((answer.code == 0 || answer.code == 1));
      const json results = json::parse(answer.out);
      if (answer.code == 0)
        CHECK(results.at("candidates").at(0).at("feasible") == true);
      else
        CHECK(results.contains("conflict"));
      met += answer.code == 0;
    }
    CHECK(met >= 10);
  }
}
