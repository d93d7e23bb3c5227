#include "optimize/program/places.h"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "optimize/program/exit_codes.h"

namespace antiphase {

std::string tube_folder(const std::string& asked) {
  if (!asked.empty()) return asked;
  std::error_code error;
  const std::filesystem::path self = std::filesystem::read_symlink("/proc/self/exe", error);
  return (self.parent_path().parent_path() / "share" / "antiphase" / "tubes").string();
}

OrErrors<TubeLibrary> read_library(const std::string& asked) {
  namespace fs = std::filesystem;
  const auto beside = [](const std::string& tubes) { return fs::path(tubes) / ".." / "output_valves"; };
  std::error_code error;
  const std::string tubes = tube_folder(asked);
  const bool own = asked.empty() || fs::is_directory(beside(tubes), error);
  return read_tube_library(tubes, beside(own ? tubes : tube_folder("")).lexically_normal().string());
}

int report_errors(const InputErrors& errors) {
  const std::string words = in_words(errors);
  std::fputs(words.c_str(), stderr);
  if (words.empty() || words.back() != '\n') std::fputc('\n', stderr);
  return errors.unreadable ? kFileTrouble : kBadInput;
}

bool print(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0)
    return true;
  std::fprintf(stderr, "antiphase: standard output: %s\n", std::strerror(errno));
  return false;
}

}  // namespace antiphase
