// Every number of every example at the edges of what a number can be: refused where it stands, or handled.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "configs/tube_library.h"
#include "objectives/design_problem.h"
#include "objectives/figures/catalogue.h"
#include "results/text/read_quantity.h"

#include "stagemodels/design_fields.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"

using namespace antiphase;
using namespace antiphase::testing;
using json = nlohmann::ordered_json;

namespace {

/// As they stand in a file. What JSON does not know as a number (NaN, 0x10, 1e) is an error of the file's
/// form.
const std::vector<std::string> kEdges{"0",         "-0",
                                      "-0.0",      "5e-324",
                                      "-5e-324",   "2.2250738585072014e-308",
                                      "1e-400",    "1e308",
                                      "-1e308",    "1.7976931348623157e308",
                                      "1e309",     "-1e309",
                                      "NaN",       "Infinity",
                                      "-Infinity", "0x10",
                                      "1e",        "9007199254740993",
                                      "\"-0\"",    "\"5e-324\"",
                                      "\"1e309\"", "\"nan\"",
                                      "\"inf\"",   "\"∞\"",
                                      "\"0x1p3\"", "\"1e308k\"",
                                      "\"\""};

std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::filesystem::path> examples(const std::string& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/" + folder))
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

/// The document's text with other text for the member at a pointer.
std::string with(json document, const json::json_pointer& at, const std::string& instead) {
  const std::string mark = "@here@";
  document.at(at) = mark;
  std::string text = document.dump();
  return text.replace(text.find('"' + mark + '"'), mark.size() + 2, instead);
}

/// Pointers to numbers, and to text that reads as one. Long lists count with their ends.
void numbers_in(const json& value, const std::string& path, std::vector<std::string>& out) {
  if (value.is_number() || (value.is_string() && read_quantity(value.get<std::string>(), "ohm"))) {
    out.push_back(path);
  } else if (value.is_object()) {
    for (const auto& [name, member] : value.items()) {
      std::string escaped;
      for (const char c : name) escaped += c == '/' ? "~1" : c == '~' ? "~0" : std::string(1, c);
      numbers_in(member, path + "/" + escaped, out);
    }
  } else if (value.is_array()) {
    for (std::size_t i = 0; i < value.size(); ++i)
      if (i < 2 || i + 1 == value.size()) numbers_in(value[i], path + "/" + std::to_string(i), out);
  }
}

void check_told(const InputErrors& errors) {
  REQUIRE(!errors.list.empty());
  for (const InputError& error : errors.list) {
    CHECK(!error.what.empty());
    CHECK(error.line >= 1);
  }
}

/// No figure and no limit of what is read is NaN or infinite.
void check_numbers(const Design& design) {
  Evaluation e;
  evaluate(design, Depth::with_frequency, e);
  for (const Figure& figure : figures())
    if (const auto value = figure.measure(design, e)) {
      CAPTURE(figure.name);
      CHECK(std::isfinite(*value));
    }
}

/// Every number of every example of a folder at every edge: `read` gives what is wrong, nothing if it was
/// read.
struct Told {
  int told = 0, read_all_the_same = 0;
};
Told at_every_edge(const std::string& folder, const std::function<InputErrors(const std::string& text)>& read,
                   const std::vector<std::string>& only = {}) {
  Told counts;
  for (const auto& file : examples(folder)) {
    if (!only.empty() && std::find(only.begin(), only.end(), file.stem().string()) == only.end()) continue;
    const json document = json::parse(bytes_of(file));
    std::vector<std::string> places;
    numbers_in(document, "", places);
    for (const std::string& place : places)
      for (const std::string& edge : kEdges) {
        CAPTURE(file.filename().string());
        CAPTURE(place);
        CAPTURE(edge);
        const InputErrors errors = read(with(document, json::json_pointer(place), edge));
        ++(errors.list.empty() ? counts.read_all_the_same : counts.told);
        if (!errors.list.empty()) check_told(errors);
      }
  }
  MESSAGE(folder, ": ", counts.told, " told, ", counts.read_all_the_same, " read and used");
  CHECK(counts.told > 1000);
  return counts;
}

}  // namespace

TEST_CASE("edges of numbers in designs are refused where they stand, or every figure stays a number") {
  const Told counts = at_every_edge("designs", [](const std::string& text) {
    auto read = read_design_text(text, "f", shipped());
    if (auto* errors = std::get_if<InputErrors>(&read)) return *errors;
    check_numbers(std::get<Design>(read));
    return InputErrors{};
  });
  CHECK(counts.read_all_the_same > 20);
}

TEST_CASE("both ends of each range of a design are read and solved, and the next number beyond is refused") {
  int ends = 0;
  for (const auto& file : examples("designs")) {
    const json document = json::parse(bytes_of(file));
    auto plain = read_design_text(document.dump(), "f", shipped());
    REQUIRE(std::holds_alternative<Design>(plain));
    for (const DesignField& field : design_fields()) {
      const json::json_pointer at{std::string(field.pointer)};
      if (!field.applies(std::get<Design>(plain)) || !document.contains(at)) continue;
      CAPTURE(file.filename().string());
      CAPTURE(field.pointer);
      for (const bool upper : {false, true}) {
        const double end = upper ? field.high : field.low;
        const double beyond = std::nextafter(end, upper ? HUGE_VAL : -HUGE_VAL);
        json document_at = document, document_beyond = document;
        document_at.at(at) = end;
        document_beyond.at(at) = beyond;
        const auto read = read_design_text(document_at.dump(), "f", shipped());
        // At an end another rule may speak (a grid above the supply); if it is read it is solved.
        if (const auto* design = std::get_if<Design>(&read))
          check_numbers(*design);
        else
          check_told(std::get<InputErrors>(read));
        const auto refused = read_design_text(document_beyond.dump(), "f", shipped());
        REQUIRE(std::holds_alternative<InputErrors>(refused));
        check_told(std::get<InputErrors>(refused));
        ++ends;
      }
    }
  }
  CHECK(ends > 200);
}

TEST_CASE("edges of numbers in briefs are refused where they stand or the search gets no NaN" *
          doctest::test_suite("long")) {
  at_every_edge("briefs", [](const std::string& text) {
    auto read = read_brief_text(text, ANTIPHASE_SOURCE "/configs/briefs/f.json", shipped());
    if (auto* errors = std::get_if<InputErrors>(&read)) return *errors;
    const Brief& brief = std::get<Brief>(read);
    const DesignProblem problem(brief.space, brief.demands);
    if (problem.families().empty()) return InputErrors{};
    const engine::Family& family = problem.families()[0];  // the number is the same in each
    std::vector<double> x;
    for (const engine::Axis& axis : family.parts.axes) x.push_back(axis.levels[axis.levels.size() / 2]);
    const engine::Judged judged = family.parts.make_judge()(x);
    CHECK(!std::isnan(judged.cost));
    CHECK(!std::isnan(judged.violation));
    return InputErrors{};
  });
}

TEST_CASE("edges of numbers on cards are refused where they stand, or read") {
  at_every_edge("tubes",
                [](const std::string& text) {
                  auto read = read_tube_text(text, "f");
                  auto* errors = std::get_if<InputErrors>(&read);
                  return errors ? *errors : InputErrors{};
                },
                {"12AX7", "6SN7GT", "6DJ8"});
}
