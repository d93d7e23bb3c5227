#include "results/terminal/evaluation_text.h"

#include <doctest/doctest.h>

#include <limits>
#include <sstream>

#include "results/describe/safety.h"
#include "results/text/lines.h"
#include "tests/results/support/sample_figures.h"

using namespace antiphase;

namespace {

void fits_the_screen(const std::string& text, std::size_t screen = 80) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) CHECK_MESSAGE(display_width(line) <= screen, line);
}

}  // namespace

TEST_CASE("every form of stage is told within 80 columns") {
  for (const Design& d :
       {sample::self_biased_pair(), sample::direct_pair(), sample::rail_pair(), sample::gain_stage()}) {
    const std::string text = evaluation_text(sample::record(d));
    fits_the_screen(text);
    for (const char* part : {"At rest", "Small signal", "At the target", "Harmonics", "Clean up to",
                             "The pencil's estimate", "Parts", "Limits"})
      CHECK_MESSAGE(text.find(part) != std::string::npos, part);
    CHECK(text.find(wrapped(kSafetyLine)) != std::string::npos);
    CHECK(text.find("nan") == std::string::npos);
    CHECK(text.find("n/a") == std::string::npos);
  }
}

TEST_CASE("the hand estimate is set beside the solved figure, with what it leaves out") {
  const std::string text = evaluation_text(sample::record(sample::self_biased_pair()));
  CHECK(text.find("common cathode") != std::string::npos);
  CHECK(text.find("not the DC line of the plate resistor alone") != std::string::npos);
}

TEST_CASE("a target out of reach is told in words, and no figure is made up") {
  Design d = sample::self_biased_pair();
  d.swing_peak_v = 300;
  const Record r = sample::record(d);
  REQUIRE(r.evaluation.at_target.solved == Solved::target_out_of_reach);
  const std::string text = evaluation_text(r);
  CHECK(text.find("saturate below the target swing") != std::string::npos);
  CHECK(text.find("total harmonic distortion") == std::string::npos);
  CHECK(text.find("At rest") != std::string::npos);
}

TEST_CASE("broken limits come first and are marked") {
  Record r = sample::record(sample::self_biased_pair());
  r.limits = {{"a", "kept one", "V", 0, 1, 2, 1, false, 50, true, false, true},
              {"b", "broken one", "V", 2, 3, 2, 1, false, -50, false, false, true},
              {"c", "unknown one", "V", 0, 0, 2, 1, true, 0, false, false, false}};
  const std::string text = limits_table(r);
  CHECK(text.find("unknown one") < text.find("broken one"));
  CHECK(text.find("broken one") < text.find("kept one"));
  CHECK(text.find("!  broken one") != std::string::npos);
  CHECK(text.find("!  kept one") == std::string::npos);
  CHECK(text.find("2 limits are broken") != std::string::npos);
  CHECK(text.find("≥ 2 V") != std::string::npos);
}

TEST_CASE("every limit there is fits the table with broad numbers") {
  Record r = sample::record(sample::self_biased_pair());
  r.limits.clear();
  for (const Limit& l : limits())
    r.limits.push_back({l.name, l.label, l.unit, 2, -123.4e-3, -456.7e-3, 1, false, -12345, false, true});
  for (const Figure& f : figures())
    r.limits.push_back({f.name, f.label, f.unit, 0, -123.4e-3, -456.7e-3, 1, false, -12345, false, true});
  fits_the_screen(limits_table(r));
}

TEST_CASE("the figures of the whole circuit stand in blocks that line up within 80 columns") {
  for (const Design& d : {sample::self_biased_pair(), sample::rail_pair(), sample::gain_stage()}) {
    const Record r = sample::whole_circuit(d);
    const std::string text = evaluation_text(r);
    fits_the_screen(text);
    CHECK(text.find("n/a") == std::string::npos);
    for (const char* part :
         {"Two tones at once", "Distortion in % against level", "How far it goes cleanly",
          "Driven past the target", "are starved", "time constant of 25 ms", "noise, 20 Hz"})
      CHECK_MESSAGE(text.find(part) != std::string::npos, part);
  }
}

TEST_CASE("numbers of the level table stand under each other by their points") {
  std::istringstream lines(evaluation_text(sample::whole_circuit()));
  std::vector<std::string> rows;
  bool inside = false;
  for (std::string line; std::getline(lines, line);) {
    if (line.find("level, dB") != std::string::npos) inside = true;
    if (inside && line.empty()) break;
    if (inside) rows.push_back(line);
  }
  REQUIRE(rows.size() == 2 + 8);  // heading, rule, eight levels
  const auto points = [](const std::string& line) {
    std::vector<std::size_t> at;
    for (std::size_t i = line.find('.'); i != std::string::npos; i = line.find('.', i + 1)) at.push_back(i);
    return at;
  };
  for (std::size_t k = 2; k < rows.size(); ++k) {
    CHECK(points(rows[k]).size() == 5);
    CHECK_MESSAGE(points(rows[k]) == points(rows[2]), rows[k]);
  }
}

TEST_CASE("a part that could not be solved is told under its heading") {
  Record r = sample::whole_circuit();
  r.evaluation.level_curve = {};
  r.evaluation.level_curve.solved = Solved::no_convergence;
  const std::string text = evaluation_text(r);
  CHECK(text.find("No distortion against level: the solver did not settle on this design.") !=
        std::string::npos);
  CHECK(text.find("level, dB") == std::string::npos);
}

TEST_CASE("a short answer has what is asked first, and tells broken limits with what helps") {
  Record r = sample::whole_circuit();
  const std::string text = short_evaluation_text(r);
  for (const char* part : {"At rest", "gain", "input drive, peak", "output impedance", "Clean up to"})
    CHECK_MESSAGE(text.find(part) != std::string::npos, part);
  for (const char* part : {"Harmonics", "Two tones", "Parts"})
    CHECK_MESSAGE(text.find(part) == std::string::npos, part);
  CHECK(text.size() < evaluation_text(r).size() / 2);
  CHECK(text.find(wrapped(kSafetyLine)) != std::string::npos);
  r.limits = {{"a", "kept one", "V", 0, 1, 2, 1, false, 50, true, false, true},
              {"b", "broken one", "V", 2, 3, 2, 1, false, -50, false, true}};
  r.limits.back().remedy = "Raise the supply.";
  const std::string broken = short_evaluation_text(r);
  CHECK(broken.find("! broken one: Raise the supply.") != std::string::npos);
  CHECK(broken.find("kept one") == std::string::npos);
}

TEST_CASE("an evaluation fits screens of 60 to 80 columns") {
  const Record r = sample::whole_circuit();
  for (std::size_t screen = 60; screen <= 80; screen += 10) {
    fits_the_screen(evaluation_text(r, {}, screen), screen);
    fits_the_screen(short_evaluation_text(r, screen), screen);
  }
}
