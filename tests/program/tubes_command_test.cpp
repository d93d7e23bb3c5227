// `antiphase tubes` as its user meets it: pictures, substitutes, tubes for a brief, and what is refused.
#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "results/text/lines.h"
#include "tests/support/program.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kConfigs = ANTIPHASE_SOURCE "/configs/";

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

void check_width(const std::string& text) {
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    const std::string line = text.substr(from, end - from);
    CAPTURE(line);
    CHECK(display_width(line) <= 80);
    from = end + 1;
  }
}

json shipped_card(const std::string& name) {
  return json::parse(read_text(kConfigs + "tubes/" + name + ".json"));
}

std::vector<std::string> names(const json& list) {
  std::vector<std::string> result;
  for (const json& item : list) result.push_back(item.at("tube"));
  return result;
}

}  // namespace

TEST_CASE("one tube: pins, a table of plate currents, and lines that fit a terminal") {
  for (const auto& entry : std::filesystem::directory_iterator(kConfigs + "tubes")) {
    const std::string name = entry.path().stem().string();
    CAPTURE(name);
    const Answer answer = run("tubes " + name);
    CHECK(answer.code == 0);
    const bool pentode = shipped_card(name).contains("pentode");
    CHECK(has(answer.out, pentode ? "Law, of plate and screen current" : "Plate current, mA, by law 1"));
    check_width(answer.out);
  }
  CHECK(has(run("tubes 12AX7").out, "noval 9A"));
  const json tube = json::parse(run("tubes 12AX7 --json").out);
  CHECK(tube.at("base").at("pins").at(8) == "heater tap");
  const json& currents = tube.at("plate_currents");
  CHECK(currents.at("plate_current_a").size() == currents.at("grid_v").size());
  CHECK(currents.at("plate_current_a").at(0).size() == currents.at("plate_v").size());
}

TEST_CASE("a picture shows every curve reading that the card names, and the published points") {
  Folder folder;
  const std::string file = (folder / "12AT7.svg").string();
  const Answer answer = run("tubes ECC81 --plot " + file);
  CHECK(answer.code == 0);
  CHECK(has(answer.out, "Picture of its plate curves: " + file));
  const std::string svg = read_text(file);
  CHECK(has(svg, "<title id=\"title\">12AT7: plate curves of koren_1996</title>"));
  std::size_t rings = 0;
  for (auto at = svg.find("<circle"); at != std::string::npos; at = svg.find("<circle", at + 1)) ++rings;
  CHECK(rings == 192 + 1);  // the readings of 12AT7_GE_1957.csv, and the legend's
  CHECK(has(svg, ">192 readings<"));
  CHECK(has(svg, ">2 published points<"));  // those with a bias

  CHECK(run("tubes 12AT7 --plot " + folder.text()).code == 3);  // a folder
  json card = shipped_card("12AT7");
  card["curves"] = {"nowhere.csv"};
  write_text(folder / "12AT7.json", card.dump());
  const Answer missing = run("tubes 12AT7 --only-tubes " + folder.text() + " --plot " + file);
  CHECK(missing.code == 3);
  CHECK(has(missing.err, "nowhere.csv"));
  CHECK(missing.out.empty());
}

TEST_CASE("cards of one's own stand beside the library's, and a name that stands twice names both files") {
  Folder folder;
  json own = shipped_card("12AT7");
  own["tube"] = "MINE";
  own["also_known_as"] = json::array();
  own.erase("curves");
  write_text(folder / "mine.json", own.dump());
  const std::string cards = " --tubes " + folder.text();
  const auto all = names(json::parse(run("tubes --json" + cards).out).at("tubes"));
  const auto shipped = names(json::parse(run("tubes --json").out).at("tubes"));
  CHECK(all.size() == shipped.size() + 1);
  CHECK(std::find(all.begin(), all.end(), "MINE") != all.end());
  CHECK(run("tubes MINE" + cards).code == 0);
  CHECK(names(json::parse(run("tubes --json --only-tubes " + folder.text()).out).at("tubes")) ==
        std::vector<std::string>{"MINE"});
  own["also_known_as"] = {"12ax7"};
  write_text(folder / "mine.json", own.dump());
  const Answer twice = run("tubes" + cards);
  CHECK(twice.code == 2);
  CHECK(has(twice.err, (folder / "mine.json").string()));
  CHECK(has(twice.err, "12AX7.json"));
}

TEST_CASE("substitutes of the usual driver tubes are those that handbooks call interchangeable") {
  const auto compatible = [](const std::string& name) {
    return names(json::parse(run("tubes " + name + " --substitutes --json").out).at("pin_compatible"));
  };
  const auto in = [](const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
  };
  // Tube substitution tables give 7025 for 12AX7, 5751 for it at less gain, 6922 and E88CC for 6DJ8, 6SN7GTB
  // for 6SN7GT (from memory: common substitution handbooks).
  const auto ax = compatible("12AX7"), dj = compatible("6DJ8"), sn = compatible("6SN7GT");
  REQUIRE(ax.size() > 2);
  CHECK(ax[0] == "12AX7A");
  CHECK(ax[1] == "5751");
  CHECK_FALSE(in(ax, "6N2P"));  // its heater is on pins 4 and 5 only
  CHECK_FALSE(in(ax, "5687"));
  CHECK((in(dj, "6922") && in(dj, "E88CC")));
  CHECK_FALSE(in(dj, "12AT7"));
  CHECK(sn.front() == "6SN7GTB");
  const Answer answer = run("tubes 12AX7 --substitutes");
  CHECK(answer.code == 0);
  CHECK(has(answer.out, "5751: its heater takes 350 mA instead of 300 mA"));
  CHECK(has(answer.out, "6N2P"));
  CHECK(has(answer.out, "heater pins"));
  for (const char* name : {"12AX7", "E88CC", "6SN7GT", "ECC99"})
    check_width(run(std::string("tubes ") + name + " --substitutes").out);
}

