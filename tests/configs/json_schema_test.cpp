#include "tests/configs/json_schema.h"

#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <set>

namespace antiphase::test {
namespace {

using Json = nlohmann::json;

bool is_type(const Json& value, const std::string& type) {
  if (type == "object") return value.is_object();
  if (type == "array") return value.is_array();
  if (type == "string") return value.is_string();
  if (type == "boolean") return value.is_boolean();
  if (type == "null") return value.is_null();
  if (type == "integer")
    return value.is_number_integer() ||
           (value.is_number() && value.get<double>() == std::floor(value.get<double>()));
  return type == "number" && value.is_number();
}

bool matches(const std::string& pattern, const std::string& text) {
  static std::map<std::string, std::regex> compiled;
  const auto it = compiled.try_emplace(pattern, pattern, std::regex::ECMAScript).first;
  return std::regex_search(text, it->second);
}

/// Characters, not bytes.
std::size_t length(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }));
}

bool number_obeys(const std::string& key, double limit, double value) {
  if (key == "minimum") return value >= limit;
  if (key == "maximum") return value <= limit;
  if (key == "exclusiveMinimum") return value > limit;
  return value < limit;  // exclusiveMaximum
}

bool size_obeys(const std::string& key, std::size_t limit, const Json& value) {
  if (key == "minItems") return !value.is_array() || value.size() >= limit;
  if (key == "maxItems") return !value.is_array() || value.size() <= limit;
  if (key == "maxProperties") return !value.is_object() || value.size() <= limit;
  if (key == "minLength") return !value.is_string() || length(value) >= limit;
  return !value.is_string() || length(value) <= limit;  // maxLength
}

std::string check_object(const Json& schema, const Json& root, const Json& value,
                         const std::string& pointer) {
  const Json none = Json::object();
  const Json& properties = schema.contains("properties") ? schema["properties"] : none;
  for (const auto& [name, member] : value.items()) {
    if (properties.contains(name)) {
      if (auto error = schema_error(properties[name], root, member, pointer + "/" + name); !error.empty())
        return error;
    } else if (schema.value("additionalProperties", true) == false) {
      return pointer + "/" + name + " is not allowed";
    }
  }
  if (schema.contains("required"))
    for (const auto& name : schema["required"])
      if (!value.contains(name)) return pointer + " lacks " + name.get<std::string>();
  return "";
}

int count_fitting(const Json& schemas, const Json& root, const Json& value, const std::string& pointer,
                  std::string& last_error) {
  int fitting = 0;
  for (const auto& schema : schemas) {
    const auto error = schema_error(schema, root, value, pointer);
    if (error.empty())
      ++fitting;
    else
      last_error = error;
  }
  return fitting;
}

}  // namespace

std::string schema_error(const Json& schema, const Json& root, const Json& value,
                         const std::string& pointer) {
  if (schema.is_boolean()) return schema.get<bool>() ? "" : pointer + " is not allowed";
  if (schema.contains("$ref"))  // in draft 7 it hides its neighbours
    return schema_error(root.at(Json::json_pointer(schema["$ref"].get<std::string>().substr(1))), root, value,
                        pointer);
  static const std::set<std::string> kSayNothing{
      "$schema",     "$id",        "title",    "description",          "default", "examples",
      "definitions", "properties", "required", "additionalProperties", "then",    "else"};
  if (value.is_object())
    if (auto error = check_object(schema, root, value, pointer); !error.empty()) return error;
  std::string inner;
  for (const auto& [key, rule] : schema.items()) {
    bool ok = true;
    if (kSayNothing.contains(key)) continue;
    if (key == "type") {
      const auto types =
          rule.is_array() ? rule.get<std::vector<std::string>>() : std::vector{rule.get<std::string>()};
      ok = std::any_of(types.begin(), types.end(), [&](const auto& t) { return is_type(value, t); });
    } else if (key == "const") {
      ok = value == rule;
    } else if (key == "enum") {
      ok = std::find(rule.begin(), rule.end(), value) != rule.end();
    } else if (key == "pattern") {
      ok = !value.is_string() || matches(rule, value);
    } else if (key == "minimum" || key == "maximum" || key == "exclusiveMinimum" ||
               key == "exclusiveMaximum") {
      ok = !value.is_number() || number_obeys(key, rule, value);
    } else if (key == "minItems" || key == "maxItems" || key == "maxProperties" || key == "minLength" ||
               key == "maxLength") {
      ok = size_obeys(key, rule, value);
    } else if (key == "uniqueItems") {
      ok = !value.is_array() || std::set<Json>(value.begin(), value.end()).size() == value.size();
    } else if (key == "items") {
      if (value.is_array())
        for (std::size_t i = 0; i < value.size() && inner.empty(); ++i)
          inner = schema_error(rule, root, value[i], pointer + "/" + std::to_string(i));
      ok = inner.empty();
    } else if (key == "allOf") {
      ok = count_fitting(rule, root, value, pointer, inner) == static_cast<int>(rule.size());
    } else if (key == "anyOf") {
      ok = count_fitting(rule, root, value, pointer, inner) >= 1;
    } else if (key == "oneOf") {
      ok = count_fitting(rule, root, value, pointer, inner) == 1;
    } else if (key == "not") {
      ok = !schema_error(rule, root, value, pointer).empty();
    } else if (key == "if") {
      const char* branch = schema_error(rule, root, value, pointer).empty() ? "then" : "else";
      if (schema.contains(branch)) inner = schema_error(schema[branch], root, value, pointer);
      ok = inner.empty();
    } else {
      return "the keyword " + key + " is not known to this test";
    }
    if (!ok) return inner.empty() ? pointer + " breaks " + key + " " + rule.dump() : inner;
  }
  return "";
}

