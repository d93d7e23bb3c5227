#include "results/json/json_writer.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstring>
#include <limits>
#include <nlohmann/json.hpp>
#include <random>

using namespace antiphase;

TEST_CASE("objects and arrays nest, indented or dense, and parse back") {
  for (const auto style : {JsonWriter::Style::indented, JsonWriter::Style::dense}) {
    JsonWriter json(style);
    json.begin_object().member("a", 1).key("b").begin_array().value(true).null().begin_object().end_object();
    json.end_array().key("c").begin_array(true).value("x").value(0.5).end_array().end_object();
    const auto back = nlohmann::json::parse(std::move(json).take());
    CHECK(back == nlohmann::json::parse(R"({"a": 1, "b": [true, null, {}], "c": ["x", 0.5]})"));
  }
}

TEST_CASE("the indented layout puts members on lines of their own and flat arrays on one") {
  JsonWriter json;
  json.begin_object()
      .member("a", 1)
      .key("b")
      .begin_array(true)
      .value(1.5)
      .value(2.0)
      .end_array()
      .end_object();
  CHECK(std::move(json).take() == "{\n  \"a\": 1,\n  \"b\": [1.5, 2]\n}");
}

TEST_CASE("NaN and infinity become null and minus zero becomes zero") {
  JsonWriter json(JsonWriter::Style::dense);
  json.begin_array().value(std::nan("")).value(INFINITY).value(-INFINITY).value(-0.0).end_array();
  CHECK(std::move(json).take() == "[null,null,null,0]");
}

TEST_CASE("every finite double reads back as the same bits") {
  std::mt19937_64 random(20260101);
  for (int i = 0; i < 20000; ++i) {
    const std::uint64_t bits = random();
    double v = 0;
    std::memcpy(&v, &bits, sizeof v);
    if (!std::isfinite(v) || v == 0) continue;
    JsonWriter json(JsonWriter::Style::dense);
    json.value(v);
    CHECK(nlohmann::json::parse(std::move(json).take()).get<double>() == v);
  }
}

TEST_CASE("numbers that people meet are written plainly") {
  const auto text = [](double v) {
    JsonWriter json(JsonWriter::Style::dense);
    json.value(v);
    return std::move(json).take();
  };
  CHECK(text(1e6) == "1000000");
  CHECK(text(320) == "320");
  CHECK(text(0.1) == "0.1");
  CHECK(text(1e-7) == "1e-07");
  CHECK(text(-0.00025) == "-0.00025");
}

TEST_CASE("plot digits round to so many significant digits") {
  JsonWriter json(JsonWriter::Style::dense, 5);
  json.begin_array().value(1.23456789).value(123456.789).value(-0.000123456).end_array();
  CHECK(std::move(json).take() == "[1.2346,123460,-0.00012346]");
}

TEST_CASE("text is escaped so that it can neither end its string nor a script element") {
  CHECK(json_string("a\"b\\c\n\x01") == "\"a\\\"b\\\\c\\n\\u0001\"");
  CHECK(json_string("</script><!--") == "\"\\u003c/script>\\u003c!--\"");
  CHECK(nlohmann::json::parse(json_string("</script> Ω")).get<std::string>() == "</script> Ω");
  CHECK(nlohmann::json::parse(json_string("\xff")).get<std::string>() == "\uFFFD");
}
