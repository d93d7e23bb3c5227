// The exit codes: one table in the program, the same in the help, the manual and the documents.
#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <regex>
#include <set>

#include "tests/support/program.h"

using namespace antiphase::testing;

namespace {

/// Code and meaning of each line that `pattern` finds.
std::map<int, std::string> codes_in(const std::string& text, const char* pattern) {
  const std::regex line(pattern);
  std::map<int, std::string> codes;
  for (std::sregex_iterator at(text.begin(), text.end(), line), end; at != end; ++at)
    codes[std::stoi((*at)[1])] = (*at)[2];
  return codes;
}

std::map<int, std::string> codes_of_help() {
  return codes_in(run("--help").out, "\n +([0-9]+)  ([a-z][^\n]*)");
}

}  // namespace

TEST_CASE("the help lists every exit code") {
  const auto codes = codes_of_help();
  std::set<int> numbers;
  for (const auto& [code, meaning] : codes) numbers.insert(code);
  // 70 and 71 are those of sysexits.h, a signal n ends a program with 128 + n (POSIX): HUP 1, INT 2, TERM 15.
  CHECK(numbers == std::set<int>{0, 1, 2, 3, 70, 71, 128 + 1, 128 + 2, 128 + 15});
}

TEST_CASE("manual and documents have the codes that the help lists") {
  const auto codes = codes_of_help();
  CHECK(codes_in(run("--manual").out, "\n +([0-9]+)  ([a-z][^\n]*)") == codes);
  for (const char* document :
       {"/DEVELOPERS.md", "/optimize/README.md", "/optimize/guide/scripts_and_libraries.md"}) {
    CAPTURE(document);
    CHECK(codes_in(read_text(std::string(ANTIPHASE_SOURCE) + document),
                   "\n\\| ([0-9]+) \\| ([^|\n]*[^ |]) \\|") == codes);
  }
}

TEST_CASE("an answer keeps to the columns that COLUMNS names") {
  const std::string design = ANTIPHASE_SOURCE "/configs/designs/chain_high_gain.json";
  for (const int columns : {60, 70, 80, 200}) {
    CAPTURE(columns);
    int line = 0, longest = 0;
    for (const char c : run("evaluate " + design + " --explain", "COLUMNS=" + std::to_string(columns)).out) {
      if (c == '\n')
        line = 0;
      else if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U)  // characters, not bytes
        longest = std::max(longest, ++line);
    }
    CHECK(longest <= std::min(columns, 80));
    CHECK(longest > std::min(columns, 80) - 10);
  }
}
