// `antiphase fit` as a user meets it: exit codes, where the card and the report go, what is refused.
#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "configs/tube_library.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

namespace fs = std::filesystem;

const std::string kConfigs = ANTIPHASE_SOURCE "/configs";
const std::string kCurve = kConfigs + "/curves/ECC82_Philips_1954.csv";

/// A folder of our own that is gone afterwards.
struct Scratch {
  fs::path folder = fs::temp_directory_path() / ("antiphase_fit_test_" + std::to_string(getpid()));
  Scratch() {
    fs::remove_all(folder);
    fs::create_directory(folder);
  }
  ~Scratch() { fs::remove_all(folder); }
  std::string file(const std::string& name, const std::string& text = "") const {
    const std::string path = (folder / name).string();
    if (!text.empty()) std::ofstream(path) << text;
    return path;
  }
};

std::string whole(const std::string& file) {
  std::ostringstream text;
  text << std::ifstream(file).rdbuf();
  return text.str();
}

struct Run {
  int code = -1;
  std::string out, err;
};

Run fit(const Scratch& scratch, const std::string& arguments) {
  const std::string out = scratch.file("stdout"), err = scratch.file("stderr");
  const std::string command = std::string(ANTIPHASE_PROGRAM) + " fit " + arguments + " --tubes '" + kConfigs +
                              "/tubes' >'" + out + "' 2>'" + err + "'";
  const int status = std::system(command.c_str());
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, whole(out), whole(err)};
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::string in_single_quotes(const std::string& path) {
  return "'" + path + "' ";
}

}  // namespace

TEST_CASE("fit writes a whole card: a new first law, everything else as it was") {
  const Scratch scratch;
  const std::string card = scratch.file("12AU7.json");
  const Run run = fit(scratch, in_single_quotes(kCurve) + "--tube ECC82 --out " + in_single_quotes(card));
  CAPTURE(run.err);
  REQUIRE(run.code == 0);
  CHECK(run.err.empty());
  CHECK(has(run.out, "74 curve readings and 8 published characteristics"));
  CHECK(has(run.out, "rms error"));

  const auto before = read_tube(kConfigs + "/tubes/12AU7.json"), after = read_tube(card);
  REQUIRE(std::holds_alternative<Tube>(before));
  REQUIRE(std::holds_alternative<Tube>(after));
  const Tube &old_card = std::get<Tube>(before), &new_card = std::get<Tube>(after);
  CHECK(new_card.name == "12AU7");
  CHECK(new_card.ratings.plate_w_max->value == old_card.ratings.plate_w_max->value);
  CHECK(new_card.ratings.plate_w_max->source == old_card.ratings.plate_w_max->source);
  CHECK(new_card.notes == old_card.notes);
  CHECK(new_card.published_points.size() == old_card.published_points.size());
  REQUIRE(new_card.base);
  CHECK(new_card.base->pins == old_card.base->pins);
  CHECK(new_card.base->basing == old_card.base->basing);
  CHECK(new_card.base->source == old_card.base->source);
  CHECK(new_card.curve_files == old_card.curve_files);
  REQUIRE(new_card.models.size() == old_card.models.size());  // its own fit is replaced, not piled up
  CHECK(new_card.models[1].source == old_card.models[1].source);
  const auto &new_law = std::get<Koren1996>(new_card.law()), &old_law = std::get<Koren1996>(old_card.law());
  CHECK(within_ratio(new_law.mu, old_law.mu, 1e-3));
  CHECK(has(new_card.models[0].source, "antiphase fit " + kCurve + " --tube ECC82"));
}