Json read_schema(const std::string& file) {
  std::ifstream in(std::string(ANTIPHASE_SOURCE) + "/configs/schema/" + file);
  return Json::parse(in);
}

}  // namespace antiphase::test

using antiphase::test::schema_error;

TEST_CASE("the test's schema checker sees what draft 7 says it must") {
  // Each row: a schema, a value that obeys it, one that does not.
  const char* table[][3] = {
      {R"({"type": "integer"})", "1.0", "1.5"},
      {R"({"type": ["number", "string"]})", "\"a\"", "null"},
      {R"({"const": "a"})", "\"a\"", "\"b\""},
      {R"({"enum": ["a", 1]})", "1", "2"},
      {R"({"pattern": "^a+$"})", "\"aa\"", "\"ab\""},
      {R"({"pattern": "^a+$"})", "7", "\"\""},  // says nothing about what is no string
      {R"({"minimum": 1, "maximum": 2})", "2", "2.1"},
      {R"({"exclusiveMinimum": 0})", "0.1", "0"},
      {R"({"exclusiveMaximum": 1})", "0.9", "1"},
      {R"({"minItems": 1, "maxItems": 2})", "[1]", "[]"},
      {R"({"uniqueItems": true})", "[1, 2]", "[1, 1]"},
      {R"({"items": {"type": "number"}})", "[1, 2]", "[1, \"a\"]"},
      {R"({"maxLength": 1})", "\"\u00b5\"", "\"ab\""},
      {R"({"minLength": 1})", "\"a\"", "\"\""},
      {R"({"maxProperties": 0})", "{}", "{\"a\": 1}"},
      {R"({"required": ["a"]})", "{\"a\": 1}", "{}"},
      {R"({"properties": {"a": {"type": "number"}}, "additionalProperties": false})", "{\"a\": 1}",
       "{\"b\": 1}"},
      {R"({"properties": {"a": {"type": "number"}}})", "{\"b\": 1}", "{\"a\": \"1\"}"},
      {R"({"properties": {"a": false}})", "{}", "{\"a\": 1}"},
      {R"({"allOf": [{"minimum": 1}, {"maximum": 2}]})", "1.5", "3"},
      {R"({"anyOf": [{"maximum": 1}, {"minimum": 2}]})", "3", "1.5"},
      {R"({"oneOf": [{"maximum": 2}, {"minimum": 1}]})", "3", "1.5"},
      {R"({"not": {"type": "string"}})", "1", "\"a\""},
      {R"({"if": {"minimum": 5}, "then": {"maximum": 6}, "else": {"maximum": 1}})", "6", "2"},
      {R"({"$ref": "#/definitions/x", "definitions": {"x": {"type": "null"}}})", "null", "1"},
      {R"({"nonsense": 1})", "", "1"},
  };
  for (const auto& [schema_text, good, bad] : table) {
    const auto& told = schema_text;  // clang before 16 cannot capture a structured binding
    CAPTURE(told);
    const auto schema = nlohmann::json::parse(schema_text);
    if (*good) CHECK(schema_error(schema, schema, nlohmann::json::parse(good)) == "");
    CHECK(schema_error(schema, schema, nlohmann::json::parse(bad)) != "");
  }
}
