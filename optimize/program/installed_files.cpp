#include "optimize/program/installed_files.h"

#include <filesystem>

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

}  // namespace antiphase