TEST_CASE("a measured surface takes its place on the card, and the curves are drawn over the readings") {
  const Scratch scratch;
  const std::string card = scratch.file("12AU7.json"), plot = scratch.file("12AU7.svg");
  const Run run = fit(scratch, in_single_quotes(kCurve) + "--tube 12AU7 --model measured_surface --out " +
                                   in_single_quotes(card) + "--plot " + in_single_quotes(plot));
  CAPTURE(run.err);
  REQUIRE(run.code == 0);
  CHECK(has(run.out, "correction: as smooth as the readings allow"));
  CHECK(has(run.out, "beyond the ratings, and used: 16 readings above 300 V"));
  const auto before = read_tube(kConfigs + "/tubes/12AU7.json"), after = read_tube(card);
  REQUIRE(std::holds_alternative<Tube>(after));
  const auto &old_models = std::get<Tube>(before).models, &models = std::get<Tube>(after).models;
  REQUIRE(models.size() == old_models.size());
  for (std::size_t k = 0; k < models.size(); ++k) {
    CHECK(models[k].law.index() == old_models[k].law.index());
    CHECK(models[k].credible == old_models[k].credible);
  }
  REQUIRE(std::holds_alternative<MeasuredSurface>(models[1].law));
  CHECK(within_ratio(currents_at(models[1].law, -8.5, 250).plate_a,
                     currents_at(old_models[1].law, -8.5, 250).plate_a, 1e-3));

  const std::string picture = whole(plot);
  CHECK(has(picture, "<svg "));
  CHECK(has(picture, "plate voltage, V"));
  CHECK(has(picture, "plate current, mA"));
  CHECK(has(picture, ">-10 V</text>"));  // a curve says what it is
  CHECK(has(picture, "prefers-color-scheme:dark"));
  CHECK_FALSE(has(picture, "<script"));
  std::size_t rings = 0;
  for (std::size_t at = picture.find("<circle"); at != std::string::npos;
       at = picture.find("<circle", at + 1))
    ++rings;
  CHECK(rings == 74 + 1);  // every reading, and the legend's
}

TEST_CASE("a measured surface is refused for a handful of readings") {
  const Scratch scratch;
  const Run run = fit(scratch, "--tube ECC99 --towards 12AU7 --model measured_surface");
  CHECK(run.code == 2);
  CHECK(has(run.err, "needs at least 20"));
  CHECK(run.out.empty());
}

TEST_CASE("readings that contradict a triode or the card are refused with the file and what to look at") {
  const Scratch scratch;
  struct Case {
    const char* rows;
    const char* description;
  };
  const Case cases[] = {
      // plate and grid columns changed places, small numbers so that the ranges do not catch it
      {"8,1,1\n8,2,2\n8,3,3\n10,4,1\n10,5,2\n10,6,3\n12,7,4\n12,8,5\n", "every grid voltage is above 0"},
      // plate and current columns changed places: the current falls as the plate rises
      {"-2,10,150\n-2,8,180\n-4,4,90\n-4,5,60\n-4,6,40\n-6,2,100\n-6,3,70\n-6,4,50\n",
       "the current falls as the plate rises"},
      // amperes under the name of milliamperes
      {"0,100,0.0118\n-2,100,0.007\n-4,150,0.008\n-6,200,0.009\n-8,250,0.011\n-8,200,0.005\n-4,100,0.003\n",
       "is the column in"},
  };
  for (const Case& c : cases) {
    CAPTURE(c.description);
    const std::string points = scratch.file("p.csv", std::string("vg_v,va_v,ia_ma\n") + c.rows);
    const Run run = fit(scratch, in_single_quotes(points) + "--tube 12AU7");
    CHECK(run.code == 2);
    CAPTURE(run.err);
    CHECK(has(run.err, "p.csv:"));
    CHECK(has(run.err, c.description));
    CHECK(run.out.empty());
  }
}

TEST_CASE("a reading in another unit is named with its line and left out") {
  const Scratch scratch;
  std::string text = whole(kCurve);
  int lines = 0;
  for (const char c : text) lines += c == '\n';
  text += "-8,250,0.0095\n";  // amperes among milliamperes
  const std::string points = scratch.file("p.csv", text);
  const Run run = fit(scratch, in_single_quotes(points) + "--tube 12AU7");
  REQUIRE(run.code == 0);
  CAPTURE(run.err);
  CHECK(has(run.err, "p.csv:" + std::to_string(lines + 1) + ": reads 0.0095 mA"));
  CHECK(has(run.err, "another unit?"));
  const auto clean = read_tube_text(fit(scratch, in_single_quotes(kCurve) + "--tube 12AU7").out, "clean");
  const auto with = read_tube_text(run.out, "with");
  CHECK(within_ratio(currents_at(std::get<Tube>(with).law(), -8.5, 250).plate_a,
                     currents_at(std::get<Tube>(clean).law(), -8.5, 250).plate_a, 0.02));
}

