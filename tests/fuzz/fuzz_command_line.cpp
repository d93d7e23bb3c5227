#include <vector>

#include "optimize/program/command_line.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

/// Words are parted by zero bytes, as the system parts them.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  std::vector<std::string> words{"antiphase"};
  std::string word;
  for (std::size_t i = 0; i < size; ++i)
    if (bytes[i] == 0 || bytes[i] == '\n') {
      words.push_back(word);
      word.clear();
    } else {
      word += static_cast<char>(bytes[i]);
    }
  if (!word.empty()) words.push_back(word);
  std::vector<const char*> argv;
  for (const std::string& each : words) argv.push_back(each.c_str());
  argv.push_back(nullptr);
  const CommandAsked asked = read_command_line(static_cast<int>(words.size()), argv.data());
  if (const auto* wrong = std::get_if<WrongUsage>(&asked)) fuzz::promise(!wrong->what.empty());
  if (const auto* search = std::get_if<SearchArguments>(&asked)) {
    fuzz::promise(search->threads >= 0 && search->threads <= 256);
    fuzz::promise(!search->time_limit_s || (*search->time_limit_s >= 0.01 && *search->time_limit_s <= 1e7));
  }
  return 0;
}
