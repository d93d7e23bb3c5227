#include "optimize/program/installed_files.h"

#include <sys/auxv.h>

#include <algorithm>
#include <filesystem>

namespace antiphase {
namespace {

namespace fs = std::filesystem;

fs::path shared_folder() {
  std::error_code error;
  fs::path self = fs::read_symlink("/proc/self/exe", error);
  if (error)  // no /proc, as in a bare chroot: the name by which the system started the program
    self = fs::absolute(reinterpret_cast<const char*>(getauxval(AT_EXECFN)), error);
  return self.parent_path().parent_path() / "share" / "antiphase";
}

/// Takes a folder of tube cards in, with the output valves beside it if there are any.
void take_in(const fs::path& tubes, CardFolders& folders) {
  std::error_code error;
  folders.tubes.push_back(tubes.string());
  const fs::path valves = (fs::absolute(tubes, error) / ".." / "output_valves").lexically_normal();
  const bool known = std::any_of(folders.output_valves.begin(), folders.output_valves.end(),
                                 [&](const std::string& f) { return fs::equivalent(f, valves, error); });
  if (!known && fs::is_directory(valves, error)) folders.output_valves.push_back(valves.string());
}

}  // namespace

OrErrors<TubeLibrary> read_library(const CardsAsked& asked) {
  const fs::path shipped = shared_folder() / "tubes";
  CardFolders folders;
  std::error_code error;
  if (asked.only.empty()) take_in(shipped, folders);
  if (!asked.only.empty()) take_in(asked.only, folders);
  // who names the library's own folder means the library
  if (!asked.added.empty() && !fs::equivalent(asked.added, shipped, error)) take_in(asked.added, folders);
  if (folders.output_valves.empty())
    folders.output_valves.push_back((shared_folder() / "output_valves").string());
  return read_card_folders(folders);
}

std::string brief_schema() {
  return (shared_folder() / "schema" / "brief.schema.json").string();
}

}  // namespace antiphase
