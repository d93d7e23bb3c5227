// The same brief and seed give the same result on plain x86-64 and with wide vectors.
//
// Not to the last bit: exp and log of the C library's vectors differ from its scalar ones by some units in
// the last place (stagemodels/wide.h), which a solve passes on times the condition of its equations. So: the
// same designs in the same order, the same words, and every number within 1e-9 of itself, or of the unit of
// its kind where it is smaller than that (shifts and balances that cancel to nothing).
#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "tests/support/program.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kConfigs = ANTIPHASE_SOURCE "/configs/";

/// What a number is held against at least, by the unit that ends its name; 0: itself alone.
double least_scale(const std::string& name) {
  constexpr std::pair<const char*, double> kUnits[] = {{"_v", 1},   {"_a", 1e-3}, {"_w", 1e-3}, {"_f", 1e-12},
                                                       {"_pct", 1}, {"_db", 1},   {"_deg", 1}};
  for (const auto& [unit, scale] : kUnits)
    if (name.ends_with(unit)) return scale;
  for (const char* of_the_sheet : {"expect", "deviation", "least", "most"})  // volts, beside their unit
    if (name == of_the_sheet) return 1;
  return 0;
}

struct Compared {
  std::size_t numbers = 0, differing = 0;
  double worst = 0;
  std::string where, error;
};

void compare(const json& wide, const json& plain, const std::string& where, double least, Compared& all) {
  if (wide.is_number() && plain.is_number()) {  // a nought may be written as 0 or as 1e-17
    const double a = wide, b = plain;
    ++all.numbers;
    all.differing += a != b;
    const double apart = a == b ? 0 : std::abs(a - b) / std::max({std::abs(a), std::abs(b), least});
    if (apart > all.worst) all.worst = apart, all.where = where + ": " + wide.dump() + " " + plain.dump();
  } else if (wide.type() != plain.type() || wide.size() != plain.size()) {
    all.error = where;
  } else if (wide.is_object()) {
    for (const auto& [name, value] : wide.items())
      if (plain.contains(name))
        compare(value, plain.at(name), where + "/" + name, least_scale(name), all);
      else
        all.error = where + "/" + name;
  } else if (wide.is_array()) {
    for (std::size_t i = 0; i < wide.size(); ++i)
      compare(wide[i], plain[i], where + "/" + std::to_string(i), least, all);
  } else if (wide != plain) {
    all.error = where + ": " + wide.dump() + " " + plain.dump();
  }
}

}  // namespace

TEST_CASE("searches give the same designs in the same order on plain x86-64 and with wide vectors" *
          doctest::test_suite("long")) {
  for (const std::string brief : {"rehearsal_room", "first_stage", "chain_direct_coupled", "cannot_be_met"}) {
    CAPTURE(brief);
    Folder folder;
    const std::string ask = "search " + kConfigs + "briefs/" + brief + ".json --effort quick --quiet --out ";
    const Answer wide = run(ask + (folder / "wide").string()),
                 plain = run(ask + (folder / "plain").string(), "", "", ANTIPHASE_PLAIN_PROGRAM);
    CHECK(wide.code == plain.code);
    const auto document = [&](const char* which) {
      json found = json::parse(read_text(folder / which / "candidates.json"));
      found.at("run").erase("times");
      // The way there goes by continuous steps, where rounding adds up, and with it which other designs were
      // seen.
      found.at("run").erase("milestones");
      for (json& candidate : found.at("candidates")) candidate.at("explanation").erase("counts_as_this_one");
      return found;
    };
    Compared all;
    compare(document("wide"), document("plain"), "", 0, all);
    CHECK(all.error == "");
    CAPTURE(all.where);
    CHECK(all.worst <= 1e-9);
    MESSAGE(brief, ": ", all.numbers, " numbers, ", all.differing, " differ at all, worst by ", all.worst,
            " of itself: ", all.where);
  }
}
