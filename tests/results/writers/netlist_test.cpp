// The netlist as text. That a simulator solves it and finds the same figures is tests/reference's.
#include "results/writers/netlist.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>
#include <vector>

#include "stagemodels/circuits/designators.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

std::vector<std::string> lines_of(const Design& d, const Evaluation& e = {}) {
  Record r;
  r.design = d;
  r.evaluation = e;
  std::vector<std::string> lines;
  std::istringstream text(netlist(r));
  for (std::string line; std::getline(text, line);) lines.push_back(line);
  return lines;
}

bool has(const std::vector<std::string>& lines, const std::string& line) {
  return std::find(lines.begin(), lines.end(), line) != lines.end();
}

/// Lines that a simulator takes for elements or commands; the first line is the title.
std::vector<std::string> taken(const std::vector<std::string>& lines) {
  std::vector<std::string> all;
  for (std::size_t i = 1; i < lines.size(); ++i)
    if (!lines[i].empty() && lines[i].front() != '*') all.push_back(lines[i]);
  return all;
}

}  // namespace

TEST_CASE("elements stand with designators, nodes of the list and plain values") {
  const auto lines = lines_of(sample::self_biased_pair());
  CHECK(lines.back() == ".end");
  CHECK(has(lines, "V_supply MAIN 0 DC 320"));
  CHECK(has(lines, "R1 B P1 1e+05"));
  CHECK(has(lines, "R2 B P2 110000"));
  CHECK(has(lines, "R3 K TAIL 820"));
  CHECK(has(lines, "C3 P1 OUT1 1e-07"));
  CHECK(has(lines, "R_load_1 OUT1 0 220000"));
  CHECK(has(lines, "V_dropping_resistor MAIN B DC 0"));  // a wire
  CHECK(has(lines, "C1 TERM GIN 1"));                    // left open: as good as a short
  const bool warns = std::any_of(lines.begin(), lines.end(), [](const std::string& l) {
    return l.starts_with("* ") && l.find("High voltage can kill") != std::string::npos;
  });
  CHECK(warns);
}

TEST_CASE("text from a file cannot become a line") {
  Tube tube = sample::tube_12ax7();
  tube.name = "12AX7\nR99 B 0 1\r\n.include secret\v\f\x85\u2028Cx P1 0 1";
  const auto lines = lines_of(sample::self_biased_pair(tube));
  const auto plain = lines_of(sample::self_biased_pair());
  CHECK(taken(lines) == taken(plain));
  for (const std::string& line : lines)
    CHECK(std::all_of(line.begin(), line.end(), [](char c) { return c >= 0x20 && c < 0x7F; }));
}

TEST_CASE("a measured surface is not written, and a comment says so") {
  Tube tube = sample::tube_12ax7();
  tube.models.insert(tube.models.begin(), {MeasuredSurface{}, "test"});
  const auto lines = lines_of(sample::self_biased_pair(tube));
  CHECK(taken(lines) == taken(lines_of(sample::self_biased_pair())));  // the card's other law
  const auto description = [](const std::vector<std::string>& all, const char* words) {
    return std::any_of(all.begin(), all.end(),
                       [&](const std::string& l) { return l.find(words) != std::string::npos; });
  };
  CHECK(description(lines, "measured surface"));
  CHECK_FALSE(description(lines_of(sample::self_biased_pair()), "measured surface"));
  tube.models = {{MeasuredSurface{}, "test"}};
  const auto without = lines_of(sample::self_biased_pair(tube));
  CHECK(description(without, "left out"));
  CHECK_FALSE(description(without, "B_V1a_plate"));
}

TEST_CASE("every part that a design has is an element of its netlist") {
  for (const Design& d :
       {sample::self_biased_pair(), sample::direct_pair(), sample::rail_pair(), sample::gain_stage()}) {
    const auto lines = taken(lines_of(d));
    const Designators names(d);
    for (const Element& e : names.circuit()) {
      if (!bought(e, d)) continue;
      const std::string name(names.of(e));
      const std::string begins = e.kind == ElementKind::triode ? "B_" + name + "_plate " : name + " ";
      CHECK_MESSAGE(std::count_if(lines.begin(), lines.end(),
                                  [&](const std::string& l) { return l.starts_with(begins); }) == 1,
                    begins);
    }
  }
}

TEST_CASE("the feedback loop stands in comments, ready to be closed") {
  Design d = sample::self_biased_pair();
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.tube = &sample::tube_12au7();
  d.first_stage.plate_ohm = 68e3;
  d.first_stage.cathode_ohm = 2200;
  d.first_stage.cathode_unbypassed_ohm = 220;
  d.feedback.given = true;
  d.feedback.output_gain = 0.4;
  d.feedback.high_hz = 50e3;
  d.feedback.resistor_ohm = 2000;
  const auto lines = lines_of(d);
  CHECK(has(lines, "*B_stage FB1 0 V=0.2*(V(OUT1)-V(OUT2))"));
  CHECK(has(lines, "*R5 LOAD FOOT0 2000"));
  for (const std::string& line : taken(lines)) CHECK(line.find("LOAD") == std::string::npos);
  const auto across_the_loop = [](const std::vector<std::string>& all) {
    return std::count_if(all.begin(), all.end(), [](const std::string& line) {
      return line.find(" LOAD FOOT0 ") != std::string::npos;
    });
  };
  CHECK(across_the_loop(lines) == 1);

  d.feedback.lead_f = 2.2e-9;
  const auto led = lines_of(d);
  CHECK(across_the_loop(led) == 2);
  CHECK(std::any_of(led.begin(), led.end(), [](const std::string& line) {
    return line.starts_with("*C") && line.find(" LOAD FOOT0 2.2e-09") != std::string::npos;
  }));
  for (const std::string& line : taken(led)) CHECK(line.find("LOAD") == std::string::npos);
}

TEST_CASE("a decoupled first stage hangs on a node of its own") {
  Design d = sample::self_biased_pair();
  d.circuit = CircuitKind::gain_and_splitter;
  d.first_stage.tube = &sample::tube_12au7();
  d.first_stage.plate_ohm = 68e3;
  d.first_stage.cathode_ohm = 2200;
  CHECK(has(lines_of(d), "V_decoupling_resistor B B0 DC 0"));
  d.first_stage.decoupling_ohm = 22e3;
  d.first_stage.decoupling_f = 22e-6;
  const auto lines = lines_of(d);
  CHECK(has(lines, "R1 B B0 22000"));
  CHECK(has(lines, "C1 B0 0 2.2e-05"));
  CHECK(std::any_of(lines.begin(), lines.end(), [](const std::string& line) {
    return line.starts_with("R") && line.find(" B0 P0 68000") != std::string::npos;
  }));
}
