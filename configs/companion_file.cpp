#include "configs/companion_file.h"

#include <filesystem>

#include "results/text/wording.h"

namespace antiphase {

std::string companion_path(const Cursor& member, const std::string& brief_file) {
  const auto name = member.text();
  if (!name) return "";
  if (name->find_first_of("/\\") != std::string::npos || *name == "..") {
    member.error("must be the name of a file beside the brief, without folders, is " + in_quotes(*name));
    return "";
  }
  return (std::filesystem::path(brief_file).parent_path() / *name).string();
}

void report_companion_errors(const Cursor& member, const InputErrors& errors) {
  for (const InputError& f : errors.list)
    member.error(*member.text() + (f.line > 0 ? ", line " + std::to_string(f.line) : "") +
                 (f.pointer.empty() ? "" : ", " + f.pointer) + ": " + f.what);
}

}  // namespace antiphase
