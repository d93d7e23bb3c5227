// Going through every combination, as its user sees it: the proof, slices, going on, limits of time.
#include <doctest/doctest.h>

#include <algorithm>

#include <nlohmann/json.hpp>

#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kBriefs = ANTIPHASE_SOURCE "/configs/briefs/";

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// Some 300 000 combinations of one tube.
std::string small_brief() {
  json brief = json::parse(read_text(kBriefs + "low_supply.json"));
  brief["tubes"] = {"12AT7"};
  brief.erase("rail_v");
  brief["variables"]["bias_form"] = {"self_biased"};
  brief["variables"]["plate_ohm"] = {{"from", "47k"}, {"to", "120k"}};
  brief["search"]["effort"] = "quick";
  return brief.dump(2);
}

json read_json(const std::filesystem::path& file) {
  return json::parse(read_text(file));
}

}  // namespace

TEST_CASE("a search of few combinations ends with the proof that a complete search gives, unasked") {
  Folder folder;
  json brief = json::parse(read_text(kBriefs + "only_100k_plates.json"));
  brief["search"]["effort"] = "quick";
  const std::string file = (folder / "brief.json").string();
  write_text(file, brief.dump(2));
  const auto out = [&](const std::string& name) { return " --quiet --out " + (folder / name).string(); };
  const Answer unasked = run("search " + file + out("unasked"));
  const Answer asked = run("search " + file + " --complete" + out("asked"));
  REQUIRE(unasked.code == 0);
  REQUIRE(asked.code == 0);
  CHECK(has(unasked.out, "Proved: of the "));
  CHECK_FALSE(std::filesystem::exists(folder / "unasked" / "complete.json"));
  const json mine = read_json(folder / "unasked" / "candidates.json");
  const json full = read_json(folder / "asked" / "candidates.json");
  CHECK(mine.at("run").at("every_combination").at("asked") == false);
  CHECK(full.at("run").at("every_combination").at("asked") == true);
  CHECK(mine.at("candidates") == full.at("candidates"));
  CHECK(mine.at("run").at("every_combination").at("front") ==
        full.at("run").at("every_combination").at("front"));
  CHECK(read_text(folder / "unasked" / "pareto.csv") == read_text(folder / "asked" / "pareto.csv"));

  // What cannot be met is proved as well.
  brief["limits"] = json::array({{{"figure", "distortion_pct"}, {"at_most", 1e-6}}});
  write_text(file, brief.dump(2));
  const Answer none = run("search " + file + out("none"));
  CHECK(none.code == 1);
  CHECK(has(none.out, "satisfies the brief: that is"));
}

TEST_CASE("a search of many combinations says so, if asked for all that it knows") {
  Folder folder;
  const Answer many = run("search " + kBriefs + "low_supply.json --effort quick --explain --quiet --out " +
                          (folder / "many").string());
  REQUIRE(many.code == 0);
  CHECK_FALSE(has(many.out, "Proved: of the "));
  std::string in_one_line = many.out;
  std::replace(in_one_line.begin(), in_one_line.end(), '\n', ' ');
  CHECK(has(in_one_line, "it has not seen all"));
}

TEST_CASE(
    "a complete search covers all and is never beaten by the search and its slices merge to the same file" *
    doctest::test_suite("long")) {
  Folder folder;
  const std::string brief = (folder / "brief.json").string();
  write_text(brief, small_brief());
  const auto out = [&](const std::string& name) { return " --quiet --out " + (folder / name).string(); };
  const Answer whole = run("search " + brief + " --complete" + out("whole"));
  INFO(whole.err);
  REQUIRE(whole.code == 0);
  CHECK(has(whole.out, "combinations of parts all were covered"));
  const json record = read_json(folder / "whole" / "candidates.json").at("run").at("every_combination");
  std::int64_t sum =
      record.at("left_out_in_blocks").get<std::int64_t>() + record.at("judged_whole").get<std::int64_t>();
  for (const auto& [stage, count] : record.at("turned_away").items()) sum += count.get<std::int64_t>();
  CHECK(sum == record.at("combinations"));
  CHECK(sum == record.at("covered"));
  CHECK(record.at("left_out_in_blocks") > 0);
  CHECK(record.at("front_whole") == true);

  const Answer plain = run("search " + brief + out("plain"));
  REQUIRE(plain.code == 0);
  const auto best = [&](const std::string& name) {
    return read_json(folder / name / "candidates.json").at("candidates").at(0).at("score").get<double>();
  };
  CHECK(best("whole") <= best("plain"));

  for (const std::string k : {"1", "2", "3"}) {
    const Answer slice = run("search " + brief + " --slice " + k + "/3 --threads " + k + out("s" + k));
    CHECK(slice.code <= 1);  // a slice may hold nothing that keeps every limit
  }
  const std::string folders =
      (folder / "s3").string() + " " + (folder / "s1").string() + " " + (folder / "s2").string();
  const Answer merged = run("search " + brief + " --merge " + folders + out("merged"));
  CHECK(merged.code == 0);
  CHECK(read_text(folder / "merged" / "complete.json") == read_text(folder / "whole" / "complete.json"));

  const Answer two = run("search " + brief + " --merge " + (folder / "s1").string() + " " +
                         (folder / "s2").string() + out("two"));
  CHECK(two.code == 2);
  CHECK(has(two.err, "all of them are needed"));
  const Answer twice =
      run("search " + brief + " --merge " + folders + " " + (folder / "s1").string() + out("two"));
  CHECK(twice.code == 2);
  CHECK(has(twice.err, "is there twice"));
  const Answer other = run("search " + kBriefs + "low_supply.json --merge " + folders + out("other"));
  CHECK(other.code == 2);
  CHECK(has(other.err, "another brief"));
}

