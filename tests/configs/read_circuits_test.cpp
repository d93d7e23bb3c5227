// "stage" of a brief: one circuit, a list, or "any". Which circuits have what is asked of the catalogue, so
// that a circuit more changes nothing here.
#include <doctest/doctest.h>

#include <algorithm>

#include "configs/read_brief.h"
#include "configs/read_variables.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"
#include "tests/configs/example_files.h"

using namespace antiphase;
using namespace antiphase::test;

namespace {

using Kinds = std::vector<CircuitKind>;

/// All that the circuits of the catalogue need.
Json full_brief() {
  return patched(short_brief(), R"({
    "stage": "any", "first_stage": {"tubes": ["12AX7"]},
    "variables": {"first_plate_ohm": "100k", "first_plate_current_a": "1m"}})");
}

Brief good(const Json& brief) {
  static const TubeLibrary library = example_library();
  auto result = read_brief_text(brief.dump(), "b", library);
  if (const auto* errors = std::get_if<InputErrors>(&result)) FAIL(in_words(*errors));
  return std::get<Brief>(std::move(result));
}

std::string fault(const Json& brief) {
  static const TubeLibrary library = example_library();
  auto result = read_brief_text(brief.dump(), "b", library);
  const auto* errors = std::get_if<InputErrors>(&result);
  if (!errors) return "";
  REQUIRE(errors->list.size() == 1);
  return errors->list.front().pointer + ": " + errors->list.front().what;
}

template <class Is>
Kinds those(Is is) {
  Kinds kinds;
  for (const CircuitEntry& entry : circuits())
    if (is(entry.kind)) kinds.push_back(entry.kind);
  return kinds;
}

bool is_splitter(CircuitKind kind) {
  return outputs(kind) == 2;
}
bool stands_alone(CircuitKind kind) {
  return is_splitter(kind) && !has_first_stage(kind);
}
bool is_chain(CircuitKind kind) {
  return is_splitter(kind) && has_first_stage(kind);
}

Json names(const Kinds& kinds) {
  Json list = Json::array();
  for (const CircuitKind kind : kinds) list.push_back(std::string(name_of(kind)));
  return list;
}

Json with_stage(const Json& stage) {
  Json brief = full_brief();
  brief["stage"] = stage;
  return brief;
}

}  // namespace

TEST_CASE(
    "any means every circuit with two outputs that the brief has enough for, and says what it leaves out") {
  const Brief all = good(full_brief());
  CHECK(all.space.circuits == those(is_splitter));
  CHECK(all.space.given.circuit == all.space.circuits.front());
  CHECK(all.circuits_left_out.size() == circuits().size() - all.space.circuits.size());
  for (const std::string& words : all.circuits_left_out) CHECK(words.find("one output") != std::string::npos);

  Json without = full_brief();
  without.erase("first_stage");
  without["variables"].erase("first_plate_ohm");
  without["variables"].erase("first_plate_current_a");
  const Brief alone = good(without);
  CHECK(alone.space.circuits == those(stands_alone));
  const auto about_first = std::count_if(
      alone.circuits_left_out.begin(), alone.circuits_left_out.end(),
      [](const std::string& words) { return words.find("needs a first_stage") != std::string::npos; });
  CHECK(about_first == static_cast<long>(those(is_chain).size()));

  // What is meant for a circuit that is left out is passed over, as far as it is anybody's.
  Json half = full_brief();
  half.erase("first_stage");
  half["limits"] = Json::parse(R"([{"figure": "first_plate_v", "at_most": 150}])");
  CHECK(good(half).space.circuits == those(stands_alone));
  CHECK(good(half).space.left_out == those(is_chain));
  CHECK(good(half).demands.limits.empty());
  // What only some of those that are left have is theirs.
  half["cathode_bypass_f"] = "100u";
  CHECK(good(half).space.given.cathode_bypass_f == 100e-6);

  Json no_variable = full_brief();
  no_variable["variables"].erase("first_plate_ohm");
  const Brief fewer = good(no_variable);
  for (const CircuitKind kind : those(is_splitter)) {
    const bool kept = std::find(fewer.space.circuits.begin(), fewer.space.circuits.end(), kind) !=
                      fewer.space.circuits.end();
    CHECK(kept == !needs_variable(kind, "first_plate_ohm"));
  }
  // What all need is missed as ever.
  Json no_supply = full_brief();
  no_supply["variables"].erase("supply_v");
  CHECK(fault(no_supply) == "/variables/supply_v: is missing: supply voltage");
}

