// The netlist that the program writes, solved by the independent library: the shipped designs' rest points
// and gains against evaluate's.
#include "results/writers/netlist.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <complex>
#include <filesystem>
#include <list>
#include <sstream>
#include <string>
#include <vector>

#include "configs/read_design.h"
#include "configs/tube_library.h"
#include "results/make_record.h"
#include "stagemodels/circuits/circuit.h"
#include "stagemodels/sizing.h"
#include "tests/reference/circuit_library.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

// Both sides solve the same equations. Left are the library's own tolerance (reltol 1e-9, tight_options) and
// ours, times the gain from a plate current to a voltage (below 1e3).
constexpr double kRest_v = 1e-5, kGain = 1e-6;

Netlist lines_of(const std::string& text) {
  Netlist lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  lines.insert(lines.begin() + 1, tight_options());
  return lines;
}

std::vector<std::filesystem::path> shipped_designs() {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/designs"))
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  return files;
}

/// The type with the first of its laws that has a closed form as the only one; kept as long as the program.
const Tube* in_closed_form(const Tube* type) {
  static std::list<Tube> types;
  if (!type) return type;
  types.push_back(*type);
  auto& models = types.back().models;
  std::erase_if(models, [](const TubeModel& m) { return std::holds_alternative<MeasuredSurface>(m.law); });
  models.resize(1);
  return &types.back();
}

double node_v(const Circuit& c, Node n) {
  std::string name(c.node_name[static_cast<std::size_t>(n)]);
  for (char& letter : name) letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
  return n == kGround ? 0 : CircuitLibrary::instance().real(name).front();
}
std::complex<double> node_phasor(const Circuit& c, Node n) {
  std::string name(c.node_name[static_cast<std::size_t>(n)]);
  for (char& letter : name) letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
  return CircuitLibrary::instance().complex(name).front();
}

/// For gains: capacitors that the design leaves open, written as 1 F, become sources that hold what "op"
/// found across them. A short is exact so; as farads it would be neither at 20 Hz nor, by rounding beside
/// picofarads, at 20 kHz.
Netlist with_held_capacitors(Netlist lines) {
  const auto volts = [](std::string node) {
    for (char& letter : node) letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
    return node == "0" ? 0 : CircuitLibrary::instance().real(node).front();
  };
  for (std::string& line : lines) {
    std::istringstream words(line);
    std::string name, from, to, farad;
    words >> name >> from >> to >> farad;
    if (name.starts_with("C") && farad == "1")
      line = "V_held_" + name + " " + from + " " + to + " DC " + exact(volts(from) - volts(to));
  }
  return lines;
}

/// The circuit's netlist against its evaluation: electrodes at rest, gains at 20 Hz, 1 kHz and 20 kHz.
void compare(const Design& d) {
  const Record r = make_record(d, Demands{}, Depth::everything);
  const OperatingPoint& o = r.evaluation.operating_point;
  REQUIRE(o.solved == Solved::yes);
  REQUIRE(r.evaluation.frequency_known);
  CircuitLibrary& library = CircuitLibrary::instance();
  const Netlist lines = lines_of(netlist(r));
  library.load(lines);
  library.analyse("op");
  const Circuit& c = circuit_of(d);
  CHECK(within(node_v(c, c.supply), o.supply_v, kRest_v));
  int sections = 0;
  for (const Element& e : c) {
    if (e.kind != ElementKind::triode) continue;
    ++sections;
    const bool of_splitter = e.section < kSplitterSections;
    const auto i = static_cast<std::size_t>(of_splitter ? e.section : 0);
    CHECK(within(node_v(c, e.a), of_splitter ? o.plate_v[i] : own_rest(o, e.section).plate_v, kRest_v));
    CHECK(within(node_v(c, e.b), of_splitter ? o.grid_v[i] : own_rest(o, e.section).grid_v, kRest_v));
    CHECK(within(node_v(c, e.c), of_splitter ? o.cathode_v : own_rest(o, e.section).cathode_v, kRest_v));
  }
  CHECK(sections >= 1);
  library.load(with_held_capacitors(lines));
  for (const double hz : {20.0, 1e3, 20e3}) {
    CAPTURE(hz);
    const FrequencyFigures& f = r.evaluation.frequency;
    const auto point = std::min_element(f.curve.begin(), f.curve.end(), [&](const auto& a, const auto& b) {
      return std::abs(std::log(a.frequency_hz / hz)) < std::abs(std::log(b.frequency_hz / hz));
    });
    library.analyse("ac lin 1 " + exact(point->frequency_hz) + " " + exact(point->frequency_hz));
    for (int i = 0; i < c.outputs; ++i) {
      const auto n = static_cast<std::size_t>(i);
      const std::complex<double> got = node_phasor(c, c.output[n].node);
      CHECK(std::abs(got) > 0.5);  // a split load gives a little less than it gets
      CHECK_MESSAGE(std::abs(got - point->gain[n]) <= kGain * std::abs(point->gain[n]),
                    got << " against " << point->gain[n]);
    }
  }
}

