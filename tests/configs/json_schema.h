/// The part of JSON Schema draft 7 that our schemas use, so that tests can hold schemas and readers
/// against each other without a validator installed. A keyword it does not know fails the test.
/// Source: draft-handrews-json-schema-validation-01 (2018).
#pragma once

#include <nlohmann/json.hpp>
#include <regex>
#include <string>

namespace antiphase::test {

/// "" if `value` obeys `schema`, otherwise where and why not. `root`: the whole schema, for "$ref".
std::string schema_error(const nlohmann::json& schema, const nlohmann::json& root,
                         const nlohmann::json& value, const std::string& pointer = "");

/// A schema of configs/schema, by its file name.
nlohmann::json read_schema(const std::string& file);

}  // namespace antiphase::test