TEST_CASE("a complete search that ran out of time goes on where it was" * doctest::test_suite("long")) {
  Folder folder;
  const std::string at = " --quiet --out " + (folder / "r").string();
  const std::string command = "search " + kBriefs + "low_supply.json --complete --effort quick" + at;
  const Answer first = run(command + " --time-limit 3");
  CHECK(first.code <= 1);
  CHECK(has(first.out, "time limit"));
  const json begun = read_json(folder / "r" / "complete.json");
  CHECK(begun.at("chunks_done") < begun.at("chunks"));
  // damaged findings are refused, not believed
  const std::string good = read_text(folder / "r" / "complete.json");
  json bent = begun;
  if (!bent.at("front").empty()) {
    bent["front"][0]["score"] = -1.0;
    write_text((folder / "r" / "complete.json").string(), bent.dump());
    const Answer refused = run(command + " --continue --time-limit 3");
    CHECK(refused.code == 2);
    CHECK(has(refused.err, "come out differently"));
  }
  write_text((folder / "r" / "complete.json").string(), good.substr(0, good.size() / 2));
  const Answer cut = run(command + " --continue --time-limit 3");
  CHECK(cut.code == 2);
  CHECK(has(cut.err, "damaged"));
  write_text((folder / "r" / "complete.json").string(), good);
  const Answer second = run(command + " --continue --time-limit 3");
  CHECK(second.code <= 1);
  CHECK(read_json(folder / "r" / "complete.json").at("chunks_done") >= begun.at("chunks_done"));
  CHECK(has(read_text(folder / "r" / "candidates.json"), "continued_from"));
}

TEST_CASE("a search that goes on is never worse than what it began with") {
  Folder folder;
  const std::string command =
      "search " + kBriefs + "rehearsal_room.json --effort quick --quiet --out " + (folder / "r").string();
  const auto best = [&] {
    return read_json(folder / "r" / "candidates.json").at("candidates").at(0).at("score").get<double>();
  };
  REQUIRE(run(command).code == 0);
  const double first = best();
  for (const char* seed : {"2", "3"}) {
    REQUIRE(run(command + " --continue --seed " + std::string(seed)).code == 0);
    CHECK(best() <= first);
  }
}

TEST_CASE("more effort never gives a worse best") {
  Folder folder;
  double last = 1e300;
  for (const std::string effort : {"quick", "normal", "thorough"}) {
    REQUIRE(run("search " + kBriefs + "first_stage.json --quiet --effort " + effort + " --out " +
                (folder / effort).string())
                .code == 0);
    const double best =
        read_json(folder / effort / "candidates.json").at("candidates").at(0).at("score").get<double>();
    CHECK(best <= last);
    last = best;
  }
}

TEST_CASE("billions of combinations are not begun without a limit: how long, and what to narrow") {
  Folder folder;
  json brief = json::parse(read_text(kBriefs + "rehearsal_room.json"));
  brief["parts"]["resistors"] = "E96";
  write_text((folder / "brief.json").string(), brief.dump());
  const Answer answer =
      run("search " + (folder / "brief.json").string() + " --complete --out " + (folder / "r").string());
  CHECK(answer.code == 2);
  CHECK(has(answer.err, "combinations would take up to"));
  CHECK(has(answer.err, "Narrow the ranges"));
  CHECK(has(answer.err, "/tail/ohm"));
  CHECK(!std::filesystem::exists(folder / "r"));
}

TEST_CASE("wrong slices are told") {
  for (const char* slice : {"0/3", "4/3", "3", "a/b", "1/0", "-1/2", "1/2x"}) {
    const Answer answer = run("search " + kBriefs + "low_supply.json --slice " + std::string(slice));
    CAPTURE(slice);
    CHECK(answer.code == 2);
    CHECK(has(answer.err, "is no slice"));
  }
}
