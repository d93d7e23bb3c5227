// Every shipped example, bent in every member: what is wrong is told where it is, and nothing else happens.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "configs/tube_library.h"
#include "tests/support/shipped.h"

using namespace antiphase;
using namespace antiphase::testing;
using json = nlohmann::ordered_json;

namespace {

enum class Bend { removed, misspelt, wrong_type, given_twice, huge, not_a_number };
constexpr std::array kBends{Bend::removed,     Bend::misspelt, Bend::wrong_type,
                            Bend::given_twice, Bend::huge,     Bend::not_a_number};

/// Text of a document with one member, at a pointer, bent.
std::string bent(const json& value, const std::string& at, const std::string& path, Bend bend) {
  if (value.is_object()) {
    std::string text;
    const auto add = [&](const std::string& name, const std::string& what) {
      text += (text.empty() ? "" : ",") + json(name).dump() + ":" + what;
    };
    for (const auto& [name, member] : value.items()) {
      const std::string here = path + "/" + name;
      const std::string plain = bent(member, at, here, bend);
      if (here != at)
        add(name, plain);
      else if (bend == Bend::misspelt)
        add(name + name.back(), plain);
      else if (bend == Bend::wrong_type)
        add(name, member.is_boolean() ? "3" : "true");
      else if (bend == Bend::huge)
        add(name, "1e308");
      else if (bend == Bend::not_a_number)
        add(name, "\"NaN\"");
      else if (bend == Bend::given_twice) {
        add(name, plain);
        add(name, plain);
      }
    }
    return "{" + text + "}";
  }
  if (value.is_array()) {
    std::string text;
    for (std::size_t i = 0; i < value.size(); ++i)
      text += (i ? "," : "") + bent(value[i], at, path + "/" + std::to_string(i), bend);
    return "[" + text + "]";
  }
  return value.dump();
}

void for_each_member(const json& value, const std::string& path,
                     const std::function<void(const std::string&, const json&)>& use) {
  if (value.is_object())
    for (const auto& [name, member] : value.items()) {
      use(path + "/" + name, member);
      for_each_member(member, path + "/" + name, use);
    }
  if (value.is_array())
    for (std::size_t i = 0; i < value.size(); ++i)
      for_each_member(value[i], path + "/" + std::to_string(i), use);
}

/// Empty list: it was read. The name is a real one: a brief may name a list of parts beside it.
using Reader = std::function<InputErrors(const std::string&)>;
const std::string kBesideBriefs = ANTIPHASE_SOURCE "/configs/briefs/f.json";

template <class T>
InputErrors errors_of(const OrErrors<T>& read) {
  const auto* errors = std::get_if<InputErrors>(&read);
  return errors ? *errors : InputErrors{};
}

struct Kind {
  const char* folder;
  Reader read;
};
const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      {"briefs",
       [](const std::string& t) { return errors_of(read_brief_text(t, kBesideBriefs, shipped())); }},
      {"designs", [](const std::string& t) { return errors_of(read_design_text(t, "f", shipped())); }},
      {"tubes", [](const std::string& t) { return errors_of(read_tube_text(t, "f")); }},
      {"output_valves", [](const std::string& t) { return errors_of(read_output_valve_text(t, "f")); }}};
  return all;
}

std::vector<std::filesystem::path> examples(const char* folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry :
       std::filesystem::directory_iterator(std::string(ANTIPHASE_SOURCE "/configs/") + folder))
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// Whether some error stands at the pointer or inside it.
bool told_at(const InputErrors& errors, const std::string& pointer) {
  return std::any_of(errors.list.begin(), errors.list.end(),
                     [&](const InputError& f) { return f.pointer.starts_with(pointer); });
}

}  // namespace

TEST_CASE("every member of every example, bent in six ways, is told where it stands") {
  std::map<Bend, int> told, read_all_the_same;
  for (const Kind& kind : kinds())
    for (const auto& file : examples(kind.folder)) {
      const json document = json::parse(bytes_of(file), nullptr, true, true);
      for_each_member(document, "", [&](const std::string& at, const json& member) {
        const std::string name = at.substr(at.rfind('/') + 1), parent = at.substr(0, at.rfind('/'));
        for (const Bend bend : kBends) {
          if ((bend == Bend::huge || bend == Bend::not_a_number) && !member.is_number()) continue;
          const InputErrors errors = kind.read(bent(document, at, "", bend));
          CAPTURE(file.filename().string());
          CAPTURE(at);
          CAPTURE(static_cast<int>(bend));
          CAPTURE(in_words(errors));
          ++(errors.list.empty() ? read_all_the_same : told)[bend];
          for (const InputError& error : errors.list) {
            CHECK(!error.what.empty());
            CHECK(error.line >= 1);
          }
          switch (bend) {
            case Bend::removed:  // an optional one may go; else what is wrong without it has been told
              break;
            case Bend::misspelt:
              CHECK(told_at(errors, at));  // under its wrong name, or as missing under its right one
              break;
            case Bend::wrong_type:
            case Bend::huge:
            case Bend::not_a_number:
              CHECK(told_at(errors, at));
              break;
            case Bend::given_twice:
              CHECK(in_words(errors).find("twice") != std::string::npos);
              break;
          }
        }
      });
    }
  int all = 0;
  for (const auto& [bend, count] : told) all += count;
  MESSAGE(all, " wrong inputs told; ", read_all_the_same[Bend::removed], " members may be left out");
  CHECK(all >= 250);
  for (const Bend bend : kBends)
    if (bend != Bend::removed) CHECK(read_all_the_same[bend] == 0);
}

TEST_CASE("a file cut anywhere, in another encoding, or with a byte changed is read or told, never more") {
  int told = 0, read = 0;
  for (const Kind& kind : kinds())
    for (const auto& file : examples(kind.folder)) {
      const std::string good = bytes_of(file);
      REQUIRE(kind.read(good).list.empty());
      const std::size_t end = good.find_last_of('}');
      for (std::size_t part = 1; part <= 20; ++part) {
        CAPTURE(file.filename().string());
        CHECK(!kind.read(good.substr(0, end * part / 21)).list.empty());
      }
      std::string wide;  // UTF-16 as some editors save it
      for (const char c : good) wide += std::string{c, '\0'};
      CHECK(!kind.read("\xff\xfe" + wide).list.empty());
      CHECK(!kind.read(wide).list.empty());
      for (std::size_t n = 0; n < 40; ++n) {
        std::string other = good;
        other[good.size() * n / 40] = static_cast<char>("\x00\xff\"{}[]:,x"[n % 10]);
        ++(kind.read(other).list.empty() ? read : told);
      }
    }
  MESSAGE(told, " told, ", read, " read all the same");
  CHECK(told > 1000);
}