TEST_CASE("the netlists of the shipped designs rest and amplify as evaluate says") {
  int compared = 0;
  for (const auto& file : shipped_designs()) {
    CAPTURE(file.string());
    const auto read = read_design(file.string(), testing::shipped());
    REQUIRE(std::holds_alternative<Design>(read));
    Design d = std::get<Design>(read);
    for (const Tube*& tube : d.tube) tube = in_closed_form(tube);
    d.first_stage.tube = in_closed_form(d.first_stage.tube);
    compare(d);
    ++compared;
  }
  CHECK(compared >= 10);
}

/// A design with that form of first stage, sized for drawn currents; a supply of 0 V: it cannot be. Keeps
/// references to the tubes.
Design drawn_with(GainForm form, CircuitKind kind, testing::RandomNumbers& random,
                  std::span<const Tube> tubes) {
  Design d = testing::pair_of(tubes[static_cast<std::size_t>(random.below(static_cast<int>(tubes.size())))]);
  d.circuit = kind;
  d.load_ohm = random.log_between(220e3, 1e6);
  d.swing_peak_v = random.between(2, 12);
  d.source_ohm = random.below(2) ? random.log_between(1e3, 100e3) : 0;
  FirstStage& f = d.first_stage;
  f.form = form;
  f.tube = &tubes[static_cast<std::size_t>(random.below(static_cast<int>(tubes.size())))];
  static const Tube pentode = testing::pentode_with(testing::kSmallPentode);
  if (form == GainForm::pentode) f.tube = &pentode;
  f.second_tube = &tubes[static_cast<std::size_t>(random.below(static_cast<int>(tubes.size())))];
  f.cathode_unbypassed_ohm = random.below(2) ? random.log_between(50, 500) : 0;
  f.second_cathode_unbypassed_ohm = random.below(2) ? random.log_between(50, 500) : 0;
  f.decoupling_ohm = random.below(2) ? random.log_between(4.7e3, 22e3) : 0;
  f.second_grid_leak_ohm = random.log_between(220e3, 1e6);
  f.load_output_ohm = random.log_between(1e6, 1e8);
  // Every capacitor has a value, so that none has to be held in the library.
  const auto farad = [&](double low, double high) { return random.log_between(low, high); };
  d.input_coupling_f = farad(10e-9, 1e-6);
  d.coupling_f = farad(22e-9, 1e-6);
  d.grid_bypass_f = farad(100e-9, 1e-6);
  d.cathode_bypass_f = farad(10e-6, 220e-6);
  f.coupling_f = farad(10e-9, 470e-9);
  f.cathode_bypass_f = farad(10e-6, 470e-6);
  f.decoupling_f = farad(4.7e-6, 47e-6);
  f.second_cathode_bypass_f = farad(10e-6, 470e-6);
  f.second_grid_bypass_f = farad(100e-9, 2.2e-6);
  f.second_coupling_f = farad(10e-9, 470e-9);
  f.screen_bypass_f = farad(47e-9, 1e-6);
  SizingInputs w{.supply_v = random.between(260, 420),
                 .tail_fraction = random.between(0.1, 0.25),
                 .plate_current_a = random.log_between(0.7e-3, 3e-3),
                 .plate_ohm = random.log_between(22e3, 68e3),
                 .plate_ohm_ratio = 1.05,
                 .first_plate_ohm = random.log_between(22e3, 100e3),
                 .first_plate_current_a = random.log_between(0.5e-3, 1.5e-3)};
  if (!(size_stage(w, d) == 0)) d.supply_v = 0;
  return d;
}