TEST_CASE("a fixed bias is refused behind a splitter whose outputs lead to a grid by resistors") {
  const auto leads = [](CircuitKind kind) { return has_role(kind, Role::divider); };
  const Kinds leading = those([&](CircuitKind kind) { return leads(kind) && !has_first_stage(kind); });
  REQUIRE(leading.size() == 2);
  const Json fixed = Json::parse(R"({"ohm": "220k", "output_valve": "6CA7", "bias_v": -30})");
  Json cathode = fixed;
  cathode["bias"] = "cathode";
  for (const CircuitKind kind : leading) {
    Json brief = patched(short_brief(), R"({"variables": {"plate_ohm_ratio": 1}})");
    brief["stage"] = std::string(name_of(kind));
    brief["load"] = fixed;
    CHECK(fault(brief).find("/load/output_valve: must have \"bias\": \"cathode\" behind a " +
                            std::string(name_of(kind)) + ": ") == 0);
    brief["load"] = cathode;
    CHECK(fault(brief) == "");
  }
  Json any = full_brief();
  any["load"] = fixed;
  const Brief left = good(any);
  CHECK(left.space.circuits == those([&](CircuitKind kind) { return is_splitter(kind) && !leads(kind); }));
  CHECK(std::count_if(left.circuits_left_out.begin(), left.circuits_left_out.end(), [](const std::string& w) {
          return w.find("needs an output valve with cathode bias") != std::string::npos;
        }) == static_cast<std::ptrdiff_t>(those(leads).size()));
  any["load"] = cathode;
  CHECK(good(any).space.circuits == those(is_splitter));
}

TEST_CASE("any leaves out circuits without a form that is named or a figure of the score") {
  for (const BiasForm form : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
    Json brief = full_brief();
    brief["variables"]["bias_form"] = {std::string(name_of(form))};
    const Brief read = good(brief);
    CHECK(read.space.circuits == those([&](CircuitKind kind) {
            const auto own = circuit(kind).bias_forms;
            return is_splitter(kind) && (own.empty() || std::find(own.begin(), own.end(), form) != own.end());
          }));
  }
  Json slip = full_brief();
  slip["variables"]["bias_form"] = {"self_baised"};
  CHECK(fault(slip).find("/variables/bias_form/0: must be ") == 0);
  Json tail = full_brief();
  tail["objectives"] = Json::parse(R"([{"figure": "distortion_pct"}, {"figure": "tail_fraction"}])");
  CHECK(good(tail).space.circuits ==
        those([](CircuitKind kind) { return is_splitter(kind) && has_role(kind, Role::tail); }));
}

TEST_CASE("a list of circuits is searched as it stands, and what is wrong with it is told at its place") {
  const Kinds splitters = those(is_splitter);
  Kinds back(splitters.rbegin(), splitters.rend());
  CHECK(good(with_stage(names(back))).space.circuits == back);
  Json lonely = with_stage(names(those(stands_alone)));
  for (const char* member : {"first_plate_ohm", "first_plate_current_a"}) lonely["variables"].erase(member);
  lonely.erase("first_stage");
  lonely["stage"] = names({those(stands_alone).front()});
  CHECK(good(lonely).space.circuits == Kinds{those(stands_alone).front()});
  CHECK(fault(with_stage(names({back[0], back[1], back[0]}))) == "/stage/2: stands in the list twice");
  const Kinds gain_stages = those([](CircuitKind kind) { return outputs(kind) == 1; });
  REQUIRE(!gain_stages.empty());
  CHECK(fault(with_stage(names({back[0], gain_stages[0]}))).find("/stage/1: has one output and ") == 0);
  CHECK(fault(with_stage({std::string(name_of(back[0])), "splitload"})).find("/stage/1: must be ") == 0);
  CHECK(fault(with_stage(Json::array())) == "/stage: must not be empty");
  CHECK(fault(with_stage("anything")).find("/stage: must be ") == 0);
  CHECK(fault(with_stage({"any"})).find("/stage/0: must be ") == 0);
}