TEST_CASE("several files make one fit") {
  const Scratch scratch;
  const Run run =
      fit(scratch, in_single_quotes(kConfigs + "/curves/12AX7_TungSol_1947.csv") +
                       in_single_quotes(kConfigs + "/curves/12AX7A_RCA_1960.csv") + "--tube 12AX7");
  REQUIRE(run.code == 0);
  CHECK(has(run.err, "292 curve readings"));
}

TEST_CASE("without --out the card goes to standard output and the report to standard error") {
  const Scratch scratch;
  const Run run = fit(scratch, in_single_quotes(kCurve) + "--tube 12AU7");
  REQUIRE(run.code == 0);
  CHECK(std::holds_alternative<Tube>(read_tube_text(run.out, "stdout")));
  CHECK(has(run.err, "published:"));
}

TEST_CASE("a type without a card gets a law, and is told what a card needs besides") {
  const Scratch scratch;
  const Run run = fit(scratch, in_single_quotes(kCurve) + "--tube 'X \"1\"' --model child_langmuir");
  REQUIRE(run.code == 0);
  const auto card = nlohmann::json::parse(run.out);
  CHECK(card.at("tube") == "X \"1\"");
  CHECK(card.at("models").at(0).at("form") == "child_langmuir");
  CHECK(card.at("models").at(0).at("mu").get<double>() > 10);
  CHECK(has(run.err, "no card of the X"));
  // what only a data sheet tells is refused by name until it is there
  const auto read = read_tube_text(run.out, "stdout");
  REQUIRE(std::holds_alternative<InputErrors>(read));
  const std::string words = in_words(std::get<InputErrors>(read));
  for (const char* place : {"/ratings/plate_v_max/value", "/ratings/plate_w_max/value", "/heater/volt_v",
                            "/heater/current_a", "/capacitance_f/grid_plate", "/capacitance_f/source"})
    CHECK(has(words, std::string(place) + ": is still to be filled in"));
  CHECK_FALSE(has(words, "/models"));
  CHECK_FALSE(has(words, "is missing"));
}

TEST_CASE("--like makes a whole card, in which everything taken over says from where") {
  const Scratch scratch;
  const std::string card = (scratch.folder / "new/folder/own.json").string();  // folders are made
  const Run run = fit(scratch, in_single_quotes(kCurve) + "--tube own --like 6CG7 --out " + card);
  REQUIRE(run.code == 0);
  CHECK(has(run.out, "taken over from the 6CG7"));
  const auto read = read_tube(card);
  REQUIRE(std::holds_alternative<Tube>(read));
  const Tube& own = std::get<Tube>(read);
  const auto other = std::get<Tube>(read_tube(kConfigs + "/tubes/6CG7.json"));
  CHECK(own.name == "own");
  CHECK(own.models.size() == 1);
  CHECK(own.published_points.empty());
  CHECK_FALSE(own.base);  // pins are not guessed
  CHECK(own.ratings.plate_v_max->value == other.ratings.plate_v_max->value);
  CHECK(own.capacitance.grid_plate_f == other.capacitance.grid_plate_f);
  for (const std::string& source :
       {own.ratings.plate_v_max->source, own.ratings.plate_w_max->source, own.heater.source,
        own.capacitance.source, own.spread_source, own.grid_conduction_v.source})
    CHECK(source.starts_with("taken over from the 6CG7, not published for this type: "));
  const Run known = fit(scratch, in_single_quotes(kCurve) + "--tube 12AU7 --like 6CG7");
  CHECK(known.code == 2);
  CHECK(has(known.err, "keeps its own ratings"));
  const Run unknown = fit(scratch, in_single_quotes(kCurve) + "--tube own --like 6CG8");
  CHECK(unknown.code == 2);
  CHECK(has(unknown.err, "did you mean \"6CG7\""));
}