TEST_CASE("tubes for a brief: each alone as a search with it alone finds and ratings rule out and say so" *
          doctest::test_suite("long")) {
  Folder folder;
  for (const char* name : {"12AU7", "12AX7", "6SN7GT"})
    write_text(folder / (std::string(name) + ".json"), shipped_card(name).dump());
  json weak = shipped_card("12AU7");  // the 12AU7, but for a plate that bears little
  weak["tube"] = "weak";
  weak["also_known_as"] = json::array();
  weak["ratings"]["plate_v_max"]["value"] = 20;
  weak["published_points"] = json::array();
  write_text(folder / "weak.json", weak.dump());
  json brief = json::parse(read_text(kConfigs + "briefs/rehearsal_room.json"));
  brief["tubes"] = {"6SN7GT"};
  brief["search"]["effort"] = "quick";
  Folder work;
  write_text(work / "brief.json", brief.dump());
  const std::string cards = " --only-tubes " + folder.text(), file = (work / "brief.json").string();

  const Answer answer = run("tubes --for " + file + cards + " --json --quiet");
  CHECK(answer.code == 0);
  CHECK(answer.err.empty());
  const json ranking = json::parse(answer.out);
  CHECK(ranking.at("complete") == true);
  CHECK(ranking.at("effort") == "quick");
  REQUIRE(ranking.at("tubes").size() == 4);
  double last = -1e300;
  for (std::size_t k = 0; k < 3; ++k) {
    const json& tube = ranking.at("tubes")[k];
    CHECK(tube.at("rank") == k + 1);
    CHECK(tube.at("met") == true);
    CHECK(tube.at("score").get<double>() >= last);
    last = tube.at("score");
    CHECK(tube.at("score_low").get<double>() <= last);
    CHECK(tube.at("score_high").get<double>() >= last);
    CHECK(tube.at("in_brief") == (tube.at("tube") == "6SN7GT"));
    for (const json& section : tube.at("design").at("tube")) CHECK(section == tube.at("tube"));
  }
  const json& out = ranking.at("tubes")[3];
  CHECK(out.at("tube") == "weak");
  CHECK(out.at("rank").is_null());
  CHECK(out.at("met") == false);
  REQUIRE_FALSE(out.at("stands_in_the_way").empty());
  bool plate = false;
  for (const json& words : out.at("stands_in_the_way")) plate = plate || has(words, "≤ 20 V");
  CHECK(plate);

  const Answer search = run("search " + file + cards + " --json --quiet --out " + (work / "r").string());
  const auto of_6sn7 = std::find_if(ranking.at("tubes").begin(), ranking.at("tubes").end(),
                                    [](const json& t) { return t.at("tube") == "6SN7GT"; });
  CHECK(json::parse(search.out).at("candidates")[0].at("score") == of_6sn7->at("score"));

  const Answer text = run("tubes --for " + file + cards + " --threads 1 -q");
  CHECK(text.code == 0);
  CHECK(has(text.out, "6SN7GT *"));
  CHECK(has(text.out, "Ruled out, and by what"));
  CHECK(has(text.out, "weak - "));
  CHECK(has(text.out, "High voltage can kill"));
  check_width(text.out);
  CHECK(run("tubes --for " + file + cards + " --json --threads 2 -q").out == answer.out);

  brief["limits"].push_back({{"figure", "distortion_pct"}, {"at_most", 1e-3}});
  write_text(work / "brief.json", brief.dump());
  const Answer none = run("tubes --for " + file + cards + " -q");
  CAPTURE(none.err);
  CHECK(none.code == 1);
  CHECK(has(none.out, "With no tube of the library is the brief met."));
}

TEST_CASE("options that do not go together, and names that are no driver tube, are told with what would do") {
  struct Case {
    const char* arguments;
    const char* description;
    int code;
  };
  const Case cases[] = {
      {"--plot x.svg", "--plot needs the NAME of one tube", 2},
      {"--substitutes", "--substitutes needs the NAME of one tube", 2},
      {"12AX7 --for x.json", "give no NAME with it", 2},
      {"--for x.json --plot x.svg", "not with --plot or --substitutes", 2},
      {"EL34 --substitutes", "the EL34 is an output valve", 2},
      {"12AX8 --substitutes", "did you mean \"12AX7\"", 2},
      {"--for /nowhere/brief.json", "/nowhere/brief.json", 3},
  };
  for (const Case& c : cases) {
    CAPTURE(c.arguments);
    const Answer answer = run(std::string("tubes ") + c.arguments);
    CHECK(answer.code == c.code);
    CHECK(has(answer.err, c.description));
    CHECK(answer.out.empty());
  }
}
