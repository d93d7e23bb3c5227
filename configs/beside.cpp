#include "configs/beside.h"

#include <filesystem>

#include "configs/wording.h"

namespace antiphase {

std::string path_beside(const Cursor& member, const std::string& brief_file) {
  const auto name = member.text();
  if (!name) return "";
  if (name->find_first_of("/\\") != std::string::npos || *name == "..") {
    member.fault("must be the name of a file beside the brief, without folders, is " + in_quotes(*name));
    return "";
  }
  return (std::filesystem::path(brief_file).parent_path() / *name).string();
}

void tell_of_file_beside(const Cursor& member, const Faults& faults) {
  for (const Fault& f : faults.list)
    member.fault(*member.text() + (f.line > 0 ? ", line " + std::to_string(f.line) : "") +
                 (f.pointer.empty() ? "" : ", " + f.pointer) + ": " + f.what);
}

}  // namespace antiphase