TEST_CASE("a member that one circuit of a list has is for that one, and one that none has is an error") {
  const Kinds mixed{those(is_chain).front(), those(stands_alone).front()};
  const Brief brief = good(with_stage(names(mixed)));
  CHECK(space_of(brief.space, mixed[0]).first_tubes.size() == 1);
  CHECK(space_of(brief.space, mixed[1]).first_tubes.empty());
  Json lonely = with_stage(names(those(stands_alone)));
  lonely["variables"].erase("first_plate_ohm");
  lonely["variables"].erase("first_plate_current_a");
  CHECK(fault(lonely).find("/first_stage: has no meaning in a ") == 0);
  lonely.erase("first_stage");
  CHECK(fault(lonely) == "");
  const auto has_bypass = [](CircuitKind kind) { return has_member(kind, member::cathode_bypass_f); };
  REQUIRE(!those([&](CircuitKind kind) { return stands_alone(kind) && has_bypass(kind); }).empty());
  lonely["cathode_bypass_f"] = "100u";
  CHECK(fault(lonely) == "");
  lonely["stage"] = names(those([&](CircuitKind kind) { return stands_alone(kind) && !has_bypass(kind); }));
  CHECK(fault(lonely).find("/cathode_bypass_f: has no meaning in a ") == 0);
}

TEST_CASE("what one circuit of a list needs and is missing is told with the circuit's name") {
  const Kinds mixed{those(stands_alone).front(), those(is_chain).front()};
  Json brief = with_stage(names(mixed));
  brief.erase("first_stage");
  CHECK(fault(brief) == "/first_stage: is missing: the gain stage ahead of the splitter (for " +
                            std::string(name_of(mixed[1])) + ")");
  brief = with_stage(names(mixed));
  brief["variables"].erase("first_plate_current_a");
  CHECK(fault(brief) ==
        "/variables/first_plate_current_a: is missing: plate current of the first stage at "
        "rest (for " +
            std::string(name_of(mixed[1])) + ")");
}

TEST_CASE("a limit counts for the circuits that have its figure, and the score needs figures of all") {
  const Kinds mixed{those(stands_alone).front(), those(is_chain).front()};
  Json brief = with_stage(names(mixed));
  brief["limits"] = Json::parse(
      R"([{"figure": "first_plate_v", "at_most": 150}, {"figure": "headroom_db", "at_least": 1}])");
  const Brief read = good(brief);
  REQUIRE(read.demands.limits.size() == 2);
  CHECK(!is_held(read.demands.limits[0], mixed[0]));
  CHECK(is_held(read.demands.limits[0], mixed[1]));
  CHECK(is_held(read.demands.limits[1], mixed[0]));
  CHECK(demands_on(mixed[0], read.demands).limits.size() == 1);
  std::string words;
  for (const std::string& sentence : brief_in_words(read)) words += sentence + "\n";
  CHECK(words.find("at most 150 V, in the " + std::string(circuit(mixed[1]).label) + " only.") !=
        std::string::npos);
  CHECK(words.find("Circuits that are compared: a ") == 0);
  brief["objectives"] = Json::parse(R"([{"figure": "first_plate_v"}])");
  CHECK(fault(brief).find("/objectives/0: a " + std::string(name_of(mixed[0])) + " stage has no ") == 0);
}