TEST_CASE("sixty designs of each form of first stage rest and amplify as the library says") {
  const Tube tubes[] = {testing::tube_with(testing::kKoren12AX7), testing::tube_with(testing::kKoren12AT7),
                        testing::tube_with(testing::kKoren12AU7), testing::tube_with(testing::kKoren6DJ8)};
  int all = 0;
  for (const GainForm form : {GainForm::constant_current, GainForm::cascode, GainForm::mu_follower,
                              GainForm::srpp, GainForm::two_triodes, GainForm::pentode}) {
    CAPTURE(name_of(form));
    testing::RandomNumbers random{std::mt19937_64(67)};
    for (const CircuitKind kind :
         {CircuitKind::gain_and_splitter, CircuitKind::gain_and_split_load, CircuitKind::gain_and_paraphase,
          CircuitKind::gain_and_floating_paraphase}) {
      CAPTURE(name_of(kind));
      int compared = 0;
      for (int n = 0; n < 400 && compared < 15; ++n) {
        const Design d = drawn_with(form, kind, random, tubes);
        if (!(d.supply_v > 0)) continue;
        Evaluation e;
        evaluate(d, Depth::rest, e);
        const OperatingPoint& o = e.operating_point;
        const auto rests = [](double grid_v, double plate_a) { return grid_v < -0.3 && plate_a > 0.1e-3; };
        if (o.solved != Solved::yes || !rests(o.grid_to_cathode_v[0], o.plate_current_a[0]) ||
            !rests(o.first.grid_to_cathode_v, o.first.plate_current_a) ||
            (has_second_section(d) && !rests(o.second.grid_to_cathode_v, o.second.plate_current_a)))
          continue;
        CAPTURE(n);
        compare(d);
        ++compared;
      }
      CHECK(compared == 15);
      all += compared;
    }
  }
  MESSAGE(all << " designs compared");
}

TEST_CASE("sections that differ from their type keep their differences in the netlist") {
  const auto read =
      read_design(ANTIPHASE_SOURCE "/configs/designs/negative_rail_sink.json", testing::shipped());
  REQUIRE(std::holds_alternative<Design>(read));
  Design d = std::get<Design>(read);
  for (const Tube*& tube : d.tube) tube = in_closed_form(tube);
  d.spread = {SectionSpread{0.8, 1.1}, SectionSpread{1.15, 0.93}};
  compare(d);
}

TEST_CASE("every law with a closed form is written as its equations say") {
  const auto read =
      read_design(ANTIPHASE_SOURCE "/configs/designs/negative_rail_resistor.json", testing::shipped());
  REQUIRE(std::holds_alternative<Design>(read));
  for (const TriodeLaw& law :
       {TriodeLaw{Koren1996{}}, TriodeLaw{DempwolfZoelzer2011{}}, TriodeLaw{ChildLangmuir{1.2e-3, 60, 0.3}},
        TriodeLaw{IslandTriode{90, 3.2e-3, 0.75, 29, 0.22, 0.085, 0.71, 2.1, 0.57, 0.22}}}) {
    CAPTURE(law.index());
    Design d = std::get<Design>(read);
    Tube tube = *d.tube[0];
    tube.models = {{law, "test"}};
    d.tube = {&tube, &tube};
    compare(d);
  }
}

}  // namespace
}  // namespace antiphase::reference