TEST_CASE("published points alone are enough with a law to lean on, and too few without") {
  const Scratch scratch;
  CHECK(fit(scratch, "--tube ECC99 --towards 12AU7").code == 0);
  CHECK(fit(scratch, "--tube 12AU7 --towards 12AU7").code == 0);  // the set of 1996 on its own card
  CHECK(has(fit(scratch, "--tube ECC99 --towards ECC99").err, "no published koren_1996 set"));
  const Run run = fit(scratch, "--tube ECC99");
  CHECK(run.code == 2);
  CHECK(has(run.err, "too few points: koren_1996 has 6 parameters"));
  CHECK(run.out.empty());
}

TEST_CASE("every bad row is told with its line, and nothing is written") {
  const Scratch scratch;
  const std::string points = scratch.file("p.csv", "vg_v,va_v,ia_ma\n0,50,1\n0,fifty,1\n0,60,-3\n");
  const std::string card = scratch.file("card.json");
  const Run run = fit(scratch, in_single_quotes(points) + "--tube 12AU7 --out " + in_single_quotes(card));
  CHECK(run.code == 2);
  CHECK(has(run.err, "p.csv:3:3: "));
  CHECK(has(run.err, "p.csv:4:6: "));
  CHECK(run.out.empty());
  CHECK_FALSE(fs::exists(card));
}

TEST_CASE("fewer points than parameters are refused") {
  const Scratch scratch;
  const std::string points = scratch.file("p.csv", "vg_v,va_v,ia_ma\n0,50,1\n-1,100,1\n-1,120,2\n");
  const Run run = fit(scratch, in_single_quotes(points) + "--tube X1");
  CHECK(run.code == 2);
  CHECK(has(run.err, "3 curve readings"));
}

TEST_CASE("readings that no triode gives are fitted all the same, with a word of warning") {
  const Scratch scratch;
  std::string text = "vg_v,va_v,ia_ma\n";  // more current the more negative the grid: a sign was lost
  for (int k = 0; k < 12; ++k)
    text += std::to_string(-k) + "," + std::to_string(10 + k) + "," + std::to_string(1 << k) + "e-2\n";
  const Run run = fit(scratch, in_single_quotes(scratch.file("p.csv", text)) + "--tube X1");
  CHECK(run.code == 0);
  CHECK(has(run.err, "look at the columns"));
}

TEST_CASE("missing files, unknown laws and unknown tubes to lean on have their own words and exit codes") {
  const Scratch scratch;
  CHECK(fit(scratch, "nowhere.csv --tube 12AU7").code == 3);
  const Run law = fit(scratch, in_single_quotes(kCurve) + "--tube 12AU7 --model korn");
  CHECK(law.code == 2);
  CHECK(has(law.err, "koren_1996 dempwolf_zoelzer_2011 child_langmuir measured_surface island_triode"));
  const Run towards = fit(scratch, "--tube 12AU7 --towards nobody");
  CHECK(towards.code == 2);
  CHECK(has(towards.err, "no card of that name"));
  CHECK(fit(scratch, "--tube ECC99 --towards ECC99 --model child_langmuir").code == 2);
  CHECK(fit(scratch, in_single_quotes(kCurve)).code == 2);  // no --tube
}

TEST_CASE("a card that cannot be written is said so, and no part of it is left") {
  const Scratch scratch;
  const std::string below_a_file = scratch.file("plain", "x") + "/card.json";
  const Run run =
      fit(scratch, in_single_quotes(kCurve) + "--tube 12AU7 --out " + in_single_quotes(below_a_file));
  CHECK(run.code == 3);
  CHECK(has(run.err, "cannot be written"));
  CHECK(whole(scratch.file("plain")) == "x");
}
